//! Lists of patterns that are found by the word they begin with.

use super::claims::{Form, Pattern, bucket};

/// Patterns by their first word, so that a word which begins none of them costs nearly nothing.
#[derive(Debug, Default)]
pub struct Patterns {
    all: Vec<Pattern>,
    /// For each pair of first letters the patterns that begin so, by index.
    by_letters: Vec<Vec<usize>>,
    /// Those that may begin with anything else: a number, a word of one letter, any word at all.
    others: Vec<usize>,
}

impl Patterns {
    pub(super) fn new(all: Vec<Pattern>) -> Patterns {
        let mut patterns = Patterns { all: Vec::new(), by_letters: vec![Vec::new(); 26 * 26], others: Vec::new() };
        for (index, pattern) in all.iter().enumerate() {
            let Some(first) = pattern.parts.first() else { continue };
            let letters = first.choices.iter().map(|choice| match choice.first() {
                Some(Form::Word(text) | Form::Beginning(text)) if first.between == 0 => bucket(text),
                _ => None,
            });
            // One choice that cannot be told by its letters puts the pattern among the others.
            match letters.collect::<Option<Vec<usize>>>() {
                None => patterns.others.push(index),
                Some(mut letters) => {
                    letters.sort_unstable();
                    letters.dedup();
                    for place in letters {
                        if let Some(list) = patterns.by_letters.get_mut(place) {
                            list.push(index);
                        }
                    }
                }
            }
        }
        patterns.all = all;
        patterns
    }

    /// The patterns that may begin with a word, a number or a mark.
    pub fn beginning_with(&self, word: &str) -> impl Iterator<Item = &Pattern> {
        let by_letters = bucket(word).and_then(|place| self.by_letters.get(place)).map_or(&[][..], Vec::as_slice);
        by_letters.iter().chain(&self.others).filter_map(|index| self.all.get(*index))
    }
}

#[cfg(test)]
mod tests {
    use super::super::claims::Part;
    use super::*;

    fn pattern(choices: &[&str], between: usize) -> Pattern {
        let forms = choices.iter().map(|word| match *word {
            "#" => vec![Form::Number],
            word => vec![Form::Word(word.to_owned())],
        });
        Pattern { promise: 0, parts: vec![Part { between, choices: forms.collect() }] }
    }

    #[test]
    fn no_pattern_is_lost_by_the_index() {
        let all = [
            pattern(&["usual"], 0),
            pattern(&["often", "usually"], 0),
            pattern(&["a"], 0),
            pattern(&["#"], 0),
            pattern(&["lots"], 2),
            pattern(&["per", "a"], 0),
        ];
        let patterns = Patterns::new(all.to_vec());
        let found = |word: &str| {
            let places = patterns.beginning_with(word).filter_map(|one| all.iter().position(|known| known == one));
            places.collect::<Vec<_>>()
        };
        assert_eq!(found("Usually"), [0, 1, 2, 3, 4, 5]);
        assert_eq!(found("often"), [1, 2, 3, 4, 5]);
        assert_eq!(found("12"), [2, 3, 4, 5]);
        assert_eq!(found("every"), [2, 3, 4, 5]);
    }
}
