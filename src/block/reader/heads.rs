//! Keys that stand below the head of a table and belong to it for TOML, although they are keys of what is above.
//!
//! Everything below `[packaging]` is part of that table until the next head. Where the author chooses the names of a table, a key of the block would
//! become one of them in silence: overheads would be a packaging of each unit. So such a key is an error wherever it stands below a head.

use super::{Cutting, Placed};
use crate::report::{Finding, Place, echo, kind};
use std::cell::RefCell;
use std::ops::Range;
use std::rc::Rc;

/// A table, the keys that its reader asked for, and the table that it stands in.
pub(super) struct Level {
    /// The bytes of its head, or of the table between braces; nothing where it has neither.
    span: Range<usize>,
    asked: RefCell<Vec<&'static str>>,
    above: Option<Rc<Level>>,
}

impl Level {
    pub(super) fn new(span: Range<usize>, above: Option<Rc<Level>>) -> Rc<Level> {
        Rc::new(Level { span, asked: RefCell::default(), above })
    }

    pub(super) fn ask(&self, key: &'static str) {
        self.asked.borrow_mut().push(key);
    }

    pub(super) fn asked(&self) -> Vec<&'static str> {
        self.asked.borrow().clone()
    }

    /// `[packaging]`, where it has a head; a table between braces is closed where it ends, so nothing falls into it unseen.
    pub(super) fn head<'c>(&self, cutting: &'c Cutting) -> Option<&'c str> {
        cutting.text.get(self.span.clone()).map(str::trim).filter(|text| text.starts_with('[') && text.ends_with(']'))
    }

    /// The nearest table that it stands in and that has this key.
    pub(super) fn meant(&self, key: &str) -> Option<Rc<Level>> {
        let above = self.above.as_ref()?;
        if above.asked.borrow().contains(&key) { Some(Rc::clone(above)) } else { above.meant(key) }
    }
}

/// A key below a head that the reader of the table did not ask for by its name.
pub(super) struct Below {
    pub(super) key: Placed<String>,
    /// From the key to the end of its value.
    pub(super) entry: Place,
    pub(super) level: Rc<Level>,
    /// What is wrong where it is no key of what is above: nothing where the author chooses the names.
    pub(super) otherwise: Option<Finding>,
}

impl Below {
    /// What is to be said, when all keys of what is above are known.
    pub(super) fn finding(&self, cutting: &Cutting) -> Option<Finding> {
        match self.swallowed(cutting) {
            Some(finding) => Some(finding),
            None => self.otherwise.clone(),
        }
    }

    /// Whether the finding is about what stands here.
    pub(super) fn holds(&self, place: &Place) -> bool {
        let Range { start, end } = self.entry.span;
        place.path == self.entry.path && start <= place.span.start && place.span.start < end
    }

    /// The error, where it is a key of what is above.
    pub(super) fn swallowed(&self, cutting: &Cutting) -> Option<Finding> {
        let meant = self.level.meant(&self.key.value)?;
        let (key, here) = (echo(&self.key.value), echo(self.level.head(cutting)?));
        let whole = if cutting.is_whole_file() { "the file" } else { "the block" };
        let (owner, mend) = match (meant.head(cutting), &meant.above) {
            (Some(head), _) => {
                let head = echo(head);
                (format!("`{head}`"), format!("Move the line up to those below `{head}`, above `{here}`."))
            }
            (None, None) => {
                (whole.to_owned(), format!("Move the line up, above `{here}` and every other head in square brackets."))
            }
            // `[measured.ph]` makes a table `measured` that has no head of its own yet.
            (None, Some(_)) => match here.trim_matches(['[', ']']).rsplit_once('.') {
                Some((around, _)) => {
                    let head = format!("[{around}]");
                    (format!("`{head}`"), format!("Write `{head}` above `{here}`, and the line between the two."))
                }
                None => ("the table around it".to_owned(), format!("Move the line up, above `{here}`.")),
            },
        };
        let what = format!("`{key}` stands below `{here}` and so belongs to it, but it is a key of {owner}.");
        let mend = match self.otherwise {
            Some(_) => mend,
            None => format!("{mend} If it is a name of your own, give it another."),
        };
        Some(Finding::new(kind::KEY_BELOW_HEAD, self.key.place.clone(), what).mend(mend))
    }
}
