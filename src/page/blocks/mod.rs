//! Answers of blocks as the templates and the data files see them. One file per kind, and one template of the kind's name.

mod buffer;
mod curve;
mod declaration;
mod dilution;
mod method;
mod titration;
mod window;

use super::context::{FindingContext, anchor_of};
use crate::compute::Answer;
use buffer::BufferContext;
use curve::CurveContext;
use declaration::DeclarationContext;
use dilution::DilutionContext;
use method::MethodContext;
use serde::Serialize;
use std::collections::BTreeMap;
use titration::TitrationContext;
use window::WindowContext;

/// The context `b` of a block's template, and a block in the data file.
#[derive(Debug, Serialize)]
pub struct BlockContext {
    /// The word after the block's fence.
    word: &'static str,
    /// Its id, or empty.
    id: String,
    /// The id of its element, or empty.
    anchor: String,
    #[serde(flatten)]
    part: Part,
    findings: Vec<FindingContext>,
}

#[derive(Debug, Serialize)]
#[serde(untagged)]
enum Part {
    Declaration(Box<DeclarationContext>),
    Window(Box<WindowContext>),
    Method(Box<MethodContext>),
    Buffer(Box<BufferContext>),
    Dilution(Box<DilutionContext>),
    Curve(Box<CurveContext>),
    Titration(Box<TitrationContext>),
}

impl BlockContext {
    /// The file name of its template.
    pub(crate) fn template(&self) -> &'static str {
        match self.part {
            Part::Declaration(_) => "declaration.html",
            Part::Window(_) => "window.html",
            Part::Method(_) => "method.html",
            Part::Buffer(_) => "buffer.html",
            Part::Dilution(_) => "dilution.html",
            Part::Curve(_) => "curve.html",
            Part::Titration(_) => "titration.html",
        }
    }

    /// The charts of its template by name, as SVG. `group` keeps their ids apart from those of other blocks on the page.
    pub(crate) fn charts(&self, group: &str) -> BTreeMap<&'static str, String> {
        match &self.part {
            Part::Declaration(_) | Part::Method(_) | Part::Buffer(_) | Part::Dilution(_) => BTreeMap::new(),
            Part::Window(window) => window.charts(group),
            Part::Curve(curve) => curve.charts(group),
            Part::Titration(titration) => titration.charts(group),
        }
    }
}

/// What a block comes to, for its page. `href_of` gives the link to a formula's sheet.
pub fn block_context(
    answer: &Answer,
    id: &str,
    findings: Vec<FindingContext>,
    href_of: &dyn Fn(&str) -> String,
) -> BlockContext {
    let (word, part) = match answer {
        Answer::Declaration(answer) => {
            ("declaration", Part::Declaration(Box::new(declaration::context(answer, href_of))))
        }
        Answer::Window(answer) => ("window", Part::Window(Box::new(window::context(answer, href_of)))),
        Answer::Method(answer) => ("method", Part::Method(Box::new(method::context(answer, id, href_of)))),
        Answer::Dilution(answer) => ("dilution", Part::Dilution(Box::new(dilution::context(answer, id)))),
        Answer::Titration(answer) => ("titration", Part::Titration(Box::new(titration::context(answer, id, href_of)))),
        Answer::Curve(answer) => ("curve", Part::Curve(Box::new(curve::context(answer, id)))),
        Answer::Buffer(answer) => ("buffer", Part::Buffer(Box::new(buffer::context(answer, id)))),
    };
    let anchor = if id.is_empty() { String::new() } else { anchor_of(id) };
    BlockContext { word, id: id.to_owned(), anchor, part, findings }
}
