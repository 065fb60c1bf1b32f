//! A polymer that thickens only when it is neutralised or acidified, and nothing that does so.

use super::{Case, Caution};
use crate::material::{Stated, ThickensWith};
use crate::model::Line;
use crate::quantity::{Decimal, show};
use crate::report::{Finding, Kind, Severity};

pub(super) const CAUTION: Caution = Caution { kinds: &[NOT_SET, OUTSIDE], examine };

const NOT_SET: &Kind = &Kind {
    name: "thickener-not-set",
    severity: Severity::Caution,
    summary: "A polymer that needs a base or an acid to thicken, and neither a line nor a pH that gives it.",
    why: "Until its charges are set the polymer lies folded, and the product stays thin.",
    mend: "Add a base (or acid) dosed to a pH in the polymer's range, and state the pH.",
};

const OUTSIDE: &Kind = &Kind {
    name: "thickener-outside-ph",
    severity: Severity::Caution,
    summary: "A pH specification at which a polymer of the formula is not thick.",
    why: "Outside its range the polymer gives up its thickness, at once or on standing.",
    mend: "Change the pH specification, or take another thickener.",
};

fn examine(case: &Case<'_>, findings: &mut Vec<Finding>) {
    let formula = &case.computed.formula;
    for (_, line) in case.lines() {
        let Some(stated) = &line.material.thickens_with else { continue };
        let (functions, words): (&[&str], &str) = match stated.value {
            ThickensWith::Base => (&["base", "neutraliser", "alkali", "saponifier"], "a base"),
            ThickensWith::Acid => (&["acid"], "acid"),
            ThickensWith::Salt | ThickensWith::Heat | ThickensWith::Water => continue,
        };
        if formula.percent(line).value().is_zero() {
            continue;
        }
        let setter = case.lines().any(|(_, other)| {
            functions.iter().any(|function| other.material.serves_as(function)) && other.material.id != line.material.id
        });
        match formula.ph {
            Some(ph) => {
                let (low, high) = (ph.low.value(), ph.high.value());
                let Some(window) = &line.material.thick_ph else { continue };
                let outside = window.min.is_some_and(|min| low < min) || window.max.is_some_and(|max| max < high);
                if outside {
                    let what = format!(
                        "`{}` is thick at pH {}, but `{}` is specified at pH {}.",
                        line.written,
                        window.words(),
                        case.id(),
                        show::ends(low, high)
                    );
                    let place = formula.ph_place.clone().unwrap_or_else(|| line.place.clone());
                    findings.push(
                        Finding::new(OUTSIDE, place, what)
                            .source(window.source_line())
                            .also_at(line.place.clone(), format!("`{}`", line.written)),
                    );
                } else if !setter && stated.value == ThickensWith::Base && high > NEUTRAL_WATER {
                    findings.push(not_set(line, stated, words));
                }
            }
            None if !setter => findings.push(not_set(line, stated, words)),
            None => {}
        }
    }
}

/// What a polyacid gives by itself in water lies below this pH; above it a base must have been added. Common practice, no source.
const NEUTRAL_WATER: Decimal = Decimal::from_parts(4, 0, 0, false, 0);

fn not_set(line: &Line, stated: &Stated<ThickensWith>, words: &str) -> Finding {
    let what = format!("`{}` needs {words} to thicken, and no line brings any.", line.written);
    let source = stated.source.as_ref().map_or_else(|| "no source given".to_owned(), |source| source.line());
    Finding::new(NOT_SET, line.place.clone(), what).source(source)
}
