//! A preservative outside the pH in which it works.

use super::{Case, Caution};
use crate::compute::watery_of;
use crate::quantity::{Decimal, show};
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[OUTSIDE, NOT_STATED], examine };

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

/// The pH that any cosmetic for skin or hair has, soaps included. Common practice, no source.
const WIDEST: (Decimal, Decimal) = (Decimal::from_parts(3, 0, 0, false, 0), Decimal::from_parts(11, 0, 0, false, 0));

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    for (_, line) in case.lines() {
        let material = &line.material;
        let Some(window) = material.ph_works.as_ref().filter(|_| material.serves_as("preservative")) else { continue };
        let Some(ph) = formula.ph else {
            // A product without water has no pH, and a window that every cosmetic meets needs none stated.
            let narrow = window.min.is_some_and(|min| min > WIDEST.0) || window.max.is_some_and(|max| max < WIDEST.1);
            if narrow && watery_of(&case.computed.composition).high >= Decimal::ONE {
                findings.push(
                    Finding::new(
                        NOT_STATED,
                        line.place.clone(),
                        format!("`{}` works at pH {}, but `{}` states no pH.", line.written, window.words(), case.id()),
                    )
                    .source(window.source_line()),
                );
            }
            continue;
        };
        let (low, high) = (ph.low.value(), ph.high.value());
        let outside = window.min.is_some_and(|min| low < min) || window.max.is_some_and(|max| high > max);
        if outside {
            let stated = show::ends(low, high);
            findings.push(
                Finding::new(
                    OUTSIDE,
                    formula.ph_place.clone().unwrap_or_else(|| line.place.clone()),
                    format!(
                        "`{}` works at pH {}, but `{}` is specified at pH {stated}.",
                        line.written,
                        window.words(),
                        case.id()
                    ),
                )
                .source(window.source_line())
                .also_at(line.place.clone(), format!("`{}`", line.written)),
            );
        }
    }
}
