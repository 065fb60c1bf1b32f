//! Answers of blocks as the templates and the data files see them. One file per kind, and one template of the kind's name.

mod batch_record;
mod buffer;
mod comparison;
mod costing;
mod curve;
mod declaration;
mod dilution;
mod excerpt;
mod expect;
mod filling;
mod kit;
mod label;
mod method;
mod saponification;
mod shopping_list;
mod stability;
mod titration;
mod trial_series;
mod window;
mod workings;

use super::context::{FindingContext, Hrefs, anchor_of};
use crate::compute::Answer;
use batch_record::RecordContext;
use buffer::BufferContext;
use comparison::ComparisonContext;
use costing::CostingContext;
use curve::CurveContext;
use declaration::DeclarationContext;
use dilution::DilutionContext;
use excerpt::ExcerptContext;
use expect::ExpectContext;
use filling::FillingContext;
use kit::KitContext;
use label::LabelContext;
use method::MethodContext;
use saponification::SaponificationContext;
use serde::Serialize;
use shopping_list::ListContext;
pub(crate) use shopping_list::{no_pack_words, suppliers_of};
use stability::StabilityContext;
use std::collections::BTreeMap;
use titration::TitrationContext;
use trial_series::TrialSeriesContext;
use window::WindowContext;
use workings::WorkingsContext;

/// The context `b` of a block's template, and a block in the data file.
#[derive(Debug, Serialize)]
pub struct BlockContext {
    /// The word after the block's fence.
    word: &'static str,
    /// Its id, or empty.
    id: String,
    /// The id of its element, or empty.
    anchor: String,
    /// Formulas on whose batch its weights hang; a method's are reckoned again for another batch, and are not meant.
    batch_of: Vec<String>,
    /// The files beside the notebook that it reads rows from.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    row_files: Vec<FileContext>,
    #[serde(flatten)]
    part: Part,
    findings: Vec<FindingContext>,
}

/// A file as a page links to it.
#[derive(Debug, Serialize)]
pub struct FileContext {
    /// Its name, without its folders.
    pub name: String,
    /// Its address as seen from the page.
    pub href: String,
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
    BatchRecord(Box<RecordContext>),
    Stability(Box<StabilityContext>),
    Filling(Box<FillingContext>),
    Costing(Box<CostingContext>),
    ShoppingList(Box<ListContext>),
    Kit(Box<KitContext>),
    Label(Box<LabelContext>),
    Saponification(Box<SaponificationContext>),
    Excerpt(Box<ExcerptContext>),
    Comparison(Box<ComparisonContext>),
    TrialSeries(Box<TrialSeriesContext>),
    Expect(Box<ExpectContext>),
    Workings(Box<WorkingsContext>),
}

impl BlockContext {
    /// With the formulas on whose batch its weights hang.
    #[must_use]
    pub fn for_batches(self, batch_of: Vec<String>) -> BlockContext {
        BlockContext { batch_of, ..self }
    }

    /// With the files that it reads rows from.
    #[must_use]
    pub fn reading(self, row_files: Vec<FileContext>) -> BlockContext {
        BlockContext { row_files, ..self }
    }

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
            Part::BatchRecord(_) => "batch-record.html",
            Part::Stability(_) => "stability.html",
            Part::Filling(_) => "filling.html",
            Part::Costing(_) => "costing.html",
            Part::ShoppingList(_) => "shopping-list.html",
            Part::Kit(_) => "kit.html",
            Part::Label(_) => "label.html",
            Part::Saponification(_) => "saponification.html",
            Part::Excerpt(_) => "excerpt.html",
            Part::Comparison(_) => "comparison.html",
            Part::TrialSeries(_) => "trial-series.html",
            Part::Expect(_) => "expect.html",
            Part::Workings(_) => "workings.html",
        }
    }

    /// The charts of its template by name, as SVG. `group` keeps their ids apart from those of other blocks on the page.
    pub(crate) fn charts(&self, group: &str) -> BTreeMap<&'static str, String> {
        match &self.part {
            Part::Window(window) => window.charts(group),
            Part::Declaration(declaration) => declaration.charts(group),
            Part::Curve(curve) => curve.charts(group),
            Part::Costing(costing) => costing.charts(group),
            Part::Titration(titration) => titration.charts(group),
            Part::Stability(log) => log.charts(group),
            Part::TrialSeries(series) => series.charts(group),
            _ => BTreeMap::new(),
        }
    }
}

/// What a block comes to, for its page.
pub fn block_context(answer: &Answer, id: &str, mut findings: Vec<FindingContext>, hrefs: Hrefs<'_>) -> BlockContext {
    let href_of = hrefs.sheet;
    let (word, part) = match answer {
        Answer::Declaration(answer) => {
            ("declaration", Part::Declaration(Box::new(declaration::context(answer, href_of))))
        }
        Answer::Window(answer) => ("window", Part::Window(Box::new(window::context(answer, href_of)))),
        Answer::Method(answer) => ("method", Part::Method(Box::new(method::context(answer, id, href_of)))),
        Answer::Saponification(answer) => {
            ("saponification", Part::Saponification(Box::new(saponification::context(answer, id, &mut findings))))
        }
        Answer::Dilution(answer) => ("dilution", Part::Dilution(Box::new(dilution::context(answer, id)))),
        Answer::Titration(answer) => ("titration", Part::Titration(Box::new(titration::context(answer, id, href_of)))),
        Answer::Curve(answer) => ("curve", Part::Curve(Box::new(curve::context(answer, id)))),
        Answer::BatchRecord(answer) => {
            ("batch-record", Part::BatchRecord(Box::new(batch_record::context(answer, id, hrefs))))
        }
        Answer::Stability(answer) => ("stability", Part::Stability(Box::new(stability::context(answer, id, hrefs)))),
        Answer::Filling(answer) => ("filling", Part::Filling(Box::new(filling::context(answer, id, href_of)))),
        Answer::Costing(answer) => ("costing", Part::Costing(Box::new(costing::context(answer, id, href_of)))),
        Answer::ShoppingList(answer) => {
            ("shopping-list", Part::ShoppingList(Box::new(shopping_list::context(answer, id, href_of))))
        }
        Answer::Kit(answer) => ("kit", Part::Kit(Box::new(kit::context(answer, id, href_of)))),
        Answer::Label(answer) => ("label", Part::Label(Box::new(label::context(answer, id, href_of)))),
        Answer::Workings(answer) => ("workings", Part::Workings(Box::new(workings::context(answer, id)))),
        Answer::Excerpt(answer) => ("excerpt", Part::Excerpt(Box::new(excerpt::context(answer, href_of)))),
        Answer::Comparison(answer) => {
            ("comparison", Part::Comparison(Box::new(comparison::context(answer, id, href_of))))
        }
        Answer::TrialSeries(answer) => {
            ("trial-series", Part::TrialSeries(Box::new(trial_series::context(answer, id, href_of))))
        }
        Answer::Expect(answer) => ("expect", Part::Expect(Box::new(expect::context(answer)))),
        Answer::Buffer(answer) => ("buffer", Part::Buffer(Box::new(buffer::context(answer, id)))),
    };
    let anchor = if id.is_empty() { String::new() } else { anchor_of(id) };
    BlockContext { word, id: id.to_owned(), anchor, batch_of: Vec::new(), row_files: Vec::new(), part, findings }
}
