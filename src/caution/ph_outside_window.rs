//! The stated pH outside the windows of the raw materials, and raw materials whose windows do not meet at all.

use super::{Case, Caution};
use crate::compute::{LineWindow, PhWindows, Span, span_words, watery_of};
use crate::material::Fact;
use crate::quantity::{Decimal, show};
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution =
    Caution { kinds: &[OUTSIDE, NOT_STATED, NOT_STABLE, IDLE, NO_PH_FOR_BOTH], examine };

const OUTSIDE: &Kind = &Kind {
    name: "preservative-outside-ph",
    severity: Severity::Caution,
    summary: "A preservative outside the pH in which it works.",
    why: "Outside its window a preservative is present but does not protect; weak acids work only while they are undissociated.",
    mend: "Change the pH specification, or choose a preservative that works there.",
};

const NOT_STATED: &Kind = &Kind {
    name: "ph-not-stated",
    severity: Severity::Question,
    summary: "A preservative that depends on pH, and no pH specification.",
    why: "Whether it protects cannot be judged.",
    mend: "Add the pH specification, `ph = \"4.8..5.2\"`.",
};

const NOT_STABLE: &Kind = &Kind {
    name: "outside-ph-window",
    severity: Severity::Caution,
    summary: "A raw material outside the pH that it withstands.",
    why: "Outside its window it breaks down, falls out or loses its work, at once or over weeks.",
    mend: "Change the pH specification, or choose a raw material that withstands it.",
};

const IDLE: &Kind = &Kind {
    name: "outside-working-ph",
    severity: Severity::Note,
    summary: "A raw material outside the pH in which it does its work.",
    why: "It does no harm there, but may do nothing either.",
    mend: "Change the pH specification, or leave the raw material out.",
};

const NO_PH_FOR_BOTH: &Kind = &Kind {
    name: "no-ph-for-both",
    severity: Severity::Caution,
    summary: "Two raw materials whose pH windows do not meet.",
    why: "Whatever pH is chosen, one of the two does not work or does not keep.",
    mend: "Replace one of the two.",
};

/// The pH that any cosmetic for skin or hair has, soaps included. Common practice, no source.
const WIDEST: (Decimal, Decimal) = (Decimal::from_parts(3, 0, 0, false, 0), Decimal::from_parts(11, 0, 0, false, 0));

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let windows = PhWindows::of(case.computed);
    // What meets nothing else at any pH is said once, and not again for the pH that happens to be stated.
    let mut paired: Vec<usize> = Vec::new();
    if windows.is_watery && !windows.pairs.is_empty() {
        paired = windows.pairs.iter().flat_map(|(acid, base)| [*acid, *base]).collect();
        findings.extend(no_ph_for_both(case, &windows));
    }
    for (index, line) in windows.lines.iter().enumerate() {
        if !paired.contains(&index) {
            findings.extend(judge(case, &windows, line));
        }
    }
}

fn judge(case: &Case<'_>, windows: &PhWindows, line: &LineWindow) -> Option<Finding> {
    let formula = &case.computed.formula;
    let place = formula.lines().nth(line.line)?.place.clone();
    let material = &line.material;
    let preserves = material.serves_as("preservative");
    let works = material.ph_works.as_ref();
    let Some(ph) = formula.ph else {
        let window = works.filter(|_| preserves)?;
        // A product without water has no pH, and a window that every cosmetic meets needs none stated.
        let narrow = window.min.is_some_and(|min| min > WIDEST.0) || window.max.is_some_and(|max| max < WIDEST.1);
        if !narrow || watery_of(&case.computed.composition).high < Decimal::ONE {
            return None;
        }
        let what = format!("`{}` works at pH {}, but `{}` states no pH.", line.written, window.words(), case.id());
        return Some(Finding::new(NOT_STATED, place, what).source(window.source_line()));
    };
    let (low, high) = (ph.low.value(), ph.high.value());
    let missed = |fact: &&Fact| !Span::of(fact).holds(low, high);
    // A thickener that is not thick at this pH is judged by that.
    if material.thickens_with.is_some() && material.thick_ph.as_ref().is_some_and(|fact| missed(&fact)) {
        return None;
    }
    let found = works.filter(missed).filter(|_| preserves).map(|fact| (OUTSIDE, "works", fact));
    let found = found.or_else(|| {
        let stable = material.ph_stable.as_ref().filter(missed).map(|fact| (NOT_STABLE, "keeps", fact));
        stable.or(works.filter(missed).map(|fact| (IDLE, "works", fact))).filter(|_| windows.is_watery)
    });
    let (kind, verb, fact) = found?;
    let stated = show::ends(low, high);
    let span = span_words(Span::of(fact));
    let what = format!("`{}` {verb} at pH {span}, but `{}` is specified at pH {stated}.", line.written, case.id());
    let finding = Finding::new(kind, formula.ph_place.clone().unwrap_or_else(|| place.clone()), what);
    Some(finding.source(fact.source_line()).also_at(place, format!("`{}`", line.written)))
}

/// So many pairs are spelt out; the table of a `window` block has all.
const SPELT_OUT: usize = 3;

/// One finding for all pairs, at the first line of the first pair.
fn no_ph_for_both(case: &Case<'_>, windows: &PhWindows) -> Option<Finding> {
    // The pair that lies furthest apart first: it is the one to mend.
    let mut pairs: Vec<(&LineWindow, &LineWindow)> = windows
        .pairs
        .iter()
        .filter_map(|(acid, base)| Some((windows.lines.get(*acid)?, windows.lines.get(*base)?)))
        .collect();
    let gap = |acid: &LineWindow, base: &LineWindow| Some(base.span.low? - acid.span.high?);
    pairs.sort_by_key(|(acid, base)| std::cmp::Reverse(gap(acid, base)));
    let (first, _) = pairs.first().copied()?;
    let place = |line: &LineWindow| case.computed.formula.lines().nth(line.line).map(|line| line.place.clone());
    let mut words: Vec<String> = pairs
        .iter()
        .take(SPELT_OUT)
        .map(|(acid, base)| {
            let (acid_span, base_span) = (span_words(acid.span), span_words(base.span));
            format!("`{}` (pH {acid_span}) and `{}` (pH {base_span})", acid.written, base.written)
        })
        .collect();
    if pairs.len() > SPELT_OUT {
        words.push(format!("{} more pairs", pairs.len() - SPELT_OUT));
    }
    let what = format!("No pH suits both {}.", words.join("; nor "));
    let mut sources: Vec<String> = Vec::new();
    for (acid, base) in &pairs {
        for (line, end) in [(acid, End::High), (base, End::Low)] {
            let source = source_of(line, end);
            if !source.is_empty() && !sources.contains(&source) {
                sources.push(source);
            }
        }
    }
    let mut finding = Finding::new(NO_PH_FOR_BOTH, place(first)?, what).source(sources.join("; "));
    let mut named: Vec<&str> = vec![&first.written];
    for line in pairs.iter().flat_map(|(acid, base)| [*acid, *base]) {
        if !named.contains(&line.written.as_str()) {
            named.push(&line.written);
            finding = finding.also_at(place(line)?, format!("`{}`", line.written));
        }
    }
    Some(finding)
}

#[derive(Clone, Copy)]
enum End {
    Low,
    High,
}

/// The source of the fact that sets an end of a line's window.
fn source_of(line: &LineWindow, end: End) -> String {
    let of = |fact: &&Fact| match end {
        End::Low => fact.min == line.span.low,
        End::High => fact.max == line.span.high,
    };
    let facts = [line.material.ph_works.as_ref(), line.material.ph_stable.as_ref()];
    facts.into_iter().flatten().find(of).map(Fact::source_line).unwrap_or_default()
}
