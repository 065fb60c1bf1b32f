//! What holds for any sequence of edits: an update gives what a fresh build gives.

use super::percent_text;
use crate::support::{Tree, cases, difference, everything, sources};
use proptest::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;
use tarebook::collection::{Collection, Sources};

/// A small collection as an author may have it at some moment: which notebooks there are and what stands in them.
#[derive(Clone, Debug)]
struct State {
    notebooks: BTreeMap<usize, Page>,
    settings: usize,
    materials: usize,
    templates: usize,
    files: usize,
    index: usize,
}

#[derive(Clone, Debug, Default)]
struct Page {
    amount: i64,
    id: usize,
    parent: usize,
    heading: usize,
    link: usize,
    calc: usize,
    term: usize,
    block: usize,
    broken: bool,
    lines_above: usize,
    in_folder: bool,
}

#[derive(Clone, Debug)]
enum Edit {
    Amount(usize, i64),
    Id(usize, usize),
    Parent(usize, usize),
    Heading(usize, usize),
    Link(usize, usize),
    Calc(usize, usize),
    Term(usize, usize),
    Block(usize, usize),
    Break(usize),
    Shift(usize, usize),
    Move(usize),
    Remove(usize),
    Settings(usize),
    Materials(usize),
    Templates(usize),
    Files(usize),
    Index(usize),
}

const NAMES: [&str; 5] = ["ash", "birch", "cedar", "dogwood", "elder"];
const HEADINGS: [&str; 4] = ["Weighing", "Weighing it", "Stirring", "Weighing and stirring"];
const LINKS: [&str; 9] = [
    "nothing",
    "[a](birch.md)",
    "[a](birch.md#weighing)",
    "[a](birch.md#weigh)",
    "[a](../cedar.md#sheet-elm)",
    "[a](birches.md)",
    "![a](jar.svg)",
    "![a](jars.svg)",
    "[a](../outside.md)",
];
const CALCS: [&str; 8] = [
    "nothing",
    "[](calc:oak/glycerin/weight)",
    "[3 %](calc:elm/glycerin/percent)",
    "[](calc:elm/glycerin/percent?batch=2kg)",
    "[](calc:fir/batch)",
    "[](calc:oaks/batch)",
    "[](calc:oak/extract/weight)",
    "[](calc:oak/glycerine/weight)",
];
/// Blocks that rest on formulas and on each other, in a circle too.
const BLOCKS: [&str; 8] = [
    "",
    "```expect\n\"oak/glycerin/percent\" = \"3 %\"\n```\n",
    "```workings\nid = \"sum\"\na = \"calc:oak/glycerin/weight × 2\"\n```\n",
    "```workings\nid = \"half\"\nb = \"calc:sum/a ÷ 2\"\n```\n",
    "```workings\nid = \"sum\"\na = \"calc:half/b + 1 g\"\n```\n",
    "```expect\n\"half/b\" = \"15 g\"\n\"sum/aa\" = 3\n```\n",
    "```expect\n\"elm/glycerin/weight?batch=2kg\" = \"60.0 g\"\n```\n",
    "```workings\nk = \"calc:fir/batch to kg\"\n```\n\n[](calc:sum/a?unit=lb)\n",
];
/// Links to terms, and definition lists that explain some; the settings say whose count.
const TERMS: [&str; 7] = [
    "",
    "[](term:superfat) and [balance](term:)\n",
    "[](term:bark)\n",
    "[](term:knot) [again](term:knot)\n",
    "Bark\n: What is outside, [](calc:oak/glycerin/percent).\n",
    "Bark, rind\n: What is outside.\n\nKnot\n: What is hard.\n\nBark\n: Again.\n",
    "Superfat\n: Ours.\n",
];
const IDS: [&str; 4] = ["oak", "elm", "fir", "yew"];
const SETTINGS: [Option<&str>; 7] = [
    None,
    Some("title = \"Wood\"\n"),
    Some("title = \"Wood\"\nbalance = \"1 g\"\norder = [\"cedar.md\", \"ash.md\"]\n"),
    Some("trust-html = true\nrules = [\"us\"]\n"),
    Some("title = \n"),
    Some("glossary = \"birch.md\"\n"),
    Some("glossary = \"wood/ash.md\"\n"),
];
const OWN: [Option<&str>; 4] = [
    None,
    Some(
        "[source.s]\nhow = \"memory\"\ntext = \"s\"\n[material.extract]\nname = \"Extract\"\nfunctions = [\"extract\"]\n\
         form = \"liquid\"\n[[material.extract.contains]]\ninci = \"Aqua\"\npercent = { typical = 60, source = \"s\" }\n",
    ),
    Some(
        "[source.s]\nhow = \"memory\"\ntext = \"s\"\n[material.extract]\nname = \"Strong extract\"\nfunctions = [\"extract\"]\n\
         form = \"liquid\"\n[material.glycerin]\nname = \"Our glycerin\"\n",
    ),
    Some("[material\n"),
];
const TEMPLATES: [&[(&str, &str)]; 5] = [
    &[],
    &[("number.html", "<b>{{ n.text }}</b>")],
    &[("page.html", "<main>{{ body | safe }}</main>{% include \"part.html\" %}"), ("part.html", "part")],
    &[("style.css", "p { color: red }")],
    &[("number.html", "{{ n.text")],
];
const FILES: [&[&str]; 3] = [&[], &["jar.svg"], &["jar.svg", "jars.svg", "wood/jar.svg"]];
const INDEXES: [Option<&str>; 4] = [
    None,
    Some("# All our wood\n\n[](calc:oak/batch)\n"),
    Some("No heading, [a](ash.md)\n"),
    Some("# Broken\n\n[](calc:nothing)\n"),
];

impl State {
    fn beginning() -> State {
        let page = |index: usize| Page { amount: 300, id: index % IDS.len(), parent: 4, ..Page::default() };
        State {
            notebooks: (0..3).map(|index| (index, page(index))).collect(),
            settings: 1,
            materials: 1,
            templates: 0,
            files: 1,
            index: 0,
        }
    }

    fn edit(&mut self, edit: &Edit) {
        let notebooks = &mut self.notebooks;
        match *edit {
            Edit::Amount(index, amount) => notebooks.entry(index).or_default().amount = amount,
            Edit::Id(index, id) => notebooks.entry(index).or_default().id = id,
            Edit::Parent(index, parent) => notebooks.entry(index).or_default().parent = parent,
            Edit::Heading(index, heading) => notebooks.entry(index).or_default().heading = heading,
            Edit::Link(index, link) => notebooks.entry(index).or_default().link = link,
            Edit::Calc(index, calc) => notebooks.entry(index).or_default().calc = calc,
            Edit::Term(index, term) => notebooks.entry(index).or_default().term = term,
            Edit::Block(index, block) => notebooks.entry(index).or_default().block = block,
            Edit::Break(index) => notebooks.entry(index).or_default().broken ^= true,
            Edit::Shift(index, lines) => notebooks.entry(index).or_default().lines_above = lines,
            Edit::Move(index) => notebooks.entry(index).or_default().in_folder ^= true,
            Edit::Remove(index) => drop(notebooks.remove(&index)),
            Edit::Settings(settings) => self.settings = settings,
            Edit::Materials(materials) => self.materials = materials,
            Edit::Templates(templates) => self.templates = templates,
            Edit::Files(files) => self.files = files,
            Edit::Index(index) => self.index = index,
        }
    }

    /// Every file with its text, in the order of the notebooks.
    fn files(&self) -> Vec<(String, String)> {
        let mut files: Vec<(String, String)> =
            self.notebooks.iter().map(|(index, page)| (page.path(NAMES[*index]), page.text())).collect();
        let single = [
            ("collection.toml", SETTINGS[self.settings]),
            ("materials/own.toml", OWN[self.materials]),
            ("index.md", INDEXES[self.index]),
        ];
        files.extend(single.iter().filter_map(|(path, text)| Some(((*path).to_owned(), (*text)?.to_owned()))));
        let templates = TEMPLATES[self.templates].iter();
        files.extend(templates.map(|(name, text)| (format!("templates/{name}"), (*text).to_owned())));
        files.extend(FILES[self.files].iter().map(|path| ((*path).to_owned(), String::new())));
        files
    }

    fn sources(&self) -> Sources {
        let files = self.files();
        sources(files.iter().map(|(path, text)| (path.as_str(), text.as_str())))
    }

    fn fresh(&self) -> Collection {
        let mut collection = Collection::new();
        collection.update(self.sources());
        collection
    }
}

impl Page {
    fn path(&self, name: &str) -> String {
        if self.in_folder { format!("wood/{name}.md") } else { format!("{name}.md") }
    }

    fn text(&self) -> String {
        let heading = HEADINGS[self.heading];
        let above = "Words.\n\n".repeat(self.lines_above);
        let end = if self.broken { "]" } else { "" };
        let id = IDS[self.id];
        let amount = percent_text(self.amount * 100);
        let block = match IDS.get(self.parent) {
            Some(parent) => {
                format!(
                    "id = \"{id}\"\nbased-on = \"{parent}\"\n[change.A]\nglycerin = {amount}{end}\nxanthan-gum = 1\n"
                )
            }
            None => format!(
                "id = \"{id}\"\nproduct = \"shampoo\"\nbatch = \"500 g\"\n[phase.A]\nwater = \"q.s. to 100\"\n\
                 glycerin = {amount}{end}\nextract = 2\n"
            ),
        };
        let (link, calc, more, term) = (LINKS[self.link], CALCS[self.calc], BLOCKS[self.block], TERMS[self.term]);
        format!(
            "# {heading}\n\n{above}{link} and {calc}.\n\n```formula\n{block}```\n\n{more}\n{term}\n<b>raw</b><script></script>\n"
        )
    }
}

fn any_edit() -> impl Strategy<Value = Edit> {
    let page = 0..NAMES.len();
    prop_oneof![
        3 => (page.clone(), prop_oneof![1_i64..1_000, Just(9_900_i64)]).prop_map(|(page, amount)| Edit::Amount(page, amount)),
        2 => (page.clone(), 0..IDS.len()).prop_map(|(page, id)| Edit::Id(page, id)),
        2 => (page.clone(), 0..=IDS.len()).prop_map(|(page, parent)| Edit::Parent(page, parent)),
        2 => (page.clone(), 0..HEADINGS.len()).prop_map(|(page, heading)| Edit::Heading(page, heading)),
        2 => (page.clone(), 0..LINKS.len()).prop_map(|(page, link)| Edit::Link(page, link)),
        3 => (page.clone(), 0..CALCS.len()).prop_map(|(page, calc)| Edit::Calc(page, calc)),
        3 => (page.clone(), 0..TERMS.len()).prop_map(|(page, term)| Edit::Term(page, term)),
        3 => (page.clone(), 0..BLOCKS.len()).prop_map(|(page, block)| Edit::Block(page, block)),
        1 => page.clone().prop_map(Edit::Break),
        2 => (page.clone(), 0_usize..3).prop_map(|(page, lines)| Edit::Shift(page, lines)),
        1 => page.clone().prop_map(Edit::Move),
        2 => page.prop_map(Edit::Remove),
        1 => (0..SETTINGS.len()).prop_map(Edit::Settings),
        1 => (0..OWN.len()).prop_map(Edit::Materials),
        1 => (0..TEMPLATES.len()).prop_map(Edit::Templates),
        1 => (0..FILES.len()).prop_map(Edit::Files),
        1 => (0..INDEXES.len()).prop_map(Edit::Index),
    ]
}

/// The files that a notebook's page key stands for.
fn rendered(collection: &Collection, path: &str) -> Vec<Vec<u8>> {
    match collection.render(path) {
        Ok(files) => files.into_iter().map(|file| file.bytes).collect(),
        Err(finding) => vec![finding.what.into_bytes()],
    }
}

proptest! {
    #![proptest_config(cases(32))]

    /// A collection that went through edits gives what a fresh build of the last state gives, every file and every finding;
    /// and a page whose key did not change did not change either.
    #[test]
    fn an_update_equals_a_fresh_build(edits in proptest::collection::vec(any_edit(), 1..16)) {
        let mut state = State::beginning();
        let mut kept = Collection::new();
        kept.update(state.sources());
        let mut pages: BTreeMap<Arc<str>, (u64, Vec<Vec<u8>>)> = BTreeMap::new();
        let mut index: Option<(u64, Tree)> = None;
        for (step, edit) in edits.iter().enumerate() {
            state.edit(edit);
            kept.update(state.sources());
            let now = everything(&kept);
            let difference = difference(&now, &everything(&state.fresh()));
            prop_assert!(difference.is_none(), "after edit {} of {:?}: {}", step + 1, edits, difference.unwrap_or_default());
            let generated = kept.generated_pages();
            for path in kept.page_sources().iter().chain(&generated).filter(|path| &***path != "index.md") {
                let new = (kept.page_key(path), rendered(&kept, path));
                if let Some(old) = pages.get(path).filter(|old| old.0 == new.0) {
                    prop_assert!(old.1 == new.1, "{} changed, its key did not, at edit {} of {:?}", path, step + 1, edits);
                }
                pages.insert(Arc::clone(path), new);
            }
            let is_of_index = |path: &&String| path.starts_with("index") && !path.starts_with("index/");
            let new: Tree = now.keys().filter(is_of_index).map(|path| (path.clone(), now[path].clone())).collect();
            if let Some(old) = index.filter(|old| old.0 == kept.index_key()) {
                prop_assert!(old.1 == new, "the index changed, its key did not, at edit {} of {:?}", step + 1, edits);
            }
            index = Some((kept.index_key(), new));
        }
    }

    /// In which order notebooks come in, one by one or all at once, and on how many threads, does not change a byte.
    #[test]
    fn order_and_threads_do_not_change_a_byte(edits in proptest::collection::vec(any_edit(), 0..16), seed in any::<u64>()) {
        let mut state = State::beginning();
        edits.iter().for_each(|edit| state.edit(edit));
        let on_threads = |number: usize| {
            let pool = rayon::ThreadPoolBuilder::new().num_threads(number).build().unwrap();
            pool.install(|| everything(&state.fresh()))
        };
        let one = on_threads(1);
        prop_assert_eq!(difference(&one, &on_threads(4)), None);
        prop_assert_eq!(difference(&one, &on_threads(1)), None);
        let mut files = state.files();
        files.sort_by_key(|(path, _)| path.bytes().fold(seed, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)));
        let mut growing = Collection::new();
        for count in 1..=files.len() {
            growing.update(sources(files[..count].iter().map(|(path, text)| (path.as_str(), text.as_str()))));
        }
        prop_assert_eq!(difference(&one, &everything(&growing)), None);
    }
}
