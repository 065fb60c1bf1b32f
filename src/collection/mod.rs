//! A collection: the whole pipeline over a set of notebooks, and what must be done again when one of them changes.
//!
//! Pure: the edge hands in [`Sources`], texts by path, and takes out findings and finished files. A notebook is read again
//! when its text changed, computed again when its text, its parents' blocks, the settings or the materials changed, and
//! rendered again when anything changed that its page shows; [`Collection::page_key`] is a hash over exactly that. An
//! update therefore gives the same bytes as a fresh build.

mod assemble;
mod batch_numbers;
mod bench_sheets;
mod blocks;
mod compare;
mod correct;
mod due;
mod errata;
mod excerpts;
mod glossary;
mod index;
mod labels;
mod links;
mod lists;
mod lots;
mod materials;
mod order;
mod reckoned;
mod scaling;
mod search;
mod shopping;
mod since;
mod stale;
mod state;
mod trials;

pub use assemble::OutputFile;
pub use blocks::BlockState;
pub use correct::{Correction, Corrections, LeftStale, Rewrite};
pub use due::{Ahead, DueCheck};
pub use errata::{ChangedNumber, NewErrata};
pub use lots::{HeldLot, Lots};
pub use since::{PartName, PartSince, Since, State};
pub use state::{Entry, FormulaState};

use crate::block::RowFiles;
use crate::compute::{AddressFault, Answer, Backing, Computed, Figure, address_tree, look_up};
use crate::material::{Catalogue, OwnFile};
use crate::model::Settings;
use crate::notebook::Notebook;
use crate::page::{SCRIPT, STYLE, Site, Templates};
use crate::report::{Finding, Place, Severity, arrange, kind};
use crate::stamp::Stamp;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// Everything a build reads, as text by path from the collection's folder.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sources {
    /// `collection.toml`, if there is one.
    pub settings: Option<Arc<str>>,
    /// The collection's own material files, by path.
    pub materials: BTreeMap<Arc<str>, Arc<str>>,
    /// Notebooks, by path.
    pub notebooks: BTreeMap<Arc<str>, Arc<str>>,
    /// The collection's own templates, by file name.
    pub templates: BTreeMap<String, Arc<str>>,
    /// Corrections of notebooks, by the path of their file.
    pub errata: BTreeMap<Arc<str>, Arc<str>>,
    /// Files of separated values that blocks may read rows from, by path. They stand among the other files too.
    pub row_files: RowFiles,
    /// All other files, by path.
    pub files: BTreeSet<Arc<str>>,
    /// What could not be read.
    pub findings: Vec<Finding>,
}

/// The path of the settings file.
pub const SETTINGS_PATH: &str = "collection.toml";
/// The notebook that becomes the introduction of the index.
pub const INDEX_NOTEBOOK: &str = "index.md";

/// A collection between two updates.
pub struct Collection {
    sources: Sources,
    settings: Settings,
    settings_findings: Vec<Finding>,
    catalogue: Catalogue,
    catalogue_findings: Vec<Finding>,
    templates: Templates,
    template_findings: Vec<Finding>,
    site: Site,
    /// Changes whenever settings, materials or templates do.
    epoch: u64,
    entries: BTreeMap<Arc<str>, Entry>,
    formulas: BTreeMap<String, (Arc<str>, usize)>,
    /// Blocks of other kinds that have an id.
    blocks: BTreeMap<String, (Arc<str>, usize)>,
    order: Vec<Arc<str>>,
    position: BTreeMap<Arc<str>, usize>,
    /// Corrections, by notebook.
    errata: BTreeMap<Arc<str>, errata::ErrataState>,
    /// Where raw materials are used.
    uses: materials::Uses,
    /// The terms that the collection explains itself.
    glossary: glossary::Glossary,
    /// Which method goes with which formula.
    methods: bench_sheets::Methods,
    /// Errors that belong to no notebook, shown on every page while watching, and a hash over them.
    outside: Vec<Finding>,
    outside_stamp: Stamp,
    /// Hash of the set of files, and what is wrong with it.
    same_pages: (u64, Vec<Finding>),
}

impl Default for Collection {
    fn default() -> Collection {
        Collection::new()
    }
}

impl Collection {
    /// An empty collection.
    pub fn new() -> Collection {
        let settings = Settings::default();
        let (templates, _) = Templates::new(&BTreeMap::new());
        Collection {
            sources: Sources::default(),
            site: site_of(&settings),
            settings,
            settings_findings: Vec::new(),
            catalogue: Catalogue::built_in().clone(),
            catalogue_findings: Vec::new(),
            templates,
            template_findings: Vec::new(),
            epoch: 0,
            entries: BTreeMap::new(),
            formulas: BTreeMap::new(),
            blocks: BTreeMap::new(),
            order: Vec::new(),
            position: BTreeMap::new(),
            errata: BTreeMap::new(),
            uses: materials::Uses::default(),
            glossary: glossary::Glossary::default(),
            methods: bench_sheets::Methods::default(),
            outside: Vec::new(),
            outside_stamp: Stamp::new(),
            same_pages: (0, Vec::new()),
        }
    }

    /// Takes in the present texts and does again what depends on what changed.
    pub fn update(&mut self, sources: Sources) {
        let epoch = self.epoch;
        self.take_settings(&sources);
        self.take_materials(&sources);
        self.take_templates(&sources);
        self.sources = sources;
        let settings_changed = epoch != self.epoch;
        self.take_errata();
        let taken = self.take_notebooks();
        if taken.ids {
            self.index_formulas();
        }
        self.compare_batch_numbers();
        self.compute_formulas();
        self.compute_blocks();
        self.glossary = glossary::Glossary::new(&self.settings, &self.entries);
        self.resolve_links();
        if taken.paths || settings_changed {
            self.order = order::arrange_notebooks(&self.settings, self.entries.keys());
            self.position = self.order.iter().enumerate().map(|(index, path)| (Arc::clone(path), index)).collect();
        }
        self.stamp_entries();
        self.gather_uses();
        self.gather_methods();
        self.find_same_pages();
        self.outside = self.errors_outside();
        self.outside_stamp = self.outside.iter().fold(Stamp::new(), |stamp, finding| {
            stamp.text(&finding.place.path).text(&finding.what).number(finding.place.span.start as u64)
        });
    }

    fn take_settings(&mut self, sources: &Sources) {
        if self.epoch > 0 && self.sources.settings == sources.settings {
            return;
        }
        let path: Arc<str> = SETTINGS_PATH.into();
        (self.settings, self.settings_findings) =
            sources.settings.as_ref().map_or_else(Default::default, |text| Settings::read(&path, text));
        self.site = site_of(&self.settings);
        self.epoch += 1;
    }

    fn take_materials(&mut self, sources: &Sources) {
        if self.sources.materials == sources.materials {
            return;
        }
        let files: Vec<OwnFile> = sources
            .materials
            .iter()
            .map(|(path, text)| OwnFile { path: Arc::clone(path), text: Arc::clone(text) })
            .collect();
        (self.catalogue, self.catalogue_findings) = Catalogue::built_in().with_own(&files);
        self.epoch += 1;
    }

    fn take_templates(&mut self, sources: &Sources) {
        if self.sources.templates == sources.templates {
            return;
        }
        let (templates, faults) = Templates::new(&sources.templates);
        self.templates = templates;
        self.template_findings = faults.into_iter().map(|fault| assemble::template_finding(&fault)).collect();
        self.epoch += 1;
    }

    /// Two files that would be written to the same place. Looked for again only when the set of files changed.
    fn find_same_pages(&mut self) {
        let linked = self.linked_files();
        let generated = self.generated_pages();
        let all = self.entries.keys().chain(&linked).chain(&generated);
        let set = all.fold(Stamp::new(), |stamp, path| stamp.text(path)).value();
        if set == self.same_pages.0 {
            return;
        }
        let mut taken: BTreeMap<String, Arc<str>> = BTreeMap::new();
        for shared in [STYLE, SCRIPT] {
            taken.insert(shared.to_owned(), format!("{shared} of the pages").into());
        }
        let of_materials: Arc<str> = "the page of a raw material or of all lots".into();
        let of_index: Arc<str> = "a page of the index".into();
        let of_formulas: Arc<str> = "the bench sheet of a formula".into();
        taken.extend(generated.iter().map(|page| {
            let made_of = match page {
                page if lists::is_list(page) => &of_index,
                page if bench_sheets::formula_of(page).is_some() => &of_formulas,
                _ => &of_materials,
            };
            (page.to_string(), Arc::clone(made_of))
        }));
        let mut findings = Vec::new();
        let pages = self.entries.keys().flat_map(|path| {
            let page = crate::notebook::page_path_of(path);
            [(page.clone(), Arc::clone(path)), (assemble::data_path(&page), Arc::clone(path))]
        });
        let copies = linked.into_iter().map(|path| (path.to_string(), path));
        let mut said: BTreeSet<(Arc<str>, Arc<str>)> = BTreeSet::new();
        for (output, source) in pages.chain(copies) {
            match taken.get(&output.to_lowercase()) {
                Some(other) if *other != source => {
                    // A page and its data file clash together; that is said once.
                    if said.insert((Arc::clone(&source), Arc::clone(other))) {
                        findings.push(Finding::new(
                            kind::SAME_PAGE,
                            Place::start_of(&source),
                            format!("`{source}` and `{other}` would both become `{output}`."),
                        ));
                    }
                }
                _ => {
                    taken.insert(output.to_lowercase(), source);
                }
            }
        }
        self.same_pages = (set, findings);
    }

    /// Errors that belong to no notebook: of settings, materials, templates, and of the set of files.
    pub(crate) fn errors_outside(&self) -> Vec<Finding> {
        let mut errors: Vec<Finding> = self
            .sources
            .findings
            .iter()
            .chain(&self.settings_findings)
            .chain(&self.catalogue_findings)
            .chain(&self.template_findings)
            .chain(&self.same_pages.1)
            .chain(self.errata.values().flat_map(|state| &state.findings))
            .filter(|finding| finding.severity() == Severity::Error)
            .cloned()
            .collect();
        errors.extend(self.faults_of_settings());
        arrange(&mut errors);
        errors
    }

    /// Every finding, in no particular order.
    fn all_findings(&self) -> impl Iterator<Item = &Finding> {
        self.sources
            .findings
            .iter()
            .chain(&self.settings_findings)
            .chain(&self.catalogue_findings)
            .chain(&self.template_findings)
            .chain(&self.same_pages.1)
            .chain(self.errata.values().flat_map(|state| &state.findings))
            .chain(self.entries.values().flat_map(Entry::all_findings))
    }

    fn gathered(&self, wanted: impl Fn(&Finding) -> bool) -> Vec<Finding> {
        let mut findings: Vec<Finding> = self.all_findings().filter(|finding| wanted(finding)).cloned().collect();
        findings.extend(self.faults_of_settings().into_iter().filter(|finding| wanted(finding)));
        arrange(&mut findings);
        findings
    }

    /// All findings in the order they are shown.
    pub fn findings(&self) -> Vec<Finding> {
        self.gathered(|_| true)
    }

    /// The findings that stand against publishing, in the order they are shown.
    pub fn errors(&self) -> Vec<Finding> {
        self.gathered(|finding| finding.severity() == Severity::Error)
    }

    /// Whether anything is found that must not be published.
    pub fn has_errors(&self) -> bool {
        self.all_findings().any(|finding| finding.severity() == Severity::Error)
            || !self.faults_of_settings().is_empty()
    }

    /// Paths in the settings that lead to nothing; all of them are errors.
    fn faults_of_settings(&self) -> Vec<Finding> {
        let mut faults = order::missing_in_order(&self.settings, &self.sources);
        faults.extend(self.faults_of_glossary());
        faults
    }

    /// The text of a source file, for showing the line of a finding.
    pub fn text_of(&self, path: &str) -> Option<&str> {
        let sources = &self.sources;
        sources
            .notebooks
            .get(path)
            .or_else(|| sources.materials.get(path))
            .or_else(|| sources.errata.get(path))
            .or_else(|| sources.row_files.get(path)?.as_ref().ok())
            .or_else(|| sources.templates.get(path.strip_prefix("templates/")?))
            .or_else(|| sources.settings.as_ref().filter(|_| path == SETTINGS_PATH))
            .map(|text| &**text)
    }

    /// The texts that it was made from.
    pub fn sources(&self) -> &Sources {
        &self.sources
    }

    /// The settings.
    pub fn settings(&self) -> &Settings {
        &self.settings
    }

    /// The catalogue with the collection's own materials.
    pub fn catalogue(&self) -> &Catalogue {
        &self.catalogue
    }

    /// The notebooks in the order of the index.
    pub fn notebooks(&self) -> impl Iterator<Item = &Notebook> {
        self.order.iter().filter_map(|path| self.entries.get(path)).map(|entry| &*entry.notebook)
    }

    /// Everything that is known of each notebook, by path.
    pub fn entries_by_path(&self) -> impl Iterator<Item = &Entry> {
        self.entries.values()
    }

    /// A computed formula by its id.
    pub fn formula(&self, id: &str) -> Option<&Computed> {
        self.formula_state(id)?.1.computed.as_deref()
    }

    /// What was found about a formula.
    pub fn formula_findings(&self, id: &str) -> &[Finding] {
        self.formula_state(id).map_or(&[], |(_, state)| &state.findings)
    }

    /// The ids of all formulas.
    pub fn formula_ids(&self) -> impl Iterator<Item = &str> {
        self.formulas.keys().map(String::as_str)
    }

    fn formula_state(&self, id: &str) -> Option<(&Entry, &FormulaState)> {
        let (path, index) = self.formulas.get(id)?;
        let entry = self.entries.get(path)?;
        Some((entry, entry.formulas.get(*index)?))
    }

    /// The answer of a block that is no formula, by its id.
    pub fn answer(&self, id: &str) -> Option<&Answer> {
        self.block_state(id)?.1.answer.as_deref()
    }

    /// The figure at a path below the id of a formula or of another block, for the formula's own batch or another; `None` when there is no such id, or it
    /// has errors.
    pub fn figure(&self, id: &str, path: &[&str], batch: Option<&str>) -> Option<Result<Figure, AddressFault>> {
        match self.formula_state(id) {
            Some((_, state)) => Some(look_up(state.computed.as_ref()?, self.backing(), path, batch)),
            None => Some(self.block_state(id)?.1.answer.as_ref()?.look_up(id, path)),
        }
    }

    fn backing(&self) -> Backing<'_> {
        Backing { catalogue: &self.catalogue, rules: &self.settings.rules }
    }

    /// Every address of a formula or of another block, its id first; none when it has errors.
    pub fn addresses(&self, id: &str) -> Vec<String> {
        if let Some(computed) = self.formula(id) {
            return address_tree(computed, self.backing());
        }
        let below = self.answer(id).map(Answer::addresses).unwrap_or_default();
        below.into_iter().map(|address| format!("{id}/{address}")).collect()
    }

    fn block_state(&self, id: &str) -> Option<(&Entry, &BlockState)> {
        let (path, index) = self.blocks.get(id)?;
        let entry = self.entries.get(path)?;
        Some((entry, entry.blocks.get(*index)?))
    }

    /// Files beside the notebooks that links and images lead to, to be copied.
    pub fn linked_files(&self) -> BTreeSet<Arc<str>> {
        let notebooks = || self.entries.values().map(|entry| &entry.notebook);
        let links = notebooks().flat_map(|notebook| &notebook.links).filter_map(|link| link.target.as_ref());
        links
            .chain(notebooks().flat_map(|notebook| notebook.row_files()))
            .filter(|target| self.sources.files.contains(*target))
            .cloned()
            .collect()
    }
}

fn site_of(settings: &Settings) -> Site {
    Site {
        title: settings.title.clone(),
        language: settings.language.clone(),
        licence: settings.licence.clone().unwrap_or_default(),
        contact: settings.contact.clone().unwrap_or_default(),
    }
}
