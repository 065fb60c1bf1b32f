//! Plain words of the prose, for titles and summaries, in which the numbers of calc links are still open.

/// Marks around the number of a calc link. Both are noncharacters; a text that holds them is cleaned when it is gathered.
const OPEN: char = '\u{fdd0}';
const CLOSE: char = '\u{fdd1}';

/// Text with places for computed numbers.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Words(String);

impl Words {
    /// Words without any number.
    pub fn plain(text: &str) -> Words {
        let mut words = Words::default();
        words.push_text(text);
        words
    }

    /// Whether there are no words.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Goes on with text.
    pub(crate) fn push_text(&mut self, text: &str) {
        self.0.extend(text.chars().map(|c| if c == OPEN || c == CLOSE { '\u{fffd}' } else { c }));
    }

    /// Goes on with the number of a calc link, by its index among the notebook's.
    pub(crate) fn push_number(&mut self, index: usize) {
        self.0.push_str(&format!("{OPEN}{index}{CLOSE}"));
    }

    /// Without space at its ends.
    pub(crate) fn trimmed(&self) -> Words {
        Words(self.0.trim().to_owned())
    }

    /// The first sentence; a long one is cut at a word.
    pub(crate) fn first_sentence(&self) -> Words {
        const LONGEST: usize = 200;
        let text = self.0.trim();
        let end = text.char_indices().find_map(|(index, character)| {
            let next = text.get(index + character.len_utf8()..)?;
            (matches!(character, '.' | '?') && (next.is_empty() || next.starts_with(' '))).then_some(index + 1)
        });
        let sentence = text.get(..end.unwrap_or(text.len())).unwrap_or(text);
        if sentence.chars().count() <= LONGEST {
            return Words(sentence.to_owned());
        }
        let cut: String = sentence.chars().take(LONGEST).collect();
        // A number's place holds no space, so a cut at a space never goes through one.
        let at_word = cut.rfind(' ').unwrap_or(0);
        Words(format!("{} …", cut.get(..at_word).unwrap_or(&cut)))
    }

    /// The words with each number as `number` gives it.
    pub fn filled(&self, number: impl Fn(usize) -> String) -> String {
        let mut parts = self.0.split(OPEN);
        let mut out = parts.next().unwrap_or_default().to_owned();
        for part in parts {
            let (index, rest) = part.split_once(CLOSE).unwrap_or((part, ""));
            if let Ok(index) = index.parse::<usize>() {
                out.push_str(&number(index));
            }
            out.push_str(rest);
        }
        out
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_filled_in() {
        let mut words = Words::plain("It holds ");
        words.push_number(0);
        words.push_text(" of it. More.");
        assert_eq!(words.first_sentence().filled(|index| format!("<{index}>")), "It holds <0> of it.");
    }

    #[test]
    fn marks_in_the_text_are_no_numbers() {
        assert_eq!(Words::plain("\u{fdd0}0\u{fdd1}").filled(|_| "number".to_owned()), "\u{fffd}0\u{fffd}");
    }
}
