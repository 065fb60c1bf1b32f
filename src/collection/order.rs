//! The order of notebooks: as the settings list them, then by path, those of the top folder first.

use super::{INDEX_NOTEBOOK, SETTINGS_PATH, Sources};
use crate::model::Settings;
use crate::report::{Finding, Place, echo, kind, suggestion};
use std::sync::Arc;

/// Every notebook but the index, in the order they are listed and followed.
pub(super) fn arrange_notebooks<'a>(settings: &Settings, paths: impl Iterator<Item = &'a Arc<str>>) -> Vec<Arc<str>> {
    let mut order: Vec<Arc<str>> = paths.filter(|path| &***path != INDEX_NOTEBOOK).cloned().collect();
    let listed = |path: &str| settings.order.iter().position(|known| known.value == path).unwrap_or(usize::MAX);
    let folder = |path: &str| path.rsplit_once('/').map_or(String::new(), |(folder, _)| folder.to_owned());
    order.sort_by_cached_key(|path| (folder(path), listed(path), Arc::clone(path)));
    order
}

/// Paths in `order` that are no notebooks.
pub(super) fn missing_in_order(settings: &Settings, sources: &Sources) -> Vec<Finding> {
    settings
        .order
        .iter()
        .filter(|path| !sources.notebooks.contains_key(path.value.as_str()))
        .map(|path| {
            let place = Place { path: SETTINGS_PATH.into(), span: path.place.span.clone() };
            Finding::new(
                kind::BROKEN_LINK,
                place,
                format!("`{}` is not a notebook of this collection.", echo(&path.value)),
            )
            .because("`order` lists the notebooks as they follow each other.")
            .mend(suggestion(
                &path.value,
                sources.notebooks.keys().map(|path| &**path),
                "Write the path from the collection's folder, with its ending.",
            ))
        })
        .collect()
}
