//! The file that a request asks for, which never lies outside the folder.

use std::path::{Component, Path, PathBuf};

/// What lies at the path of a request.
pub(super) enum Found {
    File(PathBuf),
    FolderWithoutSlash,
    Nothing,
}

/// Finds the file for the path of a request. What is outside the folder, hidden, or no plain file counts as not there.
pub(super) fn find(folder: &Path, path: &str) -> Found {
    let Some(relative) = decode(path) else { return Found::Nothing };
    // Links are resolved before the comparison, so one that leads out is found out.
    let Ok(root) = folder.canonicalize() else { return Found::Nothing };
    let Ok(mut target) = root.join(relative).canonicalize() else { return Found::Nothing };
    if target.is_dir() {
        if !path.ends_with('/') {
            return if is_inside(&root, &target) { Found::FolderWithoutSlash } else { Found::Nothing };
        }
        match target.join("index.html").canonicalize() {
            Ok(index) => target = index,
            Err(_) => return Found::Nothing,
        }
    } else if path.ends_with('/') {
        return Found::Nothing;
    }
    // `is_file` also keeps from opening a pipe, which would wait for ever.
    if is_inside(&root, &target) && target.is_file() { Found::File(target) } else { Found::Nothing }
}

fn is_inside(root: &Path, target: &Path) -> bool {
    target.strip_prefix(root).is_ok_and(|inside| {
        inside.components().all(|component| match component {
            Component::Normal(name) => !name.as_encoded_bytes().starts_with(b"."),
            Component::Prefix(_) | Component::RootDir | Component::CurDir | Component::ParentDir => false,
        })
    })
}

/// Turns the path of a request into a relative path of plain, visible names; none if it is anything else.
fn decode(path: &str) -> Option<PathBuf> {
    let mut relative = PathBuf::new();
    let inner = path.strip_prefix('/')?;
    // One slash at the end names a folder. Empty names anywhere else are refused.
    let inner = inner.strip_suffix('/').unwrap_or(inner);
    if inner.is_empty() {
        return (path == "/").then_some(relative);
    }
    for part in inner.split('/') {
        let name = percent_decode(part)?;
        if name.is_empty() || name.starts_with('.') || name.contains(['/', '\\', '\0']) {
            return None;
        }
        // A drive letter, where there are such, is not a plain name either.
        let mut components = Path::new(&name).components();
        if !matches!((components.next(), components.next()), (Some(Component::Normal(_)), None)) {
            return None;
        }
        relative.push(name);
    }
    Some(relative)
}

fn percent_decode(part: &str) -> Option<String> {
    let mut bytes = Vec::with_capacity(part.len());
    let mut rest = part.bytes();
    while let Some(byte) = rest.next() {
        if byte == b'%' {
            let high = char::from(rest.next()?).to_digit(16)?;
            let low = char::from(rest.next()?).to_digit(16)?;
            bytes.push(u8::try_from(high * 16 + low).ok()?);
        } else {
            bytes.push(byte);
        }
    }
    String::from_utf8(bytes).ok()
}
