//! The kinds of finding that reading, resolving and linking can raise. Cautions about formulas have theirs in `caution/`.
//!
//! One line each in [`ALL`]; a test walks the list together with the cautions: names are unique and explained.

use super::{Kind, Severity};

macro_rules! kinds {
    ($($constant:ident, $severity:ident, $name:literal, $summary:literal, $why:literal, $mend:literal;)*) => {
        $(
            #[doc = $summary]
            pub const $constant: &Kind = &Kind {
                name: $name, severity: Severity::$severity, summary: $summary, why: $why, mend: $mend,
            };
        )*
        /// Every kind of this file.
        pub const ALL: &[&Kind] = &[$($constant),*];
    };
}

kinds! {
    NOT_TOML, Error, "not-toml", "The block cannot be read as TOML.",
        "A block that cannot be read cannot be computed, and a line that is skipped would make every weight wrong.",
        "Write one `name = value` on each line; text goes in double quotes.";
    UNKNOWN_KEY, Error, "unknown-key", "A key that this kind of table does not have.",
        "A mistyped key would be ignored in silence otherwise.",
        "Correct the key or take it out.";
    KEY_BELOW_HEAD, Error, "key-below-head", "A key that stands below the head of a table, and so belongs to that table.",
        "All lines below a head in square brackets are part of its table, up to the next head.",
        "Move the line up, above the head.";
    WRONG_VALUE, Error, "wrong-value", "A value of the wrong kind.",
        "Nothing is guessed from a value that does not fit.",
        "Write the value in the form shown.";
    FRACTION, Question, "fraction-for-percent", "A share of less than half a per cent, written without its sign.",
        "Who reckons in fractions writes 0.05 and means 5 %; a bare number is per cent here.",
        "Write the share with its sign.";
    MISSING_KEY, Error, "missing-key", "A key that must be there is missing.",
        "Without it the block cannot be computed or referred to.",
        "Add the key.";
    NOT_AN_AMOUNT, Error, "not-an-amount", "An amount that cannot be understood.",
        "An amount that is guessed would be weighed.",
        "Write percent as a plain number (`3`), a weight with its unit (`\"12.5 g\"`), parts (`\"3 parts\"`), or `\"q.s. to 100\"`.";
    AMBIGUOUS_NUMBER, Error, "ambiguous-number", "A number that can be read in two ways.",
        "One comma can stand between a batch and one a thousand times larger.",
        "Write a decimal point, and no separator between thousands.";
    DUPLICATE_ID, Error, "duplicate-id", "Two blocks or materials with the same id.",
        "A reference to the id could mean either.",
        "Give one of them another id.";
    UNKNOWN_MATERIAL, Error, "unknown-material", "A raw material that neither the catalogue nor the collection knows.",
        "A line that is not understood is never skipped: its weight, active matter and limits would be missing from every result.",
        "Correct the name, or describe the material in the collection's `materials` folder.";
    UNKNOWN_PRODUCT, Error, "unknown-product", "A product type that is not known.",
        "The product type decides between rinse-off and leave-on limits and the usual active matter.",
        "Choose a known product type.";
    SUM_NOT_100, Error, "sum-not-100", "The percentages do not add up to 100.",
        "Every weight of the batch would be off by the same share, the preservative's too.",
        "Correct a line, or let one line be `\"q.s. to 100\"`.";
    TWO_BALANCE_LINES, Error, "two-balance-lines", "More than one line is q.s. to 100.",
        "Two lines cannot both take the rest.",
        "Keep one line as `\"q.s. to 100\"` and give the others an amount.";
    BALANCE_BELOW_ZERO, Error, "balance-below-zero", "The other lines add up to more than 100 %, so the balance line would be negative.",
        "A negative weight cannot be weighed; some line is too large.",
        "Look for the line that is too large, often by a factor of ten.";
    MIXED_BASES, Error, "mixed-bases", "Percent, weights and parts in one formula.",
        "Lines on different bases cannot be added.",
        "Write the whole formula in percent, or in weights, or in parts.";
    BATCH_TOO_SMALL, Error, "batch-too-small", "The weights add up to more than the batch.",
        "The balance line would be negative.",
        "Correct the weights or the batch.";
    WEIGHTS_SCALED, Question, "weights-scaled", "Weights that do not add up to the batch.",
        "The sheet shows other weights than the formula; if the batch or a line is a slip, all of them are wrong.",
        "Correct a line, let one be `\"q.s. to 100\"`, or leave `batch` out and scale with `tarebook weigh --batch`.";
    EMPTY_FORMULA, Error, "empty-formula", "A formula without any raw material.",
        "There is nothing to compute.",
        "Add a `[phase.A]` table with at least one line.";
    WRITTEN_TWICE, Error, "written-twice", "One name written twice in the same table.",
        "One of the two amounts would be lost.",
        "Keep one of them: add two amounts on one line, and put the lines of two tables under one heading.";
    NEEDS_DENSITY, Error, "needs-density", "A volume without a density to turn it into a weight.",
        "A millilitre weighs what the density says; without one the weight would be a guess.",
        "Give the density, or the amount as a weight.";
    VOLUME_REFUSED, Error, "volume-refused", "A volume where only a weight is safe.",
        "Preservatives, acids and bases work within narrow limits; spoons and drops vary by half and more.",
        "Weigh it: write the amount in percent or grams.";
    IMPOSSIBLE_DATE, Error, "impossible-date", "A date that the calendar does not have, or that can be read in two ways.",
        "What is expired, due or made first is told by dates.",
        "Write year, month and day as ISO 8601 does: `2026-03-14`.";
    BASIS_NOT_STATED, Error, "basis-not-stated", "A strength that does not say whether it is by weight or by volume.",
        "The same number means different things: alcohol of 70 % by volume is 62.4 % by weight (OIML R 22).",
        "Write the basis behind the number: `% w/w`, `% w/v` or `% v/v`.";
    BARE_OUNCE, Question, "bare-ounce", "Ounces of a liquid: by weight or by volume?",
        "A fluid ounce and an ounce by weight differ by whatever the liquid's density is, and readers take either.",
        "Write grams; or `us fluid ounce` for the volume.";
    UNKNOWN_PARENT, Error, "unknown-parent", "The formula that a variant is based on does not exist.",
        "A variant without its parent has no lines.",
        "Correct `based-on`.";
    VARIANT_CIRCLE, Error, "variant-circle", "Formulas that are based on each other in a circle.",
        "None of them has a first set of lines.",
        "Give one of them its own phases.";
    NOTHING_TO_CHANGE, Error, "nothing-to-change", "A change to a phase or line that the parent does not have, or a drop of one that is not there.",
        "The change would have no effect, or not the one meant.",
        "Correct the phase or the name of the raw material.";
    PARENT_FAILED, Note, "parent-failed", "The parent of this variant has errors, so the variant was not computed.",
        "", "Mend the parent first.";
    QUOTED_WITHOUT_REASON, Note, "quoted-without-reason", "A passage is marked as quoted without saying why.",
        "The words are not judged; whoever reads the notebook later should see for what reason.",
        "Give the reason: `[treats acne](quoted: \"what a label must not say\")`.";
    UNREAD_QUOTATION, Error, "unread-quotation", "A quoted passage that Markdown does not read as a link.",
        "The page would show the brackets as they were typed.",
        "Put the reason in quotation marks: `[treats acne](quoted: \"what a label must not say\")`.";
    TWICE_AT_A_TABLE, Error, "twice-at-a-table", "A kit in which a table makes the same formula twice.",
        "Two cups would have the same raw material, phase and formula on them, and nobody could tell for which batch each is; an address of a cup would lead to the first.",
        "Make one batch of the two. If they are to be two products, write the second as a variant with an id of its own: `based-on` and what is changed.";
    UNKNOWN_REFERENCE, Error, "unknown-reference", "A block that builds on a formula or block that does not exist.",
        "Without it there is nothing to show or to compute.",
        "Correct the id.";
    REFERENCE_CIRCLE, Error, "reference-circle", "Blocks that build on each other in a circle.",
        "None of them can be computed first.",
        "Take one of the references out.";
    REFERENCE_FAILED, Note, "rests-on-errors", "What this block builds on has errors, so the block was not computed.",
        "", "Mend the errors there first.";
    NEVER_ADDED, Error, "never-added", "A line of the formula, or a part of one, that no step of the method adds.",
        "Who follows the steps leaves it out. A preservative is lost that way, and nobody sees it in the jar.",
        "Add it in the step in which it goes in.";
    ADDED_TWICE, Error, "added-twice", "A line of the formula that the steps of the method add more than once.",
        "Who follows the steps weighs it twice.",
        "Add it in one step, or in parts: `\"80 % of water\"` in one and `\"rest of water\"` in another.";
    NOT_IN_FORMULA, Error, "not-in-formula", "A step that adds something the formula does not have.",
        "It has no weight on the sheet, and nothing that is judged counts it.",
        "Correct the name, or add the line to the formula.";
    NOTHING_TO_POUR, Error, "nothing-to-pour", "A step that empties a vessel in which there is nothing.",
        "The step can only mean another vessel, or come after another step.",
        "Correct the name of the vessel, or the order of the steps.";
    LEFT_IN_VESSEL, Error, "left-in-vessel", "Something that at the end of the method is still in a vessel of its own.",
        "It never reaches the batch.",
        "Let a step `pour` it into the main vessel.";
    UNKNOWN_ADDRESS, Error, "unknown-address", "A calc link to something that is not there.",
        "An unknown number never becomes empty text.",
        "Correct the address.";
    UNKNOWN_TERM, Error, "unknown-term", "A link to a term that is explained nowhere.",
        "Who asks for a word would be led to nothing.",
        "Correct the term, or explain it in the notebook that `glossary` in collection.toml names.";
    TERM_TWICE, Note, "term-twice", "A term that the glossary explains more than once.",
        "Links lead to the first of them; the other may say something else.",
        "Keep one, or give the other another name.";
    NO_VALUE, Error, "no-value", "A calc link to a figure that could not be computed.",
        "A blank in place of a number would mislead.",
        "Mend what the figure needs, named in the other findings of that formula.";
    BAD_QUERY, Error, "bad-query", "A calc link asks for the figure in a way that is not understood.",
        "The number would not be the one meant.",
        "Queries are `batch=2kg`, `unit=g` and `digits=1`, joined by `&`.";
    STALE_NUMBER, Note, "stale-number", "The text of a calc link says another number than the formula gives.",
        "The page shows the computed number, but who reads the plain text sees the old one.",
        "Let `tarebook correct` write the computed number between the brackets.";
    BROKEN_LINK, Error, "broken-link", "A link to a local file that is not there.",
        "The reader of the page would find nothing.",
        "Correct the path; it is taken from the notebook's own folder.";
    BROKEN_ANCHOR, Error, "broken-anchor", "A link to a part of a notebook that it does not have.",
        "The reader would land at the wrong place.",
        "Correct the part after `#`; headings give it in lower case with hyphens.";
    ANCHOR_TWICE, Error, "anchor-twice", "An anchor that stands twice, or that every page has for its own parts.",
        "A link to it could lead to either.",
        "Give the heading another anchor, or none.";
    OUTSIDE_LINK, Error, "outside-link", "A link to a local file outside the collection's folder.",
        "The published folder could not hold the file.",
        "Move the file into the collection.";
    UNSAFE_LINK, Error, "unsafe-link", "A link whose address could run a program in the reader's browser.",
        "Such an address never reaches a page.",
        "Link to a web address or a file instead.";
    HTML_CLEANED, Note, "html-cleaned", "Raw HTML was taken out because the collection does not trust it.",
        "Raw HTML can carry scripts; only harmless elements stay.",
        "Write it in Markdown, or set `trust-html = true` in collection.toml when all authors are trusted.";
    SWALLOWED, Error, "swallowed-by-html", "Raw HTML that is not closed takes a computed number or sheet off the page.",
        "A page from which a formula has vanished says nothing of it.",
        "Close the raw HTML element before the formula or number, or write it in Markdown.";
    NEARLY_A_BLOCK, Question, "nearly-a-block", "A fenced block whose name is nearly that of a tarebook block.",
        "It is shown as plain code and nothing in it is computed.",
        "Correct the word after the fence, or write `text` there if plain code is meant.";
    UNCLOSED_BLOCK, Error, "unclosed-block", "A block whose closing fence is missing.",
        "All the rest of the notebook would belong to the block.",
        "Close the block with the same fence that opens it.";
    NOT_UTF8, Error, "not-utf-8", "A file that is not UTF-8 text.",
        "Characters would be lost.",
        "Save the file as UTF-8.";
    NO_ROW_FILE, Error, "no-row-file", "A file of rows that is not there, or that cannot be read.",
        "The readings in it would be missing from every result.",
        "Look at its name; it is sought from the folder of the notebook.";
    UNKNOWN_COLUMN, Error, "unknown-column", "A column that the file does not have, or one that is not read.",
        "A column that is passed over in silence may hold what was measured.",
        "Say which columns are to be read: `columns = { ph = \"pH\" }`.";
    UNEVEN_ROW, Error, "uneven-row", "A row whose cells do not stand under the columns.",
        "A value would be read from the wrong column.",
        "Look for a decimal comma, a missing cell or a quotation mark that is not closed.";
    WHICH_SEPARATOR, Error, "which-separator", "It is not clear what stands between the cells of a file.",
        "With another separator the same line gives other values.",
        "Say it in the block: `separator = \";\"`.";
    UNREADABLE, Error, "unreadable", "A file that could not be read.",
        "The collection would be published without it.",
        "See to it that the file exists and may be read.";
    NEARLY_A_SUBSTANCE, Question, "nearly-a-substance", "An INCI name that is nearly that of a known substance.",
        "Limits and sums go by the INCI name; under another spelling the substance is not counted.",
        "Correct the spelling, or leave it if another substance is meant.";
    BAD_MATERIAL, Error, "bad-material", "An entry of a material file that contradicts itself.",
        "Everything computed from the material would be wrong.",
        "Correct the entry.";
    STRAY_CORRECTIONS, Question, "stray-corrections", "A list of corrections whose notebook is not there.",
        "Nobody would see them.",
        "Give the file the name of its notebook: `oat-wash.corrections.toml` beside `oat-wash.md`.";
    TEMPLATE_FAULT, Error, "template-fault", "A template that cannot be used.",
        "The pages could not be made.",
        "Correct the template; the built-in one of the same name shows what it is given.";
    SAME_PAGE, Error, "same-page", "Two files that would become the same page.",
        "One would overwrite the other.",
        "Rename one of them.";
    BROKEN_PROGRAM, Error, "fault-in-tarebook", "The program failed on this notebook.",
        "This is a fault of tarebook, not of the notebook.",
        "Please report it with the notebook; the other notebooks are not affected.";
}

/// The kind of a name, among these and the cautions.
pub fn by_name(name: &str) -> Option<&'static Kind> {
    ALL.iter().copied().chain(crate::caution::kinds()).find(|kind| kind.name == name)
}
