//! The body cut at its slots.

use super::{CLOSE, OPEN, Slot};

/// Cuts the HTML at its slot marks. A mark that cleaning moved or dropped is simply not there any more; one without the seal
/// is text of the author's and stays, made visible.
pub(super) fn cut(body: &str, seal: u64, known: &[Slot]) -> (Vec<String>, Vec<Slot>) {
    let seal = format!("{seal}.");
    let mut pieces = vec![String::new()];
    let mut slots = Vec::with_capacity(known.len());
    for (index, part) in body.split(OPEN).enumerate() {
        let slot_of = |number: &str| known.get(number.strip_prefix(&seal)?.parse::<usize>().ok()?);
        let mark = part.split_once(CLOSE).filter(|_| index > 0);
        match mark.and_then(|(number, text)| Some((slot_of(number)?, text))) {
            Some((slot, text)) => {
                slots.push(*slot);
                // The line that the mark took up is none where nothing may come to stand.
                let text = if *slot == Slot::Contents { text.strip_prefix('\n').unwrap_or(text) } else { text };
                pieces.push(text.to_owned());
            }
            None => {
                if let Some(last) = pieces.last_mut() {
                    if index > 0 {
                        last.push('\u{fffd}');
                    }
                    last.push_str(&part.replace(CLOSE, "\u{fffd}"));
                }
            }
        }
    }
    (pieces, slots)
}

/// Whether cleaning took something out, judged by the number of opening brackets of tags.
pub(super) fn lost_elements(before: &str, after: &str) -> bool {
    after.matches('<').count()
        < before.matches('<').count() - before.matches("<!--").count().min(before.matches('<').count())
}
