//! The body of a page: the prose with what was computed put into its slots.

use super::blocks::BlockContext;
use super::context::{FindingContext, NumberContext, SheetContext, anchor_of};
use super::templates::{TemplateFault, Templates};
use crate::notebook::{Notebook, Slot};
use serde::Serialize;
use tera::Context;

/// A link to another page.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Hash)]
pub struct PageLink {
    /// Its title.
    pub title: String,
    /// Its address.
    pub href: String,
}

/// A number in the prose.
#[derive(Clone, Debug)]
pub struct Number {
    /// The number.
    pub context: NumberContext,
    /// Link to the sheet it comes from.
    pub href: String,
    /// How it follows a formula's batch, where it does.
    pub scales: Option<Scales>,
    /// The unit and the decimals that were asked for, where they were.
    pub asked: (Option<&'static str>, Option<u32>),
}

/// How a number follows the batch of a formula.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Scales {
    /// The formulas, or the method.
    pub of: Vec<String>,
    /// Lines whose weights add up to it, counted from zero; `batch`; of a method's step `vessel` and `with-tare`; empty where it
    /// is not reckoned again.
    pub parts: String,
    /// The step of the method, from one.
    pub step: String,
}

/// What goes into the slots of a notebook.
pub struct PageInput<'a> {
    /// The notebook.
    pub notebook: &'a Notebook,
    /// For each formula its sheet, or nothing when it could not be computed.
    pub sheets: &'a [Option<SheetContext>],
    /// For each other block what it comes to, or nothing when it could not be computed.
    pub blocks: &'a [Option<BlockContext>],
    /// For each calc link its number, or nothing.
    pub numbers: &'a [Option<Number>],
    /// Findings that belong beside an aside's block, by aside.
    pub aside_findings: &'a [Vec<FindingContext>],
    /// For each link to a term where it is explained, or nothing.
    pub terms: &'a [Option<TermContext>],
    /// What stands below the title, safe HTML.
    pub below_title: &'a str,
}

/// A term that a link asks for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct TermContext {
    /// Its name in the glossary.
    pub name: String,
    /// What it means.
    pub says: String,
    /// The document that defines it, or empty.
    pub source: String,
    /// Its place in the glossary.
    pub href: String,
    /// Whether its meaning is told in the margin: beside its first link on a page.
    #[serde(skip)]
    pub is_told: bool,
}

#[derive(Serialize)]
struct AsideNumber<'a> {
    n: &'a NumberContext,
    wid: String,
    href: &'a str,
}

/// Renders the body.
pub fn render_body(input: &PageInput<'_>, templates: &Templates) -> Result<String, TemplateFault> {
    let notebook = input.notebook;
    let mut body = String::with_capacity(notebook.text.len() * 4);
    let mut pieces = notebook.pieces.iter();
    body.push_str(pieces.next().map_or("", String::as_str));
    for (slot, piece) in notebook.slots.iter().zip(pieces) {
        match slot {
            Slot::Number(index) => render_number(&mut body, input, *index, templates)?,
            Slot::PlainNumber(index) => body.push_str(&escaped(&plain_number(input, *index))),
            Slot::Sheet(index) => match input.sheets.get(*index).and_then(Option::as_ref) {
                Some(sheet) => {
                    let mut context = Context::new();
                    context.insert("f", sheet);
                    body.push_str(&templates.render("formula.html", &context)?);
                }
                None => {
                    let id = notebook.formulas.get(*index).map_or("", |formula| formula.id.value.as_str());
                    body.push_str(&unfinished("formula", id, templates)?);
                }
            },
            Slot::Block(index) => match input.blocks.get(*index).and_then(Option::as_ref) {
                Some(block) => {
                    let mut context = Context::new();
                    context.insert("b", block);
                    // Parts of a block that may be opened have no name but this to be told from those of other blocks.
                    let group = format!("b{}", index + 1);
                    context.insert("charts", &block.charts(&group));
                    context.insert("group", &group);
                    body.push_str(&templates.render(block.template(), &context)?);
                }
                None => {
                    let block = notebook.blocks.get(*index);
                    let id = block.and_then(|block| block.id.as_ref()).map_or("", |id| id.value.as_str());
                    body.push_str(&unfinished(block.map_or("", |block| block.word), id, templates)?);
                }
            },
            Slot::TermOpen(index) => match input.terms.get(*index).and_then(Option::as_ref) {
                Some(term) => body.push_str(&format!("<a class=\"term\" href=\"{}\">", escaped(&term.href))),
                // Only seen while watching, since a link to an unknown term is an error.
                None => body.push_str("<a class=\"term\">"),
            },
            Slot::TermClose(_) => body.push_str("</a>"),
            Slot::Contents => body.push_str(input.below_title),
            Slot::AsideOpen(index) => {
                if is_shown(input, *index) {
                    body.push_str("<div class=\"beside\">\n");
                }
            }
            Slot::AsideClose(index) => {
                if is_shown(input, *index) {
                    body.push_str(&render_aside(input, *index, templates)?);
                    body.push_str("</div>\n");
                }
            }
        }
        body.push_str(piece);
    }
    Ok(body)
}

/// What stands in the place of a block that could not be computed.
fn unfinished(word: &str, id: &str, templates: &Templates) -> Result<String, TemplateFault> {
    let mut context = Context::new();
    context.insert("word", word);
    context.insert("id", id);
    context.insert("anchor", &if id.is_empty() { String::new() } else { anchor_of(id) });
    templates.render("unfinished.html", &context)
}

fn render_number(
    body: &mut String,
    input: &PageInput<'_>,
    index: usize,
    templates: &Templates,
) -> Result<(), TemplateFault> {
    match input.numbers.get(index).and_then(Option::as_ref) {
        Some(number) => {
            let has_aside = input.notebook.asides.iter().any(|aside| aside.calc_links.contains(&index));
            let wid = if has_aside && !number.context.working.is_empty() { working_id(index) } else { String::new() };
            let mut context = Context::new();
            context.insert("n", &number.context);
            context.insert("wid", &wid);
            context.insert("target", &number.href);
            context.insert("scales", &number.scales);
            context.insert("unit", &number.asked.0);
            context.insert("digits", &number.asked.1);
            body.push_str(&templates.render("number.html", &context)?);
        }
        None => {
            let mut context = Context::new();
            context.insert("n", &serde_json::json!({ "text": plain_number(input, index) }));
            context.insert("wid", "");
            context.insert("target", "");
            body.push_str(&templates.render("number.html", &context)?);
        }
    }
    Ok(())
}

/// The number as text. One that could not be computed is only seen while watching, since with an error nothing is published:
/// the author's own words stand in, marked.
fn plain_number(input: &PageInput<'_>, index: usize) -> String {
    match input.numbers.get(index).and_then(Option::as_ref) {
        Some(number) => number.context.text.clone(),
        None => {
            let text = input.notebook.calc_links.get(index).map_or("", |link| link.text.as_str());
            format!("{text} [not computed]").trim_start().to_owned()
        }
    }
}

/// Text as it may stand inside an attribute.
fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

fn working_id(index: usize) -> String {
    format!("w{}", index + 1)
}

fn aside_numbers<'a>(input: &'a PageInput<'_>, index: usize) -> Vec<AsideNumber<'a>> {
    let links = input.notebook.asides.get(index).map_or(0..0, |aside| aside.calc_links.clone());
    links
        .filter_map(|index| {
            let number = input.numbers.get(index)?.as_ref()?;
            (!number.context.working.is_empty()).then(|| AsideNumber {
                n: &number.context,
                wid: working_id(index),
                href: &number.href,
            })
        })
        .collect()
}

fn is_shown(input: &PageInput<'_>, index: usize) -> bool {
    input.aside_findings.get(index).is_some_and(|findings| !findings.is_empty())
        || !aside_numbers(input, index).is_empty()
        || !aside_terms(input, index).is_empty()
}

/// The terms whose meaning stands beside a block.
fn aside_terms<'a>(input: &'a PageInput<'_>, index: usize) -> Vec<&'a TermContext> {
    let links = input.notebook.asides.get(index).map_or(0..0, |aside| aside.terms.clone());
    input.terms.get(links).unwrap_or_default().iter().flatten().filter(|term| term.is_told).collect()
}

fn render_aside(input: &PageInput<'_>, index: usize, templates: &Templates) -> Result<String, TemplateFault> {
    let mut context = Context::new();
    context.insert("numbers", &aside_numbers(input, index));
    context.insert("terms", &aside_terms(input, index));
    context.insert("findings", &input.aside_findings.get(index).map_or(&[][..], Vec::as_slice));
    templates.render("aside.html", &context)
}
