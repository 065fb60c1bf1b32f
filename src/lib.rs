//! # tarebook
//!
//! A compiler for plain-text recipe notebooks. An author writes Markdown with embedded `formula` blocks; the compiler reads
//! them, computes weights, active matter and cautions with exact decimals, and renders HTML pages with the numbers filled in.
//!
//! Data flows one way, and the modules are its stations, in reading order:
//!
//! ```text
//! text ──► notebook ──► block ──► model ──► compute ──► caution ──► page ──► files
//! ```
//!
//! | module | what it is |
//! | --- | --- |
//! | [`quantity`] | masses, volumes, percentages, pH: newtypes over exact decimals, and the rounding rules |
//! | [`notebook`] | Markdown into prose and blocks, each with its bytes |
//! | [`block`] | what the TOML of a block may say |
//! | [`material`] | raw materials and substances, the built-in catalogue, product types, limits |
//! | [`model`] | formulas with variants worked out and every name resolved |
//! | [`compute`] | one file per calculation; figures that can show their working |
//! | [`caution`] | one file per caution, judged on a computed formula |
//! | [`page`] | figures and prose into HTML through the templates |
//! | [`report`] | findings: one type for errors, cautions, questions and notes |
//! | [`collection`] | the whole pipeline over a set of notebooks, done again only where something changed |
//! | [`exchange`] | a whole collection as one JSON document, and back |
//! | [`edge`] | the only input and output: folders, files, watching, the loopback page, the terminal |
//! | [`cli`] | arguments and exit status |
//!
//! Everything but `edge` is pure: text in, text out, the same bytes on every machine and at every thread count. In ten lines:
//!
//! ```
//! use std::sync::Arc;
//! use tarebook::collection::{Collection, Sources};
//!
//! let mut sources = Sources::default();
//! let text = "# Wash\n\n```formula\nid = \"wash\"\n[phase.A]\nwater = \"q.s. to 100\"\nglycerin = 3\n```\n\n[](calc:wash/water/percent)\n";
//! sources.notebooks.insert(Arc::from("wash.md"), Arc::from(text));
//! let mut collection = Collection::new();
//! collection.update(sources);
//! let page = collection.render("wash.md").unwrap().remove(0);
//! assert!(String::from_utf8(page.bytes).unwrap().contains("97\u{a0}%"));
//! ```

pub mod quantity;

pub mod notebook;

pub mod block;

pub mod material;

pub mod model;

pub mod compute;

pub mod caution;

pub mod page;

pub mod report;

mod base64;
pub mod collection;
mod stamp;

pub mod exchange;

pub mod edge;

pub mod cli;
