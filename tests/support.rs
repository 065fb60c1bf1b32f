//! What all end-to-end tests share: a fresh folder with a collection, the real program run in it, and a collection built
//! from texts alone.
//!
//! [`Bench`] and [`Program`] are consumed by the call that uses them, so a run that was prepared and forgotten does not
//! compile without a warning.

#![expect(clippy::disallowed_methods, reason = "tests make folders and run the program")]
#![expect(clippy::panic, clippy::unwrap_used, reason = "what goes wrong here fails the test")]

use proptest::prelude::ProptestConfig;
use proptest::test_runner::RngSeed;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Arc;
use tarebook::collection::{Collection, OutputFile, SETTINGS_PATH, Sources};
use tarebook::compute::Answer;
use tarebook::report::findings_data;
use tempfile::TempDir;

/// Files by path from a folder, with `/`.
pub(crate) type Tree = BTreeMap<String, Vec<u8>>;

/// A fresh folder that is gone at the end of the test. Programs run in it, so what they print holds no path of the machine.
#[must_use]
pub(crate) struct Bench {
    folder: TempDir,
}

impl Bench {
    /// An empty folder.
    pub(crate) fn new() -> Bench {
        Bench { folder: TempDir::new().unwrap() }
    }

    /// With one more file; the folders above it are made.
    pub(crate) fn with(self, path: &str, content: impl AsRef<[u8]>) -> Bench {
        self.write(path, content);
        self
    }

    /// Writes a file.
    pub(crate) fn write(&self, path: &str, content: impl AsRef<[u8]>) {
        let target = self.path(path);
        fs::create_dir_all(target.parent().unwrap()).unwrap();
        fs::write(target, content).unwrap();
    }

    /// Writes a file as many editors do: under another name first, which is then renamed.
    pub(crate) fn write_and_rename(&self, path: &str, content: impl AsRef<[u8]>) {
        let beside = format!("{path}.tmp");
        self.write(&beside, content);
        fs::rename(self.path(&beside), self.path(path)).unwrap();
    }

    /// Takes a file or a folder away.
    pub(crate) fn remove(&self, path: &str) {
        let target = self.path(path);
        if target.is_dir() { fs::remove_dir_all(target).unwrap() } else { fs::remove_file(target).unwrap() }
    }

    /// The place of a file.
    pub(crate) fn path(&self, path: &str) -> PathBuf {
        self.folder.path().join(path)
    }

    /// The text of a file.
    #[track_caller]
    pub(crate) fn read(&self, path: &str) -> String {
        fs::read_to_string(self.path(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
    }

    /// All files below a folder, without the program's own corner.
    pub(crate) fn tree(&self, path: &str) -> Tree {
        let mut tree = Tree::new();
        gather(&self.path(path), "", &mut tree);
        tree
    }

    /// The program with these arguments, to be run in this folder.
    pub(crate) fn program<'a>(&self, arguments: impl IntoIterator<Item = &'a str>) -> Program {
        let mut command = Command::new(env!("CARGO_BIN_EXE_tarebook"));
        command.args(arguments).current_dir(self.folder.path()).stdin(Stdio::null());
        for name in ["NO_COLOR", "CLICOLOR", "CLICOLOR_FORCE", "RAYON_NUM_THREADS"] {
            command.env_remove(name);
        }
        Program { command }
    }

    /// Runs the program with these arguments.
    pub(crate) fn run<'a>(&self, arguments: impl IntoIterator<Item = &'a str>) -> Done {
        self.program(arguments).run()
    }
}

fn gather(folder: &Path, prefix: &str, tree: &mut Tree) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries {
        let entry = entry.unwrap();
        let name = entry.file_name().into_string().unwrap();
        if name == ".tarebook" {
            continue;
        }
        let relative = format!("{prefix}{name}");
        if entry.path().is_dir() {
            gather(&entry.path(), &format!("{relative}/"), tree);
        } else {
            tree.insert(relative, fs::read(entry.path()).unwrap());
        }
    }
}

/// A run of the program in preparation.
#[must_use]
pub(crate) struct Program {
    command: Command,
}

impl Program {
    /// With a variable of the environment.
    pub(crate) fn environment(mut self, name: &str, value: &str) -> Program {
        self.command.env(name, value);
        self
    }

    /// Runs it to its end.
    pub(crate) fn run(mut self) -> Done {
        let output = self.command.output().unwrap();
        Done {
            status: output.status.code(),
            out: String::from_utf8(output.stdout).unwrap(),
            err: String::from_utf8(output.stderr).unwrap(),
        }
    }

    /// Starts it and lets it run, its standard output to be read.
    pub(crate) fn start(mut self) -> std::process::Child {
        self.command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn().unwrap()
    }
}

/// How a run ended.
#[must_use]
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Done {
    /// The exit status.
    pub(crate) status: Option<i32>,
    /// What was printed.
    pub(crate) out: String,
    /// What was complained.
    pub(crate) err: String,
}

impl Done {
    /// Asserts the exit status, with everything that was printed in the message.
    #[track_caller]
    pub(crate) fn ends_with(self, status: i32) -> Done {
        assert_eq!(self.status, Some(status), "printed:\n{}\ncomplained:\n{}", self.out, self.err);
        self
    }

    /// Asserts a part of the standard output.
    #[track_caller]
    pub(crate) fn says(self, part: &str) -> Done {
        assert!(self.out.contains(part), "no {part:?} in what was printed:\n{}\ncomplained:\n{}", self.out, self.err);
        self
    }

    /// Asserts a part of the standard error.
    #[track_caller]
    pub(crate) fn complains(self, part: &str) -> Done {
        assert!(self.err.contains(part), "no {part:?} in what was complained:\n{}\nprinted:\n{}", self.err, self.out);
        self
    }

    /// Asserts that nothing was complained.
    #[track_caller]
    pub(crate) fn complains_of_nothing(self) -> Done {
        assert_eq!(self.err, "", "printed:\n{}", self.out);
        self
    }

    /// What was printed.
    pub(crate) fn out(self) -> String {
        self.out
    }
}

/// Texts by path as the sources of a collection, sorted into their roles as a folder is.
pub(crate) fn sources<'a>(files: impl IntoIterator<Item = (&'a str, &'a str)>) -> Sources {
    let mut sources = Sources::default();
    for (path, text) in files {
        let (path, text): (Arc<str>, Arc<str>) = (path.into(), text.into());
        if &*path == SETTINGS_PATH {
            sources.settings = Some(text);
        } else if path.starts_with("materials/") {
            sources.materials.insert(path, text);
        } else if let Some(name) = path.strip_prefix("templates/") {
            sources.templates.insert(name.to_owned(), text);
        } else if path.ends_with(".corrections.toml") {
            sources.errata.insert(path, text);
        } else if path.ends_with(".md") {
            sources.notebooks.insert(path, text);
        } else {
            if tarebook::block::is_row_file(&path) {
                sources.row_files.insert(Arc::clone(&path), Ok(text));
            }
            sources.files.insert(path);
        }
    }
    sources
}

/// A collection of these texts.
pub(crate) fn collection<'a>(files: impl IntoIterator<Item = (&'a str, &'a str)>) -> Collection {
    let mut collection = Collection::new();
    collection.update(sources(files));
    collection
}

/// Everything that a collection gives: each page and data file, the index, the style sheet, and all findings as JSON.
/// A page that a template cannot make is there as the words of its finding.
pub(crate) fn everything(collection: &Collection) -> Tree {
    let mut tree = Tree::new();
    let mut put = |path: &str, rendered: Result<Vec<OutputFile>, Box<tarebook::report::Finding>>| match rendered {
        Ok(files) => tree.extend(files.into_iter().map(|file| (file.path, file.bytes))),
        Err(finding) => drop(tree.insert(path.to_owned(), finding.what.into_bytes())),
    };
    for path in collection.page_sources().into_iter().chain(collection.generated_pages()) {
        put(&path, collection.render(&path));
    }
    put("index", collection.render_index());
    put("shared", Ok(collection.shared_files().into()));
    let found = collection.findings();
    let findings = serde_json::to_value(findings_data(&found, &|path| collection.text_of(path))).unwrap();
    tree.insert("findings".to_owned(), serde_json::to_vec_pretty(&findings).unwrap());
    let linked: Vec<_> = collection.linked_files().into_iter().collect();
    tree.insert("linked files".to_owned(), linked.join("\n").into_bytes());
    tree
}

/// Asserts that two trees hold the same files with the same bytes, and shows the first difference as text.
#[track_caller]
pub(crate) fn assert_same(left: &Tree, right: &Tree) {
    if let Some(difference) = difference(left, right) {
        panic!("{difference}");
    }
}

/// The first difference of two trees in words.
pub(crate) fn difference(left: &Tree, right: &Tree) -> Option<String> {
    let names = |tree: &Tree| tree.keys().cloned().collect::<Vec<_>>();
    if names(left) != names(right) {
        return Some(format!("different files: {:?} and {:?}", names(left), names(right)));
    }
    let (name, one) = left.iter().find(|(name, bytes)| right.get(*name) != Some(bytes))?;
    let other = right.get(name)?;
    let at = one.iter().zip(other).take_while(|(a, b)| a == b).count();
    let around = |bytes: &[u8]| {
        let part = bytes.get(at.saturating_sub(120)..bytes.len().min(at + 120)).unwrap_or_default();
        String::from_utf8_lossy(part).into_owned()
    };
    Some(format!("{name} differs at byte {at}:\n--- one\n{}\n--- other\n{}", around(one), around(other)))
}

/// So many cases from a fixed seed, unless the environment says otherwise.
pub(crate) fn cases(number: u32) -> ProptestConfig {
    let usual = ProptestConfig::default();
    let rng_seed = match usual.rng_seed {
        RngSeed::Random => RngSeed::Fixed(1),
        fixed @ RngSeed::Fixed(_) => fixed,
    };
    let cases = if usual.cases == 256 { number } else { usual.cases };
    ProptestConfig { cases, rng_seed, failure_persistence: None, ..usual }
}

/// What the only block of a notebook comes to, its id being `a`; errors fail the test.
pub(crate) fn answer(body: &str) -> Answer {
    let text = format!("```{body}\n```\n");
    let collection = collection([("a.md", text.as_str())]);
    assert_eq!(collection.findings().iter().filter(|one| one.severity().word() == "error").count(), 0, "{text}");
    collection.answer("a").unwrap().clone()
}
