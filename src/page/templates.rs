//! The templates: built-in ones, each of which a collection may override by a file of the same name.

use std::collections::BTreeMap;
use std::sync::Arc;
use tera::{Context, Tera};

/// The built-in templates and the style sheet, by file name.
pub const BUILT_IN: &[(&str, &str)] = &[
    ("page.html", include_str!("../../templates/page.html")),
    ("index.html", include_str!("../../templates/index.html")),
    ("formula.html", include_str!("../../templates/formula.html")),
    ("unfinished.html", include_str!("../../templates/unfinished.html")),
    ("number.html", include_str!("../../templates/number.html")),
    ("aside.html", include_str!("../../templates/aside.html")),
    (STYLE, include_str!("../../templates/style.css")),
];

/// The name of the style sheet, which is copied as it is.
pub(crate) const STYLE: &str = "style.css";

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
}

impl Templates {
    /// The built-in templates with a collection's own over them. Own files that no built-in template has the name of are
    /// partials that the others may include. One that cannot be parsed is a fault, and the built-in one stays.
    pub fn new(own: &BTreeMap<String, Arc<str>>) -> (Templates, Vec<TemplateFault>) {
        let mut tera = Tera::new();
        let mut faults = Vec::new();
        let built_in = BUILT_IN.iter().filter(|(name, _)| *name != STYLE).map(|(name, text)| (*name, *text));
        if let Err(error) = tera.add_raw_templates(built_in) {
            faults.push(TemplateFault { name: "built-in".to_owned(), message: error.to_string() });
        }
        let mut style: Arc<str> = BUILT_IN.iter().find(|(name, _)| *name == STYLE).map_or("", |(_, text)| *text).into();
        for (name, text) in own {
            if name == STYLE {
                style = Arc::clone(text);
            } else if let Err(error) = tera.add_raw_template(name, text) {
                faults.push(TemplateFault { name: name.clone(), message: error.to_string() });
            }
        }
        (Templates { tera, style }, faults)
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
