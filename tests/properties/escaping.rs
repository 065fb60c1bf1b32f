//! What no text of an author may do: reach the tags of a page, or end a string in it.

use super::without_sheets;
use crate::commonmark::{attributes, danger, tag_of};
use crate::support::{Tree, collection, everything};
use tarebook::collection::Collection;
use tarebook::report::Severity;

/// A text that ends whatever it stands in, if it is not escaped.
const NASTY: [&str; 4] = [
    "</p><script>alert(1)</script>",
    "\\\" onmouseover=\\\"alert(1)",
    "' autofocus onfocus='alert(1)",
    "{{ site.title }} &lt;b&gt; --> ]]> \\n; color: red; x: \\\"",
];

/// The tags of a page with the names of their attributes: what a text must not change.
fn skeleton(html: &str) -> Vec<String> {
    let mut tags = Vec::new();
    let mut rest = html;
    while let Some((_, after)) = rest.split_once('<') {
        let (tag, text) = tag_of(after);
        rest = text;
        let name = tag.split_whitespace().next().unwrap_or_default();
        let names: Vec<String> = attributes(tag).into_iter().map(|(name, _)| name).collect();
        tags.push(format!("{name} {}", names.join(" ")));
    }
    tags
}

/// A collection with one text in every place where an author may write one. Without errors, so that it could be published.
fn with_everywhere(text: &str) -> Vec<(&'static str, String)> {
    let settings = format!("title = \"{text}\"\nlicence = \"{text}\"\ncontact = \"{text}\"\n");
    let materials = format!(
        "[source.s]\nhow = \"published\"\ntext = \"s {text}\"\n\
         [material.own]\nname = \"n {text}\"\nfunctions = [\"surfactant\", \"f {text}\"]\nform = \"liquid\"\n\
         strength = {{ typical = 30, of = \"o {text}\", source = \"s\" }}\n\
         density = {{ min = 1, max = 1.1, source = \"s\", note = \"d {text}\" }}\n\
         use = {{ min = 0.1, max = 0.2, source = \"s\", note = \"u {text}\" }}\n\
         solubility = {{ text = \"water-soluble {text}\", source = \"s\" }}\n\
         [[material.own.contains]]\ninci = \"i {text}\"\nsurfactant = \"anionic\"\n\
         percent = {{ typical = 30, source = \"s\" }}\n\
         [[material.own.contains]]\ninci = \"j {text}\"\npercent = {{ typical = 70, source = \"s\" }}\n\
         [[material.own.handling]]\nhazard = \"eye damage\"\ntext = \"h {text}\"\nsource = \"s\"\n"
    );
    let literal = text.replace("\\\"", "\"").replace("\\n", " ");
    let notebook = format!(
        "# Heading `{literal}`\n\nA `{literal}` sentence. [old {quoted}](calc:wash/own/percent)\n\n\
         ```formula\nid = \"wash\"\ntitle = \"t {text}\"\nversion = \"v {text}\"\nnote = \"n {text}\"\nproduct = \"shampoo\"\n\
         batch = \"10 g\"\nbalance = \"0.1 g\"\n\
         [phase.\"A {text}\"]\ntitle = \"pt {text}\"\nnote = \"pn {text}\"\n\
         water = \"q.s. to 100\"\nown = {{ percent = 3, note = \"ln {text}\", lot = \"ll {text}\", strength = \"31 %\" }}\n\
         glycerin = {{ percent = \"q.s.\", usual = 1, to = \"e {text}\" }}\n```\n\n\
         ```formula\nid = \"wash-b\"\nbased-on = \"wash\"\n[change.\"A {text}\"]\n\
         own = {{ percent = 2, note = \"cn {text}\" }}\n```\n",
        quoted = literal.replace(['<', '>', '[', ']', '&', '\\'], "")
    );
    let names = format!("# Another `{literal}`\n\n[](calc:wash/title) [](calc:wash/version)\n");
    vec![
        ("collection.toml", settings),
        ("materials/own.toml", materials),
        ("a.md", notebook),
        ("b.md", names),
        ("c/<i>&\"'.md", "# C\n".to_owned()),
    ]
}

#[track_caller]
fn everything_of(files: &[(&'static str, String)]) -> (Collection, Tree) {
    let collection = collection(files.iter().map(|(path, text)| (*path, text.as_str())));
    let tree = everything(&collection);
    (collection, tree)
}

/// What the errors of a collection say.
fn errors(collection: &Collection) -> Vec<String> {
    let errors = collection.findings().into_iter().filter(|finding| finding.severity() == Severity::Error);
    errors.map(|finding| finding.what).collect()
}

#[test]
fn no_text_of_an_author_reaches_the_tags_of_a_page() {
    let (plain, plain_pages) = everything_of(&with_everywhere("word"));
    assert_eq!(errors(&plain), Vec::<String>::new());
    for nasty in NASTY {
        let (collection, pages) = everything_of(&with_everywhere(nasty));
        assert_eq!(errors(&collection), Vec::<String>::new(), "{nasty}");
        let mut compared = 0;
        for (path, bytes) in pages.iter().filter(|(path, _)| path.ends_with(".html")) {
            let page = std::str::from_utf8(bytes).unwrap();
            let plain = std::str::from_utf8(&plain_pages[path]).unwrap();
            assert_eq!(skeleton(page), skeleton(plain), "{nasty} in {path}");
            compared += 1;
        }
        assert_eq!(compared, 14);
    }
}

/// The running foot of a printed page is a string of CSS, which a quotation mark, a backslash or a line break would end.
#[test]
fn no_text_of_an_author_ends_the_string_of_the_foot() {
    for text in ["1\\\"; color: red; x: \\\"", "1\\\\", "1\\n; color: red", "1\\f; color: red", "1\\r; color: red"] {
        let block = format!("```formula\nid = \"f\"\nversion = \"{text}\"\n[phase.A]\nglycerin = 100\n```\n");
        let collection = collection([("a.md", block.as_str())]);
        let page = String::from_utf8(collection.render("a.md").unwrap().remove(0).bytes).unwrap();
        let (_, style) = page.split_once("style=\"--foot:&quot;").unwrap();
        let (style, _) = style.split_once('"').unwrap();
        let inside = style.strip_suffix("&quot;").unwrap();
        assert!(!inside.contains("&quot;") && !inside.contains('\\'), "{inside:?}");
        assert!(!inside.contains(char::is_control), "{inside:?}");
    }
}

/// Mistakes are shown on the page while watching; they repeat what the author wrote.
#[test]
fn no_mistake_reaches_the_tags_of_a_page() {
    let of = |text: &str| {
        let literal = text.replace("\\\"", "\"").replace("\\n", " ");
        let inner = format!(
            "id = \"wash {text}\"\n\"k {text}\" = 1\nproduct = \"{text}\"\nbatch = \"{text}\"\nph = \"{text}\"\n\
             balance = \"1 {text}\"\nbased-on = \"{text}\"\n[phase.A]\nhold = \"{text}\"\n\"m {text}\" = 3\n\
             water = \"5 {text}\"\nglycerin = {{ percent = 1, strength = \"{text}\", \"x {text}\" = 1 }}\n\
             [change.\"{text}\"]\nwater = \"drop\"\n"
        );
        let address: String = literal.bytes().map(|byte| format!("%{byte:02X}")).collect();
        vec![
            ("collection.toml", format!("order = [\"{text}\"]\nrules = [\"{text}\"]\n\"{text}\" = 3\n")),
            ("a.md", format!("# A\n\n```formula\n{inner}```\n\n[](calc:{address}/{address}?{address}={address})\n")),
            (
                "b.md",
                format!(
                    "# B\n\n[a]({address}.png) [b](a.md#{address}) ![c]({address})\n\n```formula\n= {literal}\n```\n"
                ),
            ),
        ]
    };
    let (_, plain_pages) = everything_of(&of("word"));
    for nasty in NASTY {
        let (collection, pages) = everything_of(&of(nasty));
        assert!(collection.has_errors());
        for path in ["a.html", "b.html", "index.html"] {
            let page = std::str::from_utf8(&pages[path]).unwrap();
            assert_eq!(danger(&without_sheets(page)), None, "{nasty} in {path}");
            let names = |html: &str| skeleton(html).into_iter().collect::<std::collections::BTreeSet<_>>();
            let plain = std::str::from_utf8(&plain_pages[path]).unwrap();
            assert_eq!(names(page), names(plain), "{nasty} in {path}");
        }
    }
}
