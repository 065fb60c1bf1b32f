//! Workings that cannot be worked out: texts that are no expressions, units that do not fit, circles.

use crate::block::{DEEPEST, LONGEST, SyntaxWhy, WorkingsBlock};
use crate::compute::{WorkingsFault, WorkingsWhy};
use crate::quantity::{Misfit, NumberFault, Unit, UnitFault, UnitValue};
use crate::report::{Finding, Kind, Place, Severity, echo, kind, suggestion};

pub(super) const KINDS: &[&Kind] =
    &[NO_EXPRESSION, UNKNOWN_LINE, UNKNOWN_UNIT, UNITS_DO_NOT_FIT, DIVISION_BY_ZERO, TOO_LARGE, CIRCLE];

const NO_EXPRESSION: &Kind = &Kind {
    name: "not-an-expression",
    severity: Severity::Error,
    summary: "A line of workings that cannot be read as arithmetic.",
    why: "Nothing is worked out from a line that is half understood.",
    mend: "Write quantities and names with `+`, `-`, `×`, `÷` and brackets: `price × amount`.",
};

const UNKNOWN_LINE: &Kind = &Kind {
    name: "unknown-line",
    severity: Severity::Error,
    summary: "A name in workings that no line of the block has.",
    why: "What is not known is never taken for zero.",
    mend: "Correct the name, or write the line. A figure of another block is written as `calc:` with its address.",
};

const UNKNOWN_UNIT: &Kind = &Kind {
    name: "unknown-unit",
    severity: Severity::Error,
    summary: "A unit that is not known, or that readers take for different amounts.",
    why: "Nothing can be worked out from an amount that is not understood.",
    mend: "Units are written as `g`, `kg`, `ml`, `l`, `°C`, `%`, `g/ml`, `€/kg`, `h`.",
};

const UNITS_DO_NOT_FIT: &Kind = &Kind {
    name: "units-do-not-fit",
    severity: Severity::Error,
    summary: "Two quantities that do not go together.",
    why: "A result would mean nothing: grams and millilitres have no sum.",
    mend: "Bring both to the same kind of quantity first.",
};

const DIVISION_BY_ZERO: &Kind = &Kind {
    name: "division-by-zero",
    severity: Severity::Error,
    summary: "A divisor that is zero, or may be.",
    why: "There is no such quotient.",
    mend: "Correct the divisor.",
};

const TOO_LARGE: &Kind = &Kind {
    name: "beyond-reckoning",
    severity: Severity::Error,
    summary: "A result that is larger than anything that is reckoned here.",
    why: "Beyond a million million million something else is meant.",
    mend: "Look for a factor or a unit that is wrong.",
};

const CIRCLE: &Kind = &Kind {
    name: "workings-circle",
    severity: Severity::Error,
    summary: "Lines of workings that rest on each other in a circle.",
    why: "None of them can be worked out first.",
    mend: "Take one of the names out.",
};

/// The finding for something wrong in a line.
pub fn workings_fault(fault: &WorkingsFault, block: &WorkingsBlock) -> Option<Finding> {
    let line = block.lines.get(fault.line)?;
    let place = line.place(&fault.span);
    let marked = echo(line.text.get(fault.span.clone()).unwrap_or_default());
    Some(match &fault.why {
        WorkingsWhy::Syntax(why) => syntax(why, &marked, place),
        WorkingsWhy::UnknownName(name) => unknown_name(name, block, place),
        WorkingsWhy::Misfit(misfit, what) => misfit_finding(misfit, what, place),
        WorkingsWhy::NotANumber(address) => {
            let what = format!("`{}` is no number to reckon with.", echo(address));
            Finding::new(UNITS_DO_NOT_FIT, place, what).mend("Take the address of a number.")
        }
        WorkingsWhy::Circle(names) => {
            let way: Vec<String> = names.iter().map(|name| format!("`{}`", echo(name))).collect();
            let what = match way.as_slice() {
                [own, _] => format!("{own} rests on itself."),
                _ => format!("These lines rest on each other: {}.", way.join(" → ")),
            };
            Finding::new(CIRCLE, place, what)
        }
    })
}

fn syntax(why: &SyntaxWhy, marked: &str, place: Place) -> Finding {
    let new = |what: String| Finding::new(NO_EXPRESSION, place.clone(), what);
    match why {
        SyntaxWhy::TooLong => {
            new(format!("The expression is longer than {LONGEST} bytes.")).mend("Make several lines of it.")
        }
        SyntaxWhy::TooDeep => new(format!("There are more than {DEEPEST} brackets or signs inside each other."))
            .mend("Make several lines of it."),
        SyntaxWhy::Number(fault) => {
            let is_ambiguous = matches!(fault, NumberFault::AmbiguousComma | NumberFault::Thousands);
            let kind = if is_ambiguous { kind::AMBIGUOUS_NUMBER } else { kind::NOT_AN_AMOUNT };
            let finding = Finding::new(kind, place.clone(), format!("`{marked}` {}.", fault.sentence()));
            if is_ambiguous { finding } else { finding.mend("Write a plain decimal number of at most 14 digits.") }
        }
        SyntaxWhy::Unit(UnitFault::Unknown(unit, instead)) if unit.is_empty() => {
            let _ = instead;
            new("After `to` stands no unit.".to_owned()).mend("Write the unit that is wanted: `to kg`.")
        }
        SyntaxWhy::Unit(UnitFault::Unknown(unit, instead)) => {
            let shown = echo(unit);
            let finding = Finding::new(UNKNOWN_UNIT, place.clone(), format!("`{shown}` is no unit."));
            match instead {
                Some(instead) => finding.mend(*instead),
                None => finding.mend(suggestion(unit, Unit::symbols(), UNKNOWN_UNIT.mend)),
            }
        }
        SyntaxWhy::Unit(UnitFault::NotADifference) => Finding::new(
            UNKNOWN_UNIT,
            place.clone(),
            format!("In `{marked}` a degree Fahrenheit would have to be a difference."),
        )
        .mend("Write differences of temperature in kelvin, `K`."),
        SyntaxWhy::Backwards => new(format!("`{marked}` begins above its end.")).mend("Write the lower end first."),
        SyntaxWhy::Wanted(what) if marked.is_empty() => new(format!("The expression ends where {what} should stand.")),
        SyntaxWhy::Wanted(what) => new(format!("Instead of `{marked}` there should be {what}.")),
        SyntaxWhy::NoSign => new(format!("There is no sign before `{marked}`."))
            .mend("Write `+`, `-`, `×` (or `*`), `÷` (or `/`) or `of` between the two."),
        SyntaxWhy::Unclosed => new("This bracket is not closed.".to_owned()).mend("Write `)` where it ends."),
        SyntaxWhy::Character => {
            let mend = match marked {
                "^" => "Powers are written out: `a × a`.",
                "%" => "A percentage has its number before it: `3 %`.",
                "," => "A decimal comma stands between digits; what is compared is parted by `;`.",
                "=" => "The line's name stands before the `=` outside of the quotation marks.",
                "–" | "—" => "Write `-` or `−` for minus.",
                "`" => "Write an address after `calc:` and without other marks: `calc:oat-wash/batch`.",
                "[" | "{" => "Brackets are round: `( … )`.",
                _ => NO_EXPRESSION.mend,
            };
            new(format!("`{marked}` means nothing here.")).mend(mend)
        }
        SyntaxWhy::NoAddress => new(format!("`{marked}` has no address."))
            .mend("Write `calc:formula/quantity`, such as `calc:oat-wash/glycerin/weight`."),
    }
}

fn unknown_name(name: &str, block: &WorkingsBlock, place: Place) -> Finding {
    let finding = Finding::new(UNKNOWN_LINE, place, format!("No line here is called `{}`.", echo(name)));
    let known = || block.lines.iter().map(|line| line.name.value.as_str());
    if name == "x" {
        return finding.mend("Write `×` or `*` to multiply.");
    }
    // `price-waste` may be meant as a difference.
    let parts = name.match_indices('-').find_map(|(at, _)| {
        let (left, right) = (name.get(..at)?, name.get(at + 1..)?);
        let both = known().any(|one| one == left) && known().any(|one| one == right);
        both.then(|| format!("For a difference there are spaces around the minus: `{left} - {right}`."))
    });
    match parts {
        Some(mend) => finding.mend(mend),
        None if Unit::is_named(name) => finding.mend("A unit stands behind its number: `1 kg`."),
        None => finding.mend(suggestion(name, known(), UNKNOWN_LINE.mend)),
    }
}

fn misfit_finding(misfit: &Misfit, what: &str, place: Place) -> Finding {
    let new = |sentence: String| Finding::new(UNITS_DO_NOT_FIT, place.clone(), sentence);
    let cannot = |pair: &(UnitValue, UnitValue)| {
        let (one, two) = (measured(&pair.0), measured(&pair.1));
        match what {
            "converted" => format!("{one} has no `{}`, which is {}.", pair.1.units().text(), pair.1.units().measures()),
            "rounded" => format!("{one} cannot be rounded to {two}."),
            _ => format!("{one} and {two} cannot be {what}."),
        }
    };
    match misfit {
        Misfit::Dimensions(pair) => {
            let pair_of = |one: &str, two: &str| {
                let found = [pair.0.units().measures(), pair.1.units().measures()];
                found == [one, two] || found == [two, one]
            };
            let finding = new(cannot(pair));
            if pair_of("a weight", "a volume") {
                finding.mend("A density turns one into the other: volume × density is a weight.")
            } else {
                finding
            }
        }
        Misfit::ShareAndOther(pair) => {
            let other = if pair.0.units().is_share() { &pair.1 } else { &pair.0 };
            let mend = if what == "converted" {
                "A share has to be taken of something: `3 % of batch`."
            } else if other.units().is_none() {
                "Write both as per cent: `100 % + 19 %`."
            } else {
                "A share has to be taken of something first: `batch + 3 % of batch`."
            };
            new(cannot(pair)).mend(mend)
        }
        Misfit::NoShare(text) => new(format!("Before `of` there is {text}, which is no share."))
            .mend("Write a percentage, `3 % of batch`, or `×`."),
        Misfit::Currencies(one, two) => new(format!("{one} and {two} are two currencies."))
            .mend("Multiply by a rate of your own first: `0.92 € ÷ 1 $`."),
        Misfit::Bases(basis, other) => {
            let why = "A share by weight is one of a weight, a share by volume one of a volume.";
            new(format!("`{basis}` does not go with {other}."))
                .because(why)
                .mend("Bring both to one basis, with the density.")
        }
        Misfit::Readings => new("Two readings of temperature cannot be added.".to_owned())
            .because("25 °C and 5 °C are not 30 °C warm; only a difference can be added to a reading.")
            .mend("Write the difference in kelvin: `25 °C + 5 K`."),
        Misfit::ReadingAsFactor => new(format!("A reading of temperature cannot be {what}."))
            .because("Degrees Celsius and Fahrenheit do not begin at nothing.")
            .mend("Reckon with differences in kelvin: `70 °C - 25 °C` is 45 K, and a difference is written `45 K`."),
        Misfit::DivisionByZero if what == "rounded" => {
            Finding::new(DIVISION_BY_ZERO, place.clone(), "A step of zero rounds nothing.")
                .mend("Write a step above zero, such as `0.1 g`.")
        }
        Misfit::DivisionByZero => Finding::new(DIVISION_BY_ZERO, place.clone(), "Here something is divided by zero."),
        Misfit::RangeThroughZero(range) => {
            Finding::new(DIVISION_BY_ZERO, place.clone(), format!("The divisor, {range}, may be zero."))
                .mend("A range that is divided by must not hold zero.")
        }
        Misfit::TooLarge => {
            Finding::new(TOO_LARGE, place.clone(), "The result is larger than anything that is reckoned here.")
        }
    }
}

/// A value and what it measures: "12.5 g (a weight)".
fn measured(value: &UnitValue) -> String {
    format!("{} ({})", value.text(), value.units().measures())
}
