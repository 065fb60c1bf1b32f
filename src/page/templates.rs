//! The templates: built-in ones, each of which a collection may override by a file of the same name.

use super::text::kept_together;
use std::collections::BTreeMap;
use std::sync::Arc;
use tera::{Context, Kwargs, State, Tera, TeraResult, Value};

/// The built-in templates, the style sheet and the script, by file name.
pub const BUILT_IN: &[(&str, &str)] = &[
    ("page.html", include_str!("../../templates/page.html")),
    ("index.html", include_str!("../../templates/index.html")),
    ("due.html", include_str!("../../templates/due.html")),
    ("top.html", include_str!("../../templates/top.html")),
    ("lookup.html", include_str!("../../templates/lookup.html")),
    ("contents.html", include_str!("../../templates/contents.html")),
    ("products.html", include_str!("../../templates/products.html")),
    ("found.html", include_str!("../../templates/found.html")),
    ("words.html", include_str!("../../templates/words.html")),
    ("search.html", include_str!("../../templates/search.html")),
    ("errors.html", include_str!("../../templates/errors.html")),
    ("material.html", include_str!("../../templates/material.html")),
    ("where-used.html", include_str!("../../templates/where-used.html")),
    ("list-pages.html", include_str!("../../templates/list-pages.html")),
    ("uses.html", include_str!("../../templates/uses.html")),
    ("lots.html", include_str!("../../templates/lots.html")),
    ("materials.html", include_str!("../../templates/materials.html")),
    ("bench-sheet.html", include_str!("../../templates/bench-sheet.html")),
    ("notebooks.html", include_str!("../../templates/notebooks.html")),
    ("formula.html", include_str!("../../templates/formula.html")),
    ("buffer.html", include_str!("../../templates/buffer.html")),
    ("dilution.html", include_str!("../../templates/dilution.html")),
    ("curve.html", include_str!("../../templates/curve.html")),
    ("titration.html", include_str!("../../templates/titration.html")),
    ("stability.html", include_str!("../../templates/stability.html")),
    ("batch-record.html", include_str!("../../templates/batch-record.html")),
    ("filling.html", include_str!("../../templates/filling.html")),
    ("costing.html", include_str!("../../templates/costing.html")),
    ("shopping-list.html", include_str!("../../templates/shopping-list.html")),
    ("kit.html", include_str!("../../templates/kit.html")),
    ("trial-series.html", include_str!("../../templates/trial-series.html")),
    ("label.html", include_str!("../../templates/label.html")),
    ("saponification.html", include_str!("../../templates/saponification.html")),
    ("workings.html", include_str!("../../templates/workings.html")),
    ("expect.html", include_str!("../../templates/expect.html")),
    ("declaration.html", include_str!("../../templates/declaration.html")),
    ("window.html", include_str!("../../templates/window.html")),
    ("method.html", include_str!("../../templates/method.html")),
    ("figure.html", include_str!("../../templates/figure.html")),
    ("corrections.html", include_str!("../../templates/corrections.html")),
    ("comparison.html", include_str!("../../templates/comparison.html")),
    ("excerpt.html", include_str!("../../templates/excerpt.html")),
    ("read-from.html", include_str!("../../templates/read-from.html")),
    ("findings.html", include_str!("../../templates/findings.html")),
    ("unfinished.html", include_str!("../../templates/unfinished.html")),
    ("number.html", include_str!("../../templates/number.html")),
    ("aside.html", include_str!("../../templates/aside.html")),
    (STYLE, include_str!("../../templates/style.css")),
    (SCRIPT, BENCH),
];

/// The script of the search page.
pub const SEARCH_SCRIPT: &str = include_str!("../../templates/search.js");

/// The name of the style sheet, which is copied as it is.
pub(crate) const STYLE: &str = "style.css";

/// The script, put together from its parts in a scope of its own.
const BENCH: &str = concat!(
    "\"use strict\";\n(() => {\n",
    include_str!("../../templates/bench/weighing.js"),
    include_str!("../../templates/bench/page.js"),
    include_str!("../../templates/bench/controls.js"),
    "})();\n",
);

/// The name of the script of pages with formulas, which is copied as it is.
pub(crate) const SCRIPT: &str = "bench.js";

/// A template that cannot be parsed or rendered.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TemplateFault {
    /// The template.
    pub name: String,
    /// What is wrong, in tera's words.
    pub message: String,
}

/// The templates in use.
#[derive(Debug)]
pub struct Templates {
    tera: Tera,
    style: Arc<str>,
    script: Arc<str>,
}

impl Templates {
    /// The built-in templates with a collection's own over them. Own files that no built-in template has the name of are
    /// partials that the others may include. One that cannot be parsed is a fault, and the built-in one stays.
    pub fn new(own: &BTreeMap<String, Arc<str>>) -> (Templates, Vec<TemplateFault>) {
        let mut tera = Tera::new();
        tera.register_filter("set_off", set_off);
        let mut faults = Vec::new();
        let built_in =
            BUILT_IN.iter().filter(|(name, _)| ![STYLE, SCRIPT].contains(name)).map(|(name, text)| (*name, *text));
        if let Err(error) = tera.add_raw_templates(built_in) {
            faults.push(TemplateFault { name: "built-in".to_owned(), message: error.to_string() });
        }
        let as_is = |wanted| BUILT_IN.iter().find(|(name, _)| *name == wanted).map_or("", |(_, text)| *text).into();
        let (mut style, mut script): (Arc<str>, Arc<str>) = (as_is(STYLE), as_is(SCRIPT));
        for (name, text) in own {
            if name == STYLE {
                style = Arc::clone(text);
            } else if name == SCRIPT {
                script = Arc::clone(text);
            } else if let Err(error) = tera.add_raw_template(name, text) {
                faults.push(TemplateFault { name: name.clone(), message: error.to_string() });
            }
        }
        (Templates { tera, style, script }, faults)
    }

    /// Renders a template.
    pub fn render(&self, name: &str, context: &Context) -> Result<String, TemplateFault> {
        self.tera
            .render(name, context)
            .map_err(|error| TemplateFault { name: name.to_owned(), message: full_message(&error) })
    }

    /// The style sheet.
    pub fn style(&self) -> &Arc<str> {
        &self.style
    }

    /// The script of pages with formulas.
    pub fn script(&self) -> &Arc<str> {
        &self.script
    }
}

/// The filter `set_off` for the sentences of a finding: words between backticks, which are the author's own or something to
/// type, become `code` elements; elsewhere a number keeps its unit on its line. A backtick without its partner stays.
fn set_off(text: &str, _: Kwargs, state: &State<'_>) -> TeraResult<Value> {
    let mut html = String::with_capacity(text.len() + 16);
    let mut rest = text;
    while let Some((before, (words, after))) =
        rest.split_once('`').and_then(|(before, tail)| Some((before, tail.split_once('`')?)))
    {
        html.push_str(&state.escape(&kept_together(before))?);
        html.push_str("<code>");
        html.push_str(&state.escape(words)?);
        html.push_str("</code>");
        rest = after;
    }
    html.push_str(&state.escape(&kept_together(rest))?);
    Ok(Value::safe_string(&html))
}

/// An error with what caused it.
fn full_message(error: &dyn std::error::Error) -> String {
    let mut message = error.to_string();
    let mut cause = error.source();
    while let Some(inner) = cause {
        message.push_str(": ");
        message.push_str(&inner.to_string());
        cause = inner.source();
    }
    message
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: &str) {
        let own = BTreeMap::from([("try.html".to_owned(), Arc::from("{{ text | set_off }}"))]);
        let (templates, faults) = Templates::new(&own);
        assert_eq!(faults, []);
        let mut context = Context::new();
        context.insert("text", text);
        assert_eq!(templates.render("try.html", &context).unwrap(), expected);
    }

    #[test]
    fn words_between_backticks_are_code() {
        check("Write `60 g` here.", "Write <code>60 g</code> here.");
        check("`a` and `b`", "<code>a</code> and <code>b</code>");
    }

    #[test]
    fn a_backtick_without_its_partner_stays() {
        check("one ` alone", "one ` alone");
        check("`a` and ` alone", "<code>a</code> and ` alone");
    }

    #[test]
    fn the_text_is_escaped_inside_and_outside() {
        check("<b> `<i>` & \"", "&lt;b&gt; <code>&lt;i&gt;</code> &amp; &quot;");
    }

    #[test]
    fn a_number_keeps_its_unit_outside_of_code() {
        check("at 40 °C, not `40 °C`", "at 40\u{a0}°C, not <code>40 °C</code>");
    }
}
