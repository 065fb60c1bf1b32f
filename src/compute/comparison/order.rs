//! What changed in an ingredient declaration: names that come and go, and those that stand elsewhere among the ones that stay.

use std::collections::BTreeSet;

/// A change of an ingredient declaration.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum OrderChange {
    /// A name that was not there.
    Comes(String),
    /// A name that is there no more.
    Goes(String),
    /// A name that stands elsewhere; its places counted from one.
    Moves {
        /// The name.
        name: String,
        /// Its place before.
        from: usize,
        /// Its place after.
        to: usize,
    },
}

/// What changed from one list to another. As few names as can be are said to have moved: those outside a longest run that kept its order.
pub fn between(before: &[String], after: &[String]) -> Vec<OrderChange> {
    let mut changes = Vec::new();
    let place = |list: &[String], name: &String| list.iter().position(|known| known == name);
    changes.extend(before.iter().filter(|name| !after.contains(name)).cloned().map(OrderChange::Goes));
    changes.extend(after.iter().filter(|name| !before.contains(name)).cloned().map(OrderChange::Comes));
    let stay: Vec<(usize, usize)> =
        after.iter().enumerate().filter_map(|(to, name)| Some((place(before, name)?, to))).collect();
    let kept = longest_rising(&stay.iter().map(|(from, _)| *from).collect::<Vec<_>>());
    for (index, (from, to)) in stay.iter().enumerate() {
        if let Some(name) = after.get(*to).filter(|_| !kept.contains(&index)) {
            changes.push(OrderChange::Moves { name: name.clone(), from: from + 1, to: to + 1 });
        }
    }
    changes
}

/// The places of a longest rising run, by the plain method: lists of ingredients are short.
fn longest_rising(numbers: &[usize]) -> BTreeSet<usize> {
    let mut best: Vec<Vec<usize>> = Vec::new();
    for (index, number) in numbers.iter().enumerate() {
        let rises =
            |run: &&Vec<usize>| run.last().and_then(|last| numbers.get(*last)).is_some_and(|last| last < number);
        let mut run = best.iter().filter(rises).max_by_key(|run| run.len()).cloned().unwrap_or_default();
        run.push(index);
        best.push(run);
    }
    best.into_iter().max_by_key(Vec::len).unwrap_or_default().into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(before: &str, after: &str, expected: &[&str]) {
        let list = |text: &str| text.split_whitespace().map(str::to_owned).collect::<Vec<_>>();
        let words: Vec<String> = between(&list(before), &list(after))
            .iter()
            .map(|change| match change {
                OrderChange::Comes(name) => format!("+{name}"),
                OrderChange::Goes(name) => format!("-{name}"),
                OrderChange::Moves { name, from, to } => format!("{name} {from}>{to}"),
            })
            .collect();
        assert_eq!(words, expected);
    }

    #[test]
    fn names_come_and_go_without_moving_the_others() {
        check("a b c", "a b c", &[]);
        check("a b c", "a c", &["-b"]);
        check("a c", "a b c", &["+b"]);
        check("", "a", &["+a"]);
    }

    #[test]
    fn only_what_left_its_neighbours_has_moved() {
        check("a b c d e", "a e b c d", &["e 5>2"]);
        check("a b c d", "b c a x d", &["+x", "a 1>3"]);
    }
}
