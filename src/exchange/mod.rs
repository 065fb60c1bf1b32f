//! A whole collection as one JSON document, and back: every source file as it is, a reading of each block as exact numbers, the facts that it is
//! reckoned with, and every figure.
//!
//! The document is made of the values that the other stations have: what a block says (`block`), a formula with its names resolved (`model`),
//! raw materials (`material`), figures (`compute`) and their texts (`page`). Nothing is described a second time, so the keys are the names of the
//! fields there; `notebooks/manual/exported-data.md` tells what each means, and a test holds it against the documents.

mod facts;
mod figures;
mod model;
mod read;

pub use read::{Damage, Restored, check_path, collisions, read_document};

use crate::base64;
use crate::collection::Collection;
use crate::report::{Place, locate};
use facts::Facts;
use figures::{FigureData, figures_of_formula, figures_of_other};
use serde::Serialize;
use serde_json::Value;
use std::collections::BTreeMap;
use std::sync::Arc;

/// The schema of the documents that are written, and the only one that is read.
pub const SCHEMA: &str = "tarebook collection 1";

/// A source file, byte for byte: as text where it is UTF-8, else as base64 (RFC 4648).
#[derive(Debug, Serialize)]
struct SourceData<'a> {
    path: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    text: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    base64: Option<String>,
}

/// The whole document.
#[derive(Debug, Serialize)]
struct Document<'a> {
    schema: &'static str,
    program: &'static str,
    settings: Value,
    notebooks: Vec<NotebookData<'a>>,
    facts: Facts,
    sources: Vec<SourceData<'a>>,
}

/// A notebook.
#[derive(Debug, Serialize)]
struct NotebookData<'a> {
    path: &'a str,
    title: String,
    blocks: Vec<BlockData<'a>>,
}

/// A block: what it says, and what it comes to.
#[derive(Debug, Serialize)]
struct BlockData<'a> {
    kind: &'static str,
    #[serde(skip_serializing_if = "str::is_empty")]
    id: &'a str,
    place: PlaceData,
    model: Value,
    figures: Vec<FigureData>,
}

/// Where a block stands: its first line, counted from one, and its bytes in the text.
#[derive(Debug, Serialize)]
struct PlaceData {
    line: usize,
    bytes: [usize; 2],
}

impl Collection {
    /// The document of this collection. `files` are the bytes of all its source files, by path.
    ///
    /// # Errors
    /// What could not be written as JSON; a fault of the program.
    pub fn export(&self, files: &BTreeMap<Arc<str>, Vec<u8>>) -> Result<Vec<u8>, serde_json::Error> {
        let sources = files.iter().map(|(path, bytes)| {
            let text = std::str::from_utf8(bytes).ok();
            SourceData { path, text, base64: text.is_none().then(|| base64::encode(bytes)) }
        });
        let document = Document {
            schema: SCHEMA,
            program: concat!("tarebook ", env!("CARGO_PKG_VERSION")),
            settings: model::value_of(self.settings()),
            notebooks: self.notebook_data(),
            facts: Facts::of(self),
            sources: sources.collect(),
        };
        let mut bytes = serde_json::to_vec_pretty(&document)?;
        bytes.push(b'\n');
        Ok(bytes)
    }

    /// The paths of all files that a document holds: the sources, and what the notebooks link to.
    pub fn exported_paths(&self) -> Vec<Arc<str>> {
        let sources = self.sources();
        let settings = sources.settings.as_ref().map(|_| Arc::from(crate::collection::SETTINGS_PATH));
        let texts = sources.materials.keys().chain(sources.notebooks.keys()).chain(sources.errata.keys()).cloned();
        let templates = sources.templates.keys().map(|name| Arc::from(format!("templates/{name}")));
        let mut paths: Vec<Arc<str>> =
            settings.into_iter().chain(texts).chain(templates).chain(self.linked_files()).collect();
        paths.sort();
        paths.dedup();
        paths
    }

    fn notebook_data(&self) -> Vec<NotebookData<'_>> {
        self.entries_by_path()
            .map(|entry| {
                let notebook = &entry.notebook;
                let place = |place: &Place| PlaceData {
                    line: locate(place, &notebook.text).line,
                    bytes: [place.span.start, place.span.end],
                };
                let formulas = notebook.formulas.iter().zip(&entry.formulas).map(|(block, state)| BlockData {
                    kind: crate::block::FORMULA,
                    id: &block.id.value,
                    place: place(&block.place),
                    model: state.computed.as_ref().map_or(Value::Null, |computed| model::value_of(&computed.formula)),
                    figures: state
                        .computed
                        .as_ref()
                        .map(|computed| figures_of_formula(self, computed))
                        .unwrap_or_default(),
                });
                let others = notebook.blocks.iter().zip(&entry.blocks).map(|(block, state)| {
                    let id = block.id.as_ref().map_or("", |id| id.value.as_str());
                    BlockData {
                        kind: block.word,
                        id,
                        place: place(&block.place),
                        model: block.body.as_ref().map_or(Value::Null, model::model_of),
                        figures: state.answer.as_ref().map(|answer| figures_of_other(answer, id)).unwrap_or_default(),
                    }
                });
                let mut blocks: Vec<BlockData<'_>> = formulas.chain(others).collect();
                blocks.sort_by_key(|block| block.place.bytes);
                NotebookData { path: &notebook.path, title: entry.title(), blocks }
            })
            .collect()
    }
}
