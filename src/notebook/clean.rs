//! Cleaning of raw HTML by an allow-list, for collections that do not trust it.
//!
//! The `ammonia` crate parses the fragment as a browser would and keeps what is on the list. The list is the crate's own,
//! widened by what Markdown itself makes: ids of headings and footnotes, boxes of task lists, alignment of table cells.

use std::sync::LazyLock;

/// The only styles that Markdown itself sets, on cells of tables.
const ALIGNMENTS: [&str; 3] = ["text-align: left", "text-align: center", "text-align: right"];

static CLEANER: LazyLock<ammonia::Builder<'static>> = LazyLock::new(|| {
    let mut cleaner = ammonia::Builder::default();
    cleaner
        .add_tags(["input", "section"])
        .add_generic_attributes(["id", "lang", "dir"])
        .add_tag_attributes("input", ["type", "checked", "disabled", "aria-label"])
        .add_tag_attributes("td", ["style"])
        .add_tag_attributes("th", ["style", "scope"])
        .add_allowed_classes("div", ["footnote-definition"])
        .add_allowed_classes("sup", ["footnote-reference", "footnote-definition-label"])
        .add_allowed_classes("span", ["quoted"])
        .add_allowed_classes(
            "blockquote",
            [
                "markdown-alert-note",
                "markdown-alert-tip",
                "markdown-alert-important",
                "markdown-alert-warning",
                "markdown-alert-caution",
            ],
        )
        .add_tag_attributes("code", ["class"])
        .link_rel(None)
        .attribute_filter(|element, attribute, value| match (element, attribute) {
            // The only input Markdown makes is the box of a task list.
            ("input", "type") => (value == "checkbox").then(|| value.into()),
            (_, "style") => ALIGNMENTS.contains(&value).then(|| value.into()),
            ("code", "class") => value.starts_with("language-").then(|| value.into()),
            _ => Some(value.into()),
        });
    cleaner
});

/// The HTML without anything that is not on the list.
pub(crate) fn clean(html: &str) -> String {
    CLEANER.clean(html).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scripts_go_and_harmless_elements_stay() {
        assert_eq!(clean("<p>a<script>alert(1)</script><b onclick=x>b</b></p>"), "<p>a<b>b</b></p>");
        assert_eq!(clean("<a href=\"javascript:alert(1)\">x</a>"), "<a>x</a>");
        assert_eq!(clean("<td style=\"text-align: right\">"), "");
        let cell = |style: &str| format!("<table><tbody><tr><td{style}>a</td></tr></tbody></table>");
        assert_eq!(clean(&cell(" style=\"text-align: right\"")), cell(" style=\"text-align: right\""));
        assert_eq!(clean(&cell(" style=\"text-align: right; position: fixed\"")), cell(""));
    }

    #[test]
    fn slot_marks_survive() {
        let mark = "\u{fdd0}12\u{fdd1}";
        assert_eq!(clean(&format!("<p>a {mark} b</p>{mark}")), format!("<p>a {mark} b</p>{mark}"));
    }
}
