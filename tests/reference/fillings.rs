//! Packs, reached through `filling` blocks. The table of tolerable errors is checked row by row beside its code.

use super::{Blocks, check, d};
use tarebook::compute::Value;

/// Supplier technical data, packaging pages on standard and overflow capacity: a bottle of 8 US fl oz (236.59 ml) holds 265 ml to the brim and takes
/// 250 ml; one of 100 ml holds 135 ml and takes 110 ml. The room and the weights, at an assumed 1.03 g/ml, are arithmetic on these figures.
#[test]
fn bottles_to_the_brim() {
    for (capacity, content, headspace, weight) in [("265", "250", "5.7", "257.5"), ("135", "110", "18.5", "113.3")] {
        let blocks = Blocks::of(&format!(
            "```filling\nid = \"bottle\"\nbulk = \"10 kg\"\ncontent = \"{content} ml\"\ncapacity = \"{capacity} ml\"\n\
             density = \"1.03 g/ml\"\ndensity-at = \"20 °C\"\n```\n"
        ));
        check(blocks.figure("bottle/headspace"), headspace);
        check(blocks.figure("bottle/fill"), weight);
    }
}

/// The same pages: 236.59 ml are 8 US fluid ounces. NIST Handbook 44, Appendix C: 1 oz is 28.349 523 125 g and 1 US fluid ounce 29.573 529 562 5 ml
/// exactly, so 100 g are 3.527… oz and 250 ml are 8.453… fl oz; rounded down to three digits.
#[test]
fn net_contents_in_both_units() {
    for (content, label) in [
        ("236.59 ml", "8 fl oz"),
        ("250 ml", "8.45 fl oz"),
        ("100 g", "3.52 oz"),
        ("5 g", "0.176 oz"),
        ("500 ml", "16.9 fl oz"),
    ] {
        let bulk = if content.ends_with('g') { "10 kg" } else { "10 l" };
        let blocks = Blocks::of(&format!("```filling\nid = \"a\"\nbulk = \"{bulk}\"\ncontent = \"{content}\"\n```\n"));
        let figure = blocks.collection.answer("a").unwrap().look_up("a", &["label", "us"]).unwrap();
        assert_eq!(
            figure.value,
            Value::Text(format!("{} ({})", label.replacen(' ', "\u{a0}", 1), content.replace(' ', "\u{a0}")))
        );
    }
}

/// Council Directive 76/211/EEC, Annex I, 1.3 and 2.4, and Fertigpackungsverordnung § 9(4), which prints twice the tolerable error: 18 % from 5 to 50,
/// 9 from 50 to 100, 9 % from 100 to 200, 18 from 200 to 300, 6 % from 300 to 500, 30 from 500 to 1000, 3 % above, all in g or ml.
#[test]
fn no_pack_is_short_by_twice_the_tolerable_error() {
    for (content, twice) in
        [("10", "1.8"), ("75", "9"), ("100", "9"), ("250", "18"), ("400", "24"), ("750", "30"), ("2000", "60")]
    {
        let blocks = Blocks::of(&format!("```filling\nid = \"a\"\nbulk = \"10 kg\"\ncontent = \"{content} g\"\n```\n"));
        assert_eq!(blocks.figure("a/lowest"), d(content) - d(twice));
        assert_eq!(blocks.figure("a/tolerable-error") * d("2"), d(twice));
    }
}
