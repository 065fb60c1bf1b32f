//! Markdown through the whole pipeline: the examples of the CommonMark specification (CommonMark Spec, version 0.31.2,
//! 2024-01-28, <https://spec.commonmark.org/0.31.2/>), the features beyond it, and what may never reach a page.
//!
//! The text of the specification is third-party and not part of this project. `tests/run` fetches the package that holds
//! it and says where in TAREBOOK_COMMONMARK_SPEC.

#![expect(clippy::disallowed_methods, reason = "the text of the specification is read from a file")]
#![expect(clippy::indexing_slicing, clippy::unwrap_used, reason = "what goes wrong here fails the test")]

use crate::support::collection;
use std::fmt::Write as _;

/// The body alone, so that it can be compared to the byte.
const BODY_ONLY: &str = "<main id=\"main\">\n{{ body | safe }}</main>";

/// The HTML of a notebook's body.
#[track_caller]
fn body_of(markdown: &str, trusted: bool) -> String {
    bodies_of(&[markdown], trusted).remove(0)
}

/// The HTML of the bodies of many notebooks, all in one collection.
#[track_caller]
fn bodies_of(notebooks: &[&str], trusted: bool) -> Vec<String> {
    let settings = format!("trust-html = {trusted}\n");
    let names: Vec<String> = (0..notebooks.len()).map(|index| format!("{index}.md")).collect();
    let files = [("collection.toml", settings.as_str()), ("templates/page.html", BODY_ONLY)];
    let notebooks = names.iter().map(String::as_str).zip(notebooks.iter().copied());
    let collection = collection(files.into_iter().chain(notebooks));
    names
        .iter()
        .map(|name| {
            let page = String::from_utf8(collection.render(name).unwrap().remove(0).bytes).unwrap();
            let (_, body) = page.split_once("<main id=\"main\">\n").unwrap();
            body.strip_suffix("</main>").unwrap().to_owned()
        })
        .collect()
}

/// Headings without the anchors that links lead to.
fn without_anchors(html: &str) -> String {
    let mut out = String::with_capacity(html.len());
    let mut rest = html;
    while let Some(index) = rest.find(" id=\"") {
        let (before, after) = rest.split_at(index);
        out.push_str(before);
        let is_heading = before.len() >= 3
            && before
                .get(before.len() - 3..)
                .is_some_and(|tag| tag.starts_with("<h") && tag.ends_with(char::is_numeric));
        match after.get(5..).and_then(|value| value.split_once('"')).filter(|_| is_heading) {
            Some((_, tail)) => rest = tail,
            None => {
                out.push_str(" id=\"");
                rest = after.get(5..).unwrap_or_default();
            }
        }
    }
    out.push_str(rest);
    out
}

/// Text with quotation marks as characters: the specification writes them as `&quot;`, which means the same outside a tag.
fn with_plain_quotes(html: &str) -> String {
    let mut out = String::with_capacity(html.len());
    for (index, part) in html.split('<').enumerate() {
        let (tag, text) = part.split_once('>').filter(|_| index > 0).unwrap_or(("", part));
        if index > 0 {
            out.push('<');
            out.push_str(tag);
            out.push('>');
        }
        out.push_str(&text.replace("&quot;", "\""));
    }
    out
}

struct Example {
    number: usize,
    markdown: String,
    html: String,
}

/// The examples of the specification: between fences of 32 backticks, Markdown and HTML parted by a line with a full stop,
/// tabs written as arrows (section "About this document").
fn examples(spec: &str) -> Vec<Example> {
    let fence = "`".repeat(32);
    let begin = format!("{fence} example");
    let mut examples = Vec::new();
    let mut lines = spec.lines();
    while let Some(line) = lines.next() {
        if line != begin {
            continue;
        }
        let mut parts = [String::new(), String::new()];
        let mut part = 0;
        for line in lines.by_ref().take_while(|line| *line != fence) {
            if line == "." && part == 0 {
                part = 1;
            } else {
                parts[part].push_str(&line.replace('→', "\t"));
                parts[part].push('\n');
            }
        }
        let [markdown, html] = parts;
        examples.push(Example { number: examples.len() + 1, markdown, html });
    }
    examples
}

/// Examples whose HTML differs on purpose, with what is given instead and why.
const DELIBERATE: &[(usize, &str, &str)] = &[
    (
        175,
        "<ul>\n<li><div>\n</li>\n<li>foo</li>\n</ul>\n",
        "a line break before raw HTML that begins a list item is left out; it means the same",
    ),
    (484, "<p><a href=\"./target.html\"></a></p>\n", "a link to a notebook becomes a link to its page"),
];

#[test]
fn the_examples_of_the_specification_give_the_specified_html() {
    let path = std::env::var("TAREBOOK_COMMONMARK_SPEC").unwrap_or_else(|_| {
        concat!(env!("CARGO_MANIFEST_DIR"), "/target/npm/node_modules/commonmark-spec/spec.txt").to_owned()
    });
    let spec = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{path}: {error}; run `tests/run`"));
    let examples = examples(&spec);
    assert_eq!(examples.len(), 652, "version 0.31.2 has 652 examples");
    let bodies = bodies_of(&examples.iter().map(|example| example.markdown.as_str()).collect::<Vec<_>>(), true);
    let mut failures = String::new();
    for (example, body) in examples.iter().zip(bodies) {
        let body = with_plain_quotes(&without_anchors(&body));
        let deliberate = DELIBERATE.iter().find(|(number, _, _)| *number == example.number);
        let expected = with_plain_quotes(deliberate.map_or(&example.html, |(_, html, _)| html));
        if body != expected {
            let _ = writeln!(
                failures,
                "example {}:\n{}--- expected\n{expected}--- got\n{body}",
                example.number, example.markdown
            );
        }
        if deliberate.is_some() {
            assert_ne!(expected, example.html, "example {} does not differ", example.number);
        }
    }
    assert!(failures.is_empty(), "{failures}");
}

/// Asserts the HTML of a notebook's body, trusted or not.
#[track_caller]
fn check(markdown: &str, expected: &str) {
    for trusted in [true, false] {
        assert_eq!(body_of(markdown, trusted), expected, "trust-html = {trusted}");
    }
}

/// GitHub Flavored Markdown Spec, version 0.29-gfm, section 4.10; examples of our own.
#[test]
fn tables() {
    check(
        "| water | glycerin |\n| --- | --: |\n| 97 | `3 | 5` |\n| *a* \\| b |\n",
        "<table><thead><tr><th>water</th><th style=\"text-align: right\">glycerin</th></tr></thead><tbody>\n\
         <tr><td>97</td><td style=\"text-align: right\">`3</td></tr>\n\
         <tr><td><em>a</em> | b</td><td style=\"text-align: right\"></td></tr>\n</tbody></table>\n",
    );
}

/// GitHub Flavored Markdown Spec, version 0.29-gfm, section 6.5.
#[test]
fn struck_out_text() {
    check("It holds ~~3~~ 5 parts.\n", "<p>It holds <del>3</del> 5 parts.</p>\n");
}

/// GitHub Flavored Markdown Spec, version 0.29-gfm, section 5.3.
#[test]
fn task_lists() {
    check(
        "- [x] weighed\n- [ ] stirred\n",
        "<ul>\n<li><input disabled=\"\" type=\"checkbox\" checked=\"\" aria-label=\"done\"/>\nweighed</li>\n\
         <li><input disabled=\"\" type=\"checkbox\" aria-label=\"done\"/>\nstirred</li>\n</ul>\n",
    );
}

#[test]
fn footnotes() {
    check(
        "Weigh it.[^scale]\n\n[^scale]: On the fine balance.\n",
        "<p>Weigh it.<sup class=\"footnote-reference\"><a href=\"#scale\">1</a></sup></p>\n\
         <div class=\"footnote-definition\" id=\"scale\"><sup class=\"footnote-definition-label\">1</sup>\n\
         <p>On the fine balance.</p>\n</div>\n",
    );
}

#[test]
fn definition_lists() {
    check(
        "Tare\n: The weight set to zero.\n\nLot\n: One delivery.\n",
        "<dl>\n<dt id=\"term-tare\">Tare</dt>\n<dd>The weight set to zero.</dd>\n<dt id=\"term-lot\">Lot</dt>\n<dd>One delivery.</dd>\n</dl>\n",
    );
}

#[test]
fn anchors_of_headings() {
    check(
        "# A wash\n\n## Step 1: weigh\n\n### Step 1: weigh\n\n## Später {#later}\n\n### Später\n\n[there](#later)\n",
        "<h1 id=\"a-wash\">A wash</h1>\n<h2 id=\"step-1-weigh\">Step 1: weigh</h2>\n\
         <h3 id=\"step-1-weigh-1\">Step 1: weigh</h3>\n<h2 id=\"later\">Später</h2>\n<h3 id=\"später\">Später</h3>\n\
         <p><a href=\"#later\">there</a></p>\n",
    );
}

#[test]
fn images() {
    check(
        "![two *jars*](jars.png \"on the bench\")\n",
        "<p><img src=\"jars.png\" alt=\"two jars\" title=\"on the bench\" /></p>\n",
    );
}

#[test]
fn other_fenced_code() {
    check(
        "```toml\nwater = \"q.s. to 100\" # <all>\n```\n\n~~~ text wide\n  a\n~~~\n",
        "<pre><code class=\"language-toml\">water = \"q.s. to 100\" # &lt;all&gt;\n</code></pre>\n\
         <pre><code class=\"language-text\">  a\n</code></pre>\n",
    );
}

#[test]
fn calc_links_in_code_stay_as_they_are() {
    check(
        "`[](calc:wash/water)` and\n\n    [](calc:wash/water)\n",
        "<p><code>[](calc:wash/water)</code> and</p>\n<pre><code>[](calc:wash/water)\n</code></pre>\n",
    );
}

/// A notebook with a formula, so that numbers and sheets stand in its page.
const WASH: &str = "```formula\nid = \"wash\"\n[phase.A]\nwater = \"q.s. to 100\"\nglycerin = 3\n```\n";

/// Asserts that the pages of these notebooks hold nothing that a browser would run, trusted or not. None has raw HTML.
#[track_caller]
fn check_harmless(notebooks: &[String]) {
    let texts: Vec<String> = notebooks.iter().map(|markdown| format!("{WASH}\n{markdown}")).collect();
    let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
    for trusted in [true, false] {
        for (body, markdown) in bodies_of(&texts, trusted).iter().zip(notebooks) {
            assert_eq!(danger(body), None, "{markdown:?}, trusted: {trusted}");
        }
    }
}

/// The first thing in some HTML that a browser would run: an element, an event handler, an address or a style that Markdown
/// does not make. A reader of tags of its own, so that the cleaning is not judged by itself.
pub(crate) fn danger(html: &str) -> Option<String> {
    let mut rest = html;
    while let Some((_, after)) = rest.split_once('<') {
        let (tag, text) = tag_of(after);
        rest = text;
        let tag_lower = tag.to_lowercase();
        let name: String = tag_lower.chars().take_while(|c| c.is_ascii_alphanumeric()).collect();
        if ["script", "iframe", "object", "embed", "style", "base", "form", "svg", "math", "meta", "link"]
            .contains(&name.as_str())
        {
            return Some(format!("<{tag}>"));
        }
        for (attribute, value) in attributes(tag) {
            let attribute = attribute.to_lowercase();
            let address: String = value.chars().filter(|c| !c.is_whitespace() && !c.is_control()).collect();
            let address = address.to_lowercase();
            let runs = ["javascript:", "vbscript:", "data:text", "data:image/svg", "blob:"];
            if attribute.starts_with("on")
                || attribute == "srcdoc"
                || (["href", "src", "action"].contains(&attribute.as_str())
                    && runs.iter().any(|scheme| address.starts_with(scheme)))
                || (attribute == "style"
                    && !["left", "center", "right"].iter().any(|side| value == format!("text-align: {side}")))
            {
                return Some(format!("{attribute}={value:?} in <{tag}>"));
            }
        }
    }
    None
}

/// What stands between the brackets of a tag, and what follows. A bracket inside quotation marks does not end it.
pub(crate) fn tag_of(text: &str) -> (&str, &str) {
    let mut quote = None;
    for (index, character) in text.char_indices() {
        match (quote, character) {
            (None, '>') => return (&text[..index], &text[index + 1..]),
            (None, '"' | '\'') => quote = Some(character),
            (Some(open), _) if open == character => quote = None,
            _ => {}
        }
    }
    (text, "")
}

/// The attributes of a tag with their values, entities of quotation marks and ampersands resolved.
pub(crate) fn attributes(tag: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    let mut rest = tag.split_once(char::is_whitespace).map_or("", |(_, rest)| rest);
    while let Some((name, after)) = rest.trim_start().split_once('=') {
        let name = name.split_whitespace().next_back().unwrap_or_default().to_owned();
        let after = after.trim_start();
        let (value, tail) = match after.chars().next() {
            Some(quote @ ('"' | '\'')) => after[1..].split_once(quote).unwrap_or((&after[1..], "")),
            _ => after.split_once(char::is_whitespace).unwrap_or((after, "")),
        };
        let value = ["&quot;", "&#39;", "&#x27;", "&lt;", "&gt;", "&amp;"]
            .iter()
            .zip(["\"", "'", "'", "<", ">", "&"])
            .fold(value.to_owned(), |value, (entity, character)| value.replace(entity, character));
        found.push((name, value));
        rest = tail;
    }
    found
}

#[test]
fn danger_is_seen() {
    for html in [
        "<p><script>a</script>",
        "<b title=\">\" OnClick=a>",
        "<a href=\"java&#39;\"><a href='JavaScript:a'>",
        "<td style=\"text-align: left; color: red\">",
        "<img src=data:text/html,a>",
    ] {
        assert!(danger(html).is_some(), "{html}");
    }
    assert_eq!(danger("<p>onclick=a <a href=\"a.html\" title=\"javascript: no\">javascript:</a>"), None);
}

/// Spellings that a browser reads as the same scheme: WHATWG URL standard, section 4.4 (tabs and line breaks inside, control
/// characters and spaces before are dropped), HTML standard, section 13.5 (named characters).
const SPELLINGS: &[&str] = &[
    "javascript:alert(1)",
    "JaVaScRiPt:alert(1)",
    "javascript&colon;alert(1)",
    "javascript&#58;alert(1)",
    "javascript&#x3A;alert(1)",
    "&#106;avascript:alert(1)",
    "&#x6a;avascript:alert(1)",
    "java&Tab;script:alert(1)",
    "java&NewLine;script:alert(1)",
    "java&#9;script:alert(1)",
    "java&#10;script:alert(1)",
    "java&#13;script:alert(1)",
    "&#1;javascript:alert(1)",
    "&#32;javascript:alert(1)",
    "&#x1f;javascript:alert(1)",
    "\u{1}javascript:alert(1)",
    "javascript\\:alert(1)",
    "j\\avascript:alert(1)",
    "vbscript:msgbox(1)",
    "data:text/html,alert(1)",
    "DATA:text/html;base64,PHNjcmlwdD4=",
    "data:image/svg+xml,alert(1)",
    "blob:https://example.org/1",
];

#[test]
fn addresses_that_run_never_reach_a_page() {
    let spelled = |spelling: &&str| {
        [
            format!("[a](<{spelling}>)\n"),
            format!("![a](<{spelling}>)\n"),
            format!("[a]\n\n[a]: <{spelling}>\n"),
            format!("[a]({spelling})\n"),
            format!("<{spelling}>\n"),
            format!("[![a](<{spelling}>)](<{spelling}> \"b\")\n"),
        ]
    };
    check_harmless(&SPELLINGS.iter().flat_map(spelled).collect::<Vec<_>>());
}

#[test]
fn markdown_brings_no_event_handler_into_a_page() {
    let notebooks = [
        "# Weigh {onclick=alert(1)}\n",
        "# Weigh {#a onclick=\"alert(1)\" .b}\n",
        "# Weigh {style=\"position:fixed\"}\n",
        "Weigh {onclick=alert(1)}\n====\n",
        "# Weigh {#\"onclick=alert(1)}\n",
        "# Weigh {.\"onclick=alert(1)}\n",
        "[a](b.png \"x\\\" onclick=alert(1) y=\\\"\")\n",
        "![a\" onerror=\"alert(1)](b.png)\n",
        "![a](b.png\" onerror=\"alert(1))\n",
        "```x\"onclick=alert(1)\na\n```\n",
        "[^\"onclick=alert(1)]\n\n[^\"onclick=alert(1)]: a\n",
        "[a](#\"onclick=alert(1))\n",
        "<img/onerror=alert(1)/src=x>\n",
        "<svg/onload=alert(1)>\n",
    ];
    check_harmless(&notebooks.map(str::to_owned));
}

/// Asserts that raw HTML is harmless once it was cleaned, and passes where it is trusted, save for addresses that run.
#[track_caller]
fn check_cleaned(html: &str) {
    let body = body_of(&format!("{WASH}\n{html}\n\nafter `<code>`\n"), false);
    assert_eq!(danger(&body), None, "{html:?}\n{body}");
    assert!(body.contains("after <code>&lt;code&gt;</code>"), "{body}");
    let trusted = body_of(&format!("{html}\n"), true);
    let runs = ["<iframe", "<a ", "<form", "<object"].iter().any(|tag| html.starts_with(tag));
    assert_eq!(trusted.contains(html), !runs, "{trusted}");
    assert_eq!(trusted.contains("=#") || trusted.contains("=\"#\""), runs, "{trusted}");
}

#[test]
fn raw_html_is_cleaned_unless_trusted() {
    for html in [
        "<script>alert(1)</script>",
        "<ScRiPt src=//example.org/a.js></script>",
        "<img src=x onerror=alert(1)>",
        "<b onclick='alert(1)'>b</b>",
        "<svg><script>alert(1)</script></svg>",
        "<math><mtext><table><mglyph><style><img src=x onerror=alert(1)></style></table></mtext></math>",
        "<iframe src=javascript:alert(1)></iframe>",
        "<a href=\" javascript:alert(1)\">a</a>",
        "<a href=\"jav&#x09;ascript:alert(1)\">a</a>",
        "<form action=javascript:alert(1)><input type=submit></form>",
        "<input type=image src=x onerror=alert(1)>",
        "<td style=\"text-align: left; background: url(javascript:alert(1))\">",
        "<table><tr><td style=\"text-align: left; position: fixed\">a</td></tr></table>",
        "<style>* { display: none }</style>",
        "<base href=//example.org>",
        "<meta http-equiv=refresh content=\"0;url=javascript:alert(1)\">",
        "<object data=javascript:alert(1)></object>",
        "<noscript><p title=\"</noscript><img src=x onerror=alert(1)>\"></noscript>",
        "<!-- --!><img src=x onerror=alert(1)> -->",
    ] {
        check_cleaned(html);
    }
}

#[test]
fn harmless_raw_html_stays() {
    assert_eq!(
        body_of("H<sub>2</sub>O, <kbd>q.s.</kbd>\n\n<div>\n\n*a*\n\n</div>\n", false),
        "<p>H<sub>2</sub>O, <kbd>q.s.</kbd></p>\n<div>\n<p><em>a</em></p>\n</div>\n"
    );
}

/// The places of numbers and sheets are found again in the finished HTML by marks. A text that holds such marks, however it
/// spells them, moves nothing.
#[test]
fn a_text_cannot_pretend_to_be_a_number_or_a_sheet() {
    let spellings =
        ["\u{fdd0}0\u{fdd1}", "&#xFDD0;0&#xFDD1;", "&#64976;0&#64977;", "&#xFDD0;1&#xFDD1;", "&#xFDD0;0\u{fdd1}"];
    for spelling in spellings {
        for trusted in [true, false] {
            for around in ["a {} b", "[a](b.png \"{}\")", "![{}](b.png)", "`{}`", "<b title=\"{}\">b</b>"] {
                let text = format!("{}\n\n{WASH}\n[](calc:wash/water/percent)\n", around.replace("{}", spelling));
                let body = body_of(&text, trusted);
                assert_eq!(body.matches("<table>").count(), 1, "{text}\n{body}");
                assert_eq!(body.matches("class=\"n\" href=\"#w1\"").count(), 1, "{text}\n{body}");
                let first = body.lines().next().unwrap();
                assert!(!first.contains("<table>") && !first.contains("class=\"n\""), "{text}\n{body}");
            }
        }
    }
}

#[test]
fn a_calc_link_in_the_words_of_an_image_is_its_number_alone() {
    for trusted in [true, false] {
        let body = body_of(&format!("{WASH}\n![holds [x](calc:wash/water/percent) water](b.png)\n"), trusted);
        assert!(body.contains("alt=\"holds 97\u{a0}% water\""), "{body}");
    }
}
