use super::*;
use std::collections::BTreeMap;
use std::error::Error;

type Outcome = Result<(), Box<dyn Error>>;

/// Publishes these files as one set.
fn publish(folder: &OutputFolder, files: &[(&str, &str)], keep: Keep) -> Result<Summary, OutputError> {
    let staging = folder.begin()?;
    for (relative, text) in files {
        staging.put(relative, text.as_bytes())?;
    }
    staging.commit(keep)
}

/// Every file below a folder, with its text; our own corner aside.
fn contents(root: &Path) -> io::Result<BTreeMap<String, String>> {
    let mut found = BTreeMap::new();
    let mut open = vec![root.to_path_buf()];
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(&folder)? {
            let path = entry?.path();
            if path.is_dir() {
                if path.file_name() != Some(OWN.as_ref()) {
                    open.push(path);
                }
            } else if let Ok(relative) = path.strip_prefix(root) {
                found.insert(relative.to_string_lossy().into_owned(), fs::read_to_string(&path)?);
            }
        }
    }
    Ok(found)
}

#[track_caller]
fn check(root: &Path, expected: &[(&str, &str)]) {
    let found = contents(root).unwrap_or_default();
    let expected: BTreeMap<String, String> =
        expected.iter().map(|(name, text)| ((*name).to_owned(), (*text).to_owned())).collect();
    assert_eq!(found, expected);
    for leftover in ["staging", "aside", "journal"] {
        assert!(!root.join(OWN).join(leftover).exists(), "{leftover} was left behind");
    }
}

#[test]
fn a_full_publish_writes_replaces_and_removes() -> Outcome {
    let home = tempfile::tempdir()?;
    let root = home.path().join("deep/pages");
    let folder = OutputFolder::open(&root)?;
    assert!(!root.exists());
    let summary =
        publish(&folder, &[("index.html", "one"), ("soap/bar.html", "two"), ("style.css", "x")], Keep::OnlyThese)?;
    assert_eq!(summary, Summary { written: 3, bytes: 7, ..Summary::default() });
    check(&root, &[("index.html", "one"), ("soap/bar.html", "two"), ("style.css", "x")]);

    let summary = publish(&folder, &[("index.html", "ONE"), ("style.css", "x")], Keep::OnlyThese)?;
    assert_eq!(summary, Summary { written: 1, unchanged: 1, removed: 1, bytes: 3, left: Vec::new() });
    check(&root, &[("index.html", "ONE"), ("style.css", "x")]);
    assert!(!root.join("soap").exists());

    let again = publish(&OutputFolder::open(&root)?, &[("index.html", "ONE"), ("style.css", "x")], Keep::OnlyThese)?;
    assert_eq!(again, Summary { unchanged: 2, ..Summary::default() });
    Ok(())
}

#[test]
fn a_partial_rebuild_keeps_the_others() -> Outcome {
    let home = tempfile::tempdir()?;
    let folder = OutputFolder::open(home.path())?;
    publish(&folder, &[("a.html", "a"), ("b.html", "b"), ("c/c.html", "c")], Keep::OnlyThese)?;
    let staging = folder.begin()?;
    assert_eq!(staging.put("b.html", b"B")?, Change::Written);
    assert_eq!(staging.put("a.html", b"a")?, Change::Unchanged);
    staging.removed("c/c.html");
    staging.removed("unknown.html");
    let summary = staging.commit(Keep::Others)?;
    assert_eq!(summary, Summary { written: 1, unchanged: 1, removed: 1, bytes: 1, left: Vec::new() });
    check(home.path(), &[("a.html", "a"), ("b.html", "B")]);
    // The manifest still knows the page that was only kept.
    publish(&folder, &[("b.html", "B")], Keep::OnlyThese)?;
    check(home.path(), &[("b.html", "B")]);
    Ok(())
}

#[test]
fn unchanged_files_are_not_touched() -> Outcome {
    let home = tempfile::tempdir()?;
    let folder = OutputFolder::open(home.path())?;
    publish(&folder, &[("a.html", "a")], Keep::OnlyThese)?;
    let manifest = home.path().join(OWN).join("manifest");
    let before = (fs::metadata(home.path().join("a.html"))?.modified()?, fs::metadata(&manifest)?.modified()?);
    publish(&folder, &[("a.html", "a")], Keep::OnlyThese)?;
    assert_eq!(before, (fs::metadata(home.path().join("a.html"))?.modified()?, fs::metadata(&manifest)?.modified()?));
    Ok(())
}

#[test]
fn an_abandoned_publish_leaves_no_trace() -> Outcome {
    let home = tempfile::tempdir()?;
    let root = home.path().join("deep/pages");
    let folder = OutputFolder::open(&root)?;
    let staging = folder.begin()?;
    staging.put("a.html", b"a")?;
    staging.abandon();
    assert_eq!(fs::read_dir(home.path())?.count(), 0);

    publish(&folder, &[("a.html", "a")], Keep::OnlyThese)?;
    let staging = folder.begin()?;
    staging.put("a.html", b"changed")?;
    drop(staging);
    check(&root, &[("a.html", "a")]);
    Ok(())
}

#[test]
fn a_foreign_folder_is_refused() -> Outcome {
    let home = tempfile::tempdir()?;
    fs::write(home.path().join("letter.txt"), "mine")?;
    assert!(matches!(OutputFolder::open(home.path()), Err(OutputError::NotOurs { .. })));
    assert!(matches!(OutputFolder::open(&home.path().join("letter.txt")), Err(OutputError::NotOurs { .. })));
    Ok(())
}

#[test]
fn foreign_files_survive_and_block() -> Outcome {
    let home = tempfile::tempdir()?;
    let folder = OutputFolder::open(home.path())?;
    publish(&folder, &[("a.html", "a"), ("b/b.html", "b")], Keep::OnlyThese)?;
    fs::write(home.path().join("notes.txt"), "mine")?;
    fs::write(home.path().join("b/photo.txt"), "mine")?;
    publish(&folder, &[("a.html", "A")], Keep::OnlyThese)?;
    check(home.path(), &[("a.html", "A"), ("notes.txt", "mine"), ("b/photo.txt", "mine")]);

    let blocked = publish(&folder, &[("a.html", "new"), ("notes.txt", "page")], Keep::OnlyThese);
    assert!(matches!(blocked, Err(OutputError::Foreign { .. })));
    let blocked = publish(&folder, &[("a.html", "new"), ("notes.txt/x.html", "page")], Keep::OnlyThese);
    assert!(matches!(blocked, Err(OutputError::Foreign { .. })));
    let blocked = publish(&folder, &[("a.html", "new"), ("b", "page")], Keep::OnlyThese);
    assert!(matches!(blocked, Err(OutputError::Foreign { .. })));
    check(home.path(), &[("a.html", "A"), ("notes.txt", "mine"), ("b/photo.txt", "mine")]);
    Ok(())
}

#[test]
fn a_page_somebody_edited_is_not_removed() -> Outcome {
    let home = tempfile::tempdir()?;
    let folder = OutputFolder::open(home.path())?;
    publish(&folder, &[("a.html", "a"), ("b.html", "b")], Keep::OnlyThese)?;
    fs::write(home.path().join("b.html"), "e")?;
    let summary = publish(&folder, &[("a.html", "a")], Keep::OnlyThese)?;
    assert_eq!(summary.left, ["b.html"]);
    check(home.path(), &[("a.html", "a"), ("b.html", "e")]);
    Ok(())
}

#[test]
fn files_and_folders_may_change_places() -> Outcome {
    let home = tempfile::tempdir()?;
    let folder = OutputFolder::open(home.path())?;
    publish(&folder, &[("a", "file"), ("b/one.html", "1"), ("b/c/two.html", "2")], Keep::OnlyThese)?;
    publish(&folder, &[("a/b.html", "inside"), ("b", "file")], Keep::OnlyThese)?;
    check(home.path(), &[("a/b.html", "inside"), ("b", "file")]);
    Ok(())
}

#[cfg(unix)]
#[test]
fn links_are_not_followed_out_of_the_folder() -> Outcome {
    let home = tempfile::tempdir()?;
    let root = home.path().join("pages");
    let elsewhere = home.path().join("elsewhere");
    let folder = OutputFolder::open(&root)?;
    publish(&folder, &[("a/a.html", "a")], Keep::OnlyThese)?;
    fs::rename(root.join("a"), &elsewhere)?;
    std::os::unix::fs::symlink(&elsewhere, root.join("a"))?;
    assert!(matches!(publish(&folder, &[("a/a.html", "b")], Keep::OnlyThese), Err(OutputError::Foreign { .. })));
    assert_eq!(publish(&folder, &[("x.html", "x")], Keep::OnlyThese)?.left, ["a/a.html"]);
    assert_eq!(fs::read_to_string(elsewhere.join("a.html"))?, "a");
    Ok(())
}

#[test]
fn a_failing_step_is_taken_back() -> Outcome {
    let home = tempfile::tempdir()?;
    let folder = OutputFolder::open(home.path())?;
    let old = [("a.html", "a"), ("b/b.html", "b"), ("z.html", "z")];
    publish(&folder, &old, Keep::OnlyThese)?;
    let manifest = fs::read_to_string(home.path().join(OWN).join("manifest"))?;
    let staging = folder.begin()?;
    for relative in ["a.html", "c/new.html", "z.html"] {
        staging.put(relative, b"changed")?;
    }
    // The third staged file vanishes, so the commit fails after the removal and two moves.
    fs::remove_file(staging.staged(2))?;
    assert!(matches!(staging.commit(Keep::OnlyThese), Err(OutputError::Io { .. })));
    check(home.path(), &old);
    assert!(!home.path().join("c").exists());
    assert_eq!(fs::read_to_string(home.path().join(OWN).join("manifest"))?, manifest);
    Ok(())
}

/// Commits, but ends after some steps as if the program had been killed: nothing is taken back or cleared away.
fn die_after(mut staging: Staging<'_>, n_steps: usize) -> Outcome {
    let mut plan = staging.plan(Keep::OnlyThese)?;
    plan.journal.write(&staging.folder.own("journal"))?;
    let is_whole = plan.journal.steps.len() <= n_steps;
    plan.journal.steps.truncate(n_steps);
    let journal = fs::read(staging.folder.own("journal"))?;
    staging.apply(plan)?;
    // The journal is gone after `apply`; for a death before that moment it is laid back.
    if !is_whole {
        fs::write(staging.folder.own("journal"), journal)?;
    }
    staging.lock.unlock()?;
    staging.finished = true;
    std::mem::forget(staging);
    Ok(())
}

#[test]
fn the_next_publish_undoes_one_that_died() -> Outcome {
    let old = [("a.html", "a"), ("b/b.html", "b"), ("z.html", "z")];
    let new = [("a.html", "A"), ("c/new.html", "N"), ("z.html", "Z")];
    for n_steps in 0..=5 {
        let home = tempfile::tempdir()?;
        let folder = OutputFolder::open(home.path())?;
        publish(&folder, &old, Keep::OnlyThese)?;
        let staging = folder.begin()?;
        for (relative, text) in new {
            staging.put(relative, text.as_bytes())?;
        }
        die_after(staging, n_steps)?;
        OutputFolder::open(home.path())?.begin()?.abandon();
        check(home.path(), if n_steps < 5 { &old } else { &new });
    }
    Ok(())
}

#[test]
fn a_first_publish_that_died_is_undone() -> Outcome {
    let home = tempfile::tempdir()?;
    let folder = OutputFolder::open(home.path())?;
    let staging = folder.begin()?;
    staging.put("a.html", b"a")?;
    staging.put("b.html", b"b")?;
    die_after(staging, 1)?;
    assert!(home.path().join("a.html").exists());
    OutputFolder::open(home.path())?.begin()?.abandon();
    assert_eq!(fs::read_dir(home.path())?.count(), 0);
    Ok(())
}

#[test]
fn two_publishes_do_not_mix() -> Outcome {
    let home = tempfile::tempdir()?;
    let folder = OutputFolder::open(home.path())?;
    let first = folder.begin()?;
    assert!(matches!(folder.begin(), Err(OutputError::Busy { .. })));
    first.put("a.html", b"a")?;
    first.commit(Keep::OnlyThese)?;
    folder.begin()?.abandon();
    check(home.path(), &[("a.html", "a")]);
    Ok(())
}

#[test]
fn names_that_lead_astray_are_refused() -> Outcome {
    let home = tempfile::tempdir()?;
    let folder = OutputFolder::open(home.path())?;
    for name in
        ["", "/etc/x", "a//b", "../x", "a/../b", "a/.", "./a", "a\\b", "a/", ".tarebook/x", "a/.Tarebook", "a\nb"]
    {
        let staging = folder.begin()?;
        assert!(matches!(staging.put(name, b""), Err(OutputError::Name { .. })), "{name:?} was accepted");
        assert!(matches!(staging.commit(Keep::OnlyThese), Err(OutputError::Unfinished { .. })));
    }
    Ok(())
}

#[test]
fn names_that_exclude_each_other_are_refused() -> Outcome {
    let home = tempfile::tempdir()?;
    let folder = OutputFolder::open(home.path())?;
    for (one, other) in [("a.html", "a.html"), ("Öl.html", "öl.html")] {
        let staging = folder.begin()?;
        staging.put(one, b"")?;
        assert!(matches!(staging.put(other, b""), Err(OutputError::Collision { .. })));
    }
    let nested = publish(&folder, &[("a", ""), ("A/b.html", "")], Keep::OnlyThese);
    assert!(matches!(nested, Err(OutputError::Collision { .. })));
    publish(&folder, &[("a.html", "a")], Keep::OnlyThese)?;
    assert!(matches!(publish(&folder, &[("A.html", "a")], Keep::Others), Err(OutputError::Collision { .. })));
    publish(&folder, &[("A.html", "b")], Keep::OnlyThese)?;
    check(home.path(), &[("A.html", "b")]);
    Ok(())
}

#[test]
fn a_damaged_manifest_is_reported() -> Outcome {
    let home = tempfile::tempdir()?;
    let folder = OutputFolder::open(home.path())?;
    publish(&folder, &[("a.html", "a")], Keep::OnlyThese)?;
    let path = home.path().join(OWN).join("manifest");
    let whole = fs::read_to_string(&path)?;
    let half = whole.get(..whole.len() / 2).ok_or("shorter than expected")?.to_owned();
    let outside = whole.replace("a.html", "../a.html");
    for text in [String::new(), half, outside] {
        fs::write(&path, text)?;
        assert!(matches!(OutputFolder::open(home.path()), Err(OutputError::Manifest { .. })));
    }
    Ok(())
}

#[test]
fn many_threads_put_at_once() -> Outcome {
    let home = tempfile::tempdir()?;
    let folder = OutputFolder::open(home.path())?;
    let staging = folder.begin()?;
    std::thread::scope(|scope| {
        let workers: Vec<_> = (0..8)
            .map(|worker| {
                let staging = &staging;
                scope.spawn(move || {
                    (0..50).try_for_each(|n| {
                        staging.put(&format!("{worker}/{n}.html"), format!("{worker} {n}").as_bytes()).map(drop)
                    })
                })
            })
            .collect();
        workers.into_iter().try_for_each(|worker| worker.join().unwrap_or(Ok(())))
    })?;
    assert_eq!(staging.commit(Keep::OnlyThese)?.written, 400);
    let found = contents(home.path())?;
    assert_eq!(found.len(), 400);
    assert_eq!(found.get("7/49.html").map(String::as_str), Some("7 49"));
    Ok(())
}

#[test]
fn content_hashes_stay_the_same() {
    assert_eq!(content_hash(b""), 0xcbf2_9ce4_8422_2325);
    assert_eq!(content_hash(b"a"), 0xaf63_dc4c_8601_ec8c);
    // One bit in the top byte of two neighbouring words must not cancel out.
    let mut flipped = [0_u8; 24];
    let plain = flipped;
    for at in [7, 15] {
        if let Some(byte) = flipped.get_mut(at) {
            *byte ^= 0x80;
        }
    }
    assert_ne!(content_hash(&plain), content_hash(&flipped));
}

#[test]
fn errors_are_plain_sentences() {
    let error = OutputError::Foreign { path: PathBuf::from("pages/a.html") };
    assert_eq!(
        error.to_string(),
        "pages/a.html is in the way of a page and was not written by tarebook. Move it away, or publish into another folder."
    );
}
