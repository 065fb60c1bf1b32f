//! The entries of the manual about findings: each under the finding's name, with an example that raises it and the same
//! example mended.
//!
//! The notebooks in `notebooks/manual/findings` are the only place where these examples are written. An entry is a heading of
//! the second level. Its examples are fences of four backticks, with words behind them: what the text is, for which of the two
//! examples it stands, and its path, as in `notebook wrong`, `notebook right` or `toml both materials/own.toml`. Without a path it
//! is [`NOTEBOOK`]. Tests hold that every kind has its entry and that the examples are true.

/// The path of an example that names none.
pub const NOTEBOOK: &str = "notebook.md";

/// The notebooks about findings: their names and their texts.
pub const PAGES: &[(&str, &str)] = &[
    ("blocks-and-keys.md", include_str!("../../notebooks/manual/findings/blocks-and-keys.md")),
    ("amounts-and-sums.md", include_str!("../../notebooks/manual/findings/amounts-and-sums.md")),
    ("names-and-variants.md", include_str!("../../notebooks/manual/findings/names-and-variants.md")),
    ("strengths.md", include_str!("../../notebooks/manual/findings/strengths.md")),
    ("doses-and-limits.md", include_str!("../../notebooks/manual/findings/doses-and-limits.md")),
    ("preservation-and-ph.md", include_str!("../../notebooks/manual/findings/preservation-and-ph.md")),
    ("compatibility-and-heat.md", include_str!("../../notebooks/manual/findings/compatibility-and-heat.md")),
    ("method.md", include_str!("../../notebooks/manual/findings/method.md")),
    ("labels-and-claims.md", include_str!("../../notebooks/manual/findings/labels-and-claims.md")),
    ("links-and-numbers.md", include_str!("../../notebooks/manual/findings/links-and-numbers.md")),
    ("files-and-collection.md", include_str!("../../notebooks/manual/findings/files-and-collection.md")),
    ("soap.md", include_str!("../../notebooks/manual/findings/soap.md")),
    ("dilutions-and-buffers.md", include_str!("../../notebooks/manual/findings/dilutions-and-buffers.md")),
    ("curves-and-titrations.md", include_str!("../../notebooks/manual/findings/curves-and-titrations.md")),
    ("fillings.md", include_str!("../../notebooks/manual/findings/fillings.md")),
    ("costings.md", include_str!("../../notebooks/manual/findings/costings.md")),
    ("trials.md", include_str!("../../notebooks/manual/findings/trials.md")),
    ("batch-records.md", include_str!("../../notebooks/manual/findings/batch-records.md")),
    ("stability.md", include_str!("../../notebooks/manual/findings/stability.md")),
    ("workings.md", include_str!("../../notebooks/manual/findings/workings.md")),
];

/// What the manual says about one kind of finding.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Entry {
    /// The name of the finding.
    pub name: &'static str,
    /// The files of the example that raises it.
    pub wrong: Vec<ExampleFile>,
    /// The files of the example that is mended.
    pub right: Vec<ExampleFile>,
}

/// A file of an example.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ExampleFile {
    /// Path in the example's collection.
    pub path: &'static str,
    /// Its text.
    pub text: String,
}

/// The entry of a finding.
pub fn entry(name: &str) -> Option<Entry> {
    // A heading is looked for before anything is read, so that one entry costs no more than one page.
    let heading = format!("\n## {name}\n");
    let (_, page) = PAGES.iter().find(|(_, page)| page.contains(&heading))?;
    read(page).into_iter().find(|entry| entry.name == name)
}

/// All entries of a page, in its order.
pub fn read(page: &'static str) -> Vec<Entry> {
    let mut entries: Vec<Entry> = Vec::new();
    let mut fence: Option<(&str, ExampleFile)> = None;
    for line in page.lines() {
        if let Some((side, mut file)) = fence.take() {
            if line != "````" {
                file.text.push_str(line);
                file.text.push('\n');
                fence = Some((side, file));
            } else if let Some(entry) = entries.last_mut() {
                entry.take(side, file);
            }
        } else if let Some(info) = line.strip_prefix("````") {
            let mut words = info.split(' ').skip(1);
            let side = words.next().unwrap_or_default();
            fence = Some((side, ExampleFile { path: words.next().unwrap_or(NOTEBOOK), text: String::new() }));
        } else if let Some(name) = line.strip_prefix("## ") {
            entries.push(Entry { name, ..Entry::default() });
        }
    }
    entries
}

impl Entry {
    fn take(&mut self, side: &str, file: ExampleFile) {
        match side {
            "wrong" => self.wrong.push(file),
            "right" => self.right.push(file),
            _ => {
                self.wrong.push(file.clone());
                self.right.push(file);
            }
        }
    }
}
