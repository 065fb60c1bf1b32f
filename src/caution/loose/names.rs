//! What the words of a notebook can name: raw materials, phases and totals of its formulas.

use super::words::{Token, bare, phrase_end};
use crate::compute::Computed;
use crate::material::{LooseWords, Material, Phrase, SurfactantClass};
use std::collections::BTreeMap;

/// What a name means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum What {
    /// A raw material of a formula.
    Material,
    /// A phase.
    Phase,
    /// Active matter, in all or of one class.
    Active(Option<SurfactantClass>),
    /// The water of all raw materials.
    Water,
    /// How much is made.
    Batch,
    /// The sum of all lines.
    Sum,
    /// The formula, as in "the recipe makes 600 g".
    Making,
    /// The pH.
    Ph,
    /// More than one thing; nothing is said of it.
    Unclear,
}

/// A name, with what it stands for in each formula that has it.
#[derive(Clone, Debug)]
pub(super) struct Name {
    pub words: Phrase,
    pub what: What,
    /// By formula: indices of lines, or the index of the phase.
    pub of: Vec<(usize, Vec<usize>)>,
}

/// The names of a notebook, by their first word in lower case.
#[derive(Debug, Default)]
pub(super) struct Names {
    by_first: BTreeMap<String, Vec<Name>>,
}

impl Names {
    /// All names of the formulas of a notebook.
    pub(super) fn of(words: &LooseWords, formulas: &[(usize, &Computed)]) -> Names {
        let mut names = Names::default();
        for (index, computed) in formulas {
            names.add_materials(words, *index, computed);
            names.add_phases(*index, computed);
        }
        let all: Vec<(usize, Vec<usize>)> = formulas.iter().map(|(index, _)| (*index, Vec::new())).collect();
        let totals = [
            ("active", What::Active(None)),
            ("water", What::Water),
            ("batch", What::Batch),
            ("sum", What::Sum),
            ("making", What::Making),
            ("ph", What::Ph),
        ];
        for (key, what) in totals {
            for phrase in words.names(key) {
                names.put(Name { words: phrase.clone(), what, of: all.clone() });
                if what == What::Active(None) {
                    for class in SurfactantClass::ALL {
                        let mut phrase = phrase.clone();
                        phrase.insert(0, class.word().to_owned());
                        names.put(Name { words: phrase, what: What::Active(Some(class)), of: all.clone() });
                    }
                }
            }
        }
        for class in SurfactantClass::ALL {
            let words = vec![class.word().to_owned()];
            names.put(Name { words, what: What::Active(Some(class)), of: all.clone() });
        }
        for list in names.by_first.values_mut() {
            list.sort_by(|left, right| {
                right.words.len().cmp(&left.words.len()).then_with(|| left.words.cmp(&right.words))
            });
        }
        names
    }

    /// The longest name that begins at a token, and the token after it.
    pub(super) fn at(&self, tokens: &[Token<'_>], at: usize) -> Option<(&Name, usize)> {
        let first = bare(tokens.get(at)?.text).to_lowercase();
        let list = self.by_first.get(&first)?;
        list.iter().find_map(|name| Some((name, phrase_end(&name.words, tokens, at)?)))
    }

    fn put(&mut self, name: Name) {
        let Some(first) = name.words.first().cloned() else { return };
        let list = self.by_first.entry(first).or_default();
        match list.iter_mut().find(|known| known.words == name.words) {
            None => list.push(name),
            Some(known) if known.what == name.what => known.of.extend(name.of),
            // A raw material that is called like a total, or a phase like a raw material.
            Some(known) => known.what = What::Unclear,
        }
    }

    fn add_materials(&mut self, words: &LooseWords, formula: usize, computed: &Computed) {
        // The lines of each raw material, in order.
        let mut materials: Vec<(&Material, Vec<usize>)> = Vec::new();
        for (index, line) in computed.formula.lines().enumerate() {
            match materials.iter_mut().find(|(known, _)| known.id == line.material.id) {
                Some((_, lines)) => lines.push(index),
                None => materials.push((&line.material, vec![index])),
            }
        }
        let mut called: BTreeMap<Phrase, (usize, Vec<usize>)> = BTreeMap::new();
        for (number, (material, _)) in materials.iter().enumerate() {
            for (phrase, rank) in names_of(words, material) {
                let entry = called.entry(phrase).or_insert((rank, Vec::new()));
                if rank < entry.0 {
                    *entry = (rank, Vec::new());
                }
                if rank == entry.0 && !entry.1.contains(&number) {
                    entry.1.push(number);
                }
            }
        }
        // A short name that is a word in another raw material's name too says nothing for certain.
        let full: Vec<(usize, Phrase)> = called
            .iter()
            .filter(|(_, (rank, _))| *rank == 0)
            .flat_map(|(phrase, (_, numbers))| numbers.iter().map(|number| (*number, phrase.clone())))
            .collect();
        for (phrase, (rank, numbers)) in called {
            let [only] = numbers.as_slice() else {
                self.put(Name { words: phrase, what: What::Unclear, of: Vec::new() });
                continue;
            };
            let elsewhere = rank == 2
                && full
                    .iter()
                    .any(|(number, name)| number != only && name.windows(phrase.len()).any(|part| part == phrase));
            let lines = materials.get(*only).map(|(_, lines)| lines.clone()).unwrap_or_default();
            let what = if elsewhere { What::Unclear } else { What::Material };
            self.put(Name { words: phrase, what, of: vec![(formula, lines)] });
        }
    }

    fn add_phases(&mut self, formula: usize, computed: &Computed) {
        for (index, phase) in computed.formula.phases.iter().enumerate() {
            let of = vec![(formula, vec![index])];
            let key = vec!["phase".to_owned(), phase.key.to_lowercase()];
            self.put(Name { words: key, what: What::Phase, of: of.clone() });
            let title = split(phase.title.as_deref().unwrap_or_default());
            if title.len() > 1 && title.last().is_some_and(|last| last == "phase") {
                self.put(Name { words: title, what: What::Phase, of });
            }
        }
    }
}

/// Words in lower case, parted at all that is neither letter nor digit.
fn split(text: &str) -> Phrase {
    let words = text.split(|c: char| !c.is_alphanumeric() && c != '\'').filter(|word| !word.is_empty());
    words.map(str::to_lowercase).collect()
}

/// Every name of a raw material with its rank: its own, those of its substances, short ones.
fn names_of(words: &LooseWords, material: &Material) -> Vec<(Phrase, usize)> {
    let mut full: Vec<Phrase> = Vec::new();
    let ids = std::iter::once(&material.id).chain(&material.also);
    full.extend(ids.map(|id| split(id)));
    full.push(split(material.name.split([',', '(']).next().unwrap_or_default()));
    for (id, names) in &words.spellings {
        let goes_on = material.id.strip_prefix(id.as_str());
        if goes_on.is_some_and(|rest| rest.is_empty() || rest.starts_with('-')) {
            full.extend(names.iter().cloned());
        }
    }
    let shape = [
        "solution",
        "powder",
        "paste",
        "granules",
        "flakes",
        "in",
        "or",
        "needles",
        "crystals",
        "beads",
        "pellets",
        "anhydrous",
        "monohydrate",
        "dihydrate",
    ];
    let shorter: Vec<Phrase> = full
        .iter()
        .filter_map(|phrase| {
            let cut = phrase
                .iter()
                .position(|word| shape.contains(&word.as_str()) || word.chars().all(|c| c.is_ascii_digit()))?;
            (cut > 0).then(|| phrase.iter().take(cut).cloned().collect())
        })
        .collect();
    full.extend(shorter);
    full.retain(|phrase| !phrase.is_empty());
    let mut names: Vec<(Phrase, usize)> = full.iter().map(|phrase| (phrase.clone(), 0)).collect();
    let inci = material
        .contains
        .iter()
        .map(|component| component.inci.as_str())
        .filter(|inci| *inci != crate::material::WATER);
    names.extend(inci.map(|inci| (split(inci.split(['(', ',']).next().unwrap_or_default()), 1)));
    let narrow =
        |word: &String| word.len() > 2 && !words.too_wide.contains(word) && word.chars().all(char::is_alphabetic);
    for phrase in &full {
        let (Some(first), Some(last)) = (phrase.first(), phrase.last()) else { continue };
        if phrase.len() > 1 && narrow(last) {
            names.push((vec![last.clone()], 2));
        }
        if phrase.len() > 2 {
            names.push((phrase.iter().skip(phrase.len() - 2).cloned().collect(), 2));
        }
        if phrase.len() > 1 && words.kinds.contains(last) {
            let before: Phrase = phrase.iter().take(phrase.len() - 1).cloned().collect();
            if narrow(first) {
                names.push((vec![first.clone()], 2));
            }
            names.push((before, 2));
        }
    }
    for (function, phrases) in &words.functions {
        if material.functions.iter().any(|known| known == function) {
            names.extend(phrases.iter().map(|phrase| (phrase.clone(), 3)));
        }
    }
    names
}
