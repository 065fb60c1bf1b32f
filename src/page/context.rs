//! Figures and findings as the templates and the data files see them: text ready to print, with the exact value beside it.

use super::emulsion::{EmulsionContext, emulsion_context};
use super::text::{Wanted, kept_together, value_text_as, working_text};
use crate::compute::{self, Computed, Emulsion, Figure, Value, WeighedMethod};
use crate::material::Origin;
use crate::model::{Basis, Line};
use crate::quantity::{Decimal, MassUnit, show};
use crate::report::{Finding, locate};
use serde::Serialize;
use std::borrow::Cow;
use std::collections::BTreeMap;

/// A computed number.
#[derive(Clone, Debug, Default, Serialize)]
pub struct NumberContext {
    /// As printed.
    pub text: String,
    /// How it was reached.
    pub working: String,
    /// The source of what was put in, or empty.
    pub source: String,
    /// Its address.
    pub address: String,
    /// The exact value as a decimal, the typical one of a range; a text value as it is.
    pub value: String,
    /// `g`, `%`, `pH`, `ml`, `g/ml`, another unit that is printed with the number, or empty.
    pub unit: Cow<'static, str>,
    /// Lower end, where the value is a range.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub low: Option<String>,
    /// Upper end, where the value is a range.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub high: Option<String>,
}

impl NumberContext {
    /// Nothing to print, where a template asks for a number that is always there.
    pub(crate) fn empty() -> NumberContext {
        NumberContext::default()
    }
}

/// A figure as a number to print.
pub fn number_context(figure: &Figure, unit: Option<MassUnit>, digits: Option<u32>) -> NumberContext {
    let text = value_text_as(&figure.value, Wanted { unit, digits });
    let plain = |value: Decimal| value.normalize().to_string();
    let (value, unit_symbol, ends) = match &figure.value {
        Value::Mass { mass, .. } => (plain(mass.grams()), "g", None),
        Value::Percent(percent) => (plain(percent.value()), "%", None),
        Value::PercentRange(range) => (plain(range.typical), "%", Some((plain(range.low), plain(range.high)))),
        Value::Ph(ph) => {
            let (low, high) = (ph.low.value(), ph.high.value());
            (show::ends(low, high), "pH", Some((plain(low), plain(high))))
        }
        Value::Volume { volume, .. } => (plain(volume.millilitres()), "ml", None),
        Value::Density(density) => (plain(density.grams_per_millilitre()), "g/ml", None),
        Value::Number(number) => (plain(*number), "", None),
        Value::Quantity { value, unit, .. } => (plain(*value), *unit, None),
        Value::Reading { value, ends, .. } => (plain(*value), "", ends.map(|(low, high)| (plain(low), plain(high)))),
        Value::QuantityRange { range, .. } => {
            (plain(range.typical), "", (!range.is_exact()).then(|| (plain(range.low), plain(range.high))))
        }
        Value::Worked(value) => {
            let [low, typical, high] = value.ends().map(|end| plain(end.rounded(9)));
            (typical, "", (!value.is_exact()).then_some((low, high)))
        }
        Value::Text(text) => (text.clone(), "", None),
    };
    let unit = match &figure.value {
        Value::Worked(value) => value.units().text().into(),
        Value::Reading { unit, .. } => unit.clone().into(),
        Value::QuantityRange { unit, .. } => unit.clone(),
        _ => unit_symbol.into(),
    };
    let (low, high) = ends.map_or((None, None), |(low, high)| (Some(low), Some(high)));
    NumberContext {
        text,
        working: working_text(&figure.working),
        source: figure.working.source.clone().unwrap_or_default(),
        address: figure.address.clone(),
        value,
        unit,
        low,
        high,
    }
}

/// A finding on a page.
#[derive(Clone, Debug, Serialize)]
pub struct FindingContext {
    /// error, caution, question or note.
    pub severity: &'static str,
    /// Its name.
    pub name: &'static str,
    /// What is wrong.
    pub what: String,
    /// Why it matters.
    pub why: String,
    /// What to do.
    pub mend: String,
    /// Source.
    pub source: String,
    /// "line 12" or empty.
    pub place: String,
}

/// A finding for a page. `text` is the notebook's text when the place is to be shown.
pub fn finding_context(finding: &Finding, text: Option<&str>) -> FindingContext {
    FindingContext {
        severity: finding.severity().word(),
        name: finding.kind.name,
        what: finding.what.clone(),
        why: finding.why_text().to_owned(),
        mend: finding.mend_text().to_owned(),
        source: finding.source.clone().unwrap_or_default(),
        place: text.map_or_else(String::new, |text| format!("line {}", locate(&finding.place, text).line)),
    }
}

/// The context `f` of `formula.html`, and a formula in the data file.
#[derive(Debug, Serialize)]
pub struct SheetContext {
    id: String,
    anchor: String,
    #[serde(skip_serializing_if = "String::is_empty")]
    bench_href: String,
    title: String,
    product: String,
    #[serde(rename = "use")]
    product_use: &'static str,
    batch: NumberContext,
    specification: String,
    balance: String,
    version: String,
    date: String,
    check: String,
    variant: Option<VariantContext>,
    changes: String,
    note: String,
    phases: Vec<PhaseContext>,
    /// What the sum after each phase is: what the vessel holds, where all goes into one in the order of the sheet.
    vessel_words: &'static str,
    total: TotalContext,
    scaling: ScalingContext,
    active: Option<ActiveContext>,
    water: Option<NumberContext>,
    emulsion: Option<EmulsionContext>,
    findings: Vec<FindingContext>,
}

/// What it takes to weigh a formula out for another batch: exact decimals as text.
#[derive(Debug, Serialize)]
struct ScalingContext {
    batch: String,
    readability: String,
    /// The error of weighing that is allowed, % of the weight.
    within: String,
    /// g/ml, or empty.
    density: String,
    basis: &'static str,
    /// What the amounts are shares of.
    whole: String,
    /// The amounts of all lines.
    amounts: Vec<String>,
    /// The line that takes the rounding, counted from zero.
    balance: Option<usize>,
    /// Half the width of each amount's uncertainty, where any came from a volume; otherwise empty.
    uncertainty: Vec<String>,
}

fn scaling_context(computed: &Computed) -> ScalingContext {
    let formula = &computed.formula;
    let plain = |value: Decimal| value.normalize().to_string();
    let unsure = formula.lines().any(|line| line.uncertainty.is_some_and(|width| !width.is_zero()));
    let uncertainty = |line: &Line| plain(line.uncertainty.unwrap_or_default());
    ScalingContext {
        batch: plain(computed.sheet.batch.grams()),
        readability: plain(formula.balance.readability.grams()),
        within: plain(formula.balance.within.value()),
        density: formula.density.map(|density| plain(density.grams_per_millilitre())).unwrap_or_default(),
        basis: match formula.basis {
            Basis::Percent => "percent",
            Basis::Weights => "weights",
            Basis::Parts => "parts",
        },
        whole: plain(formula.whole),
        amounts: formula.lines().map(|line| plain(line.amount)).collect(),
        balance: formula.lines().position(|line| line.is_balance),
        uncertainty: if unsure { formula.lines().map(uncertainty).collect() } else { Vec::new() },
    }
}

/// What the sum after a phase is, where a formula is weighed into one vessel in the order of its sheet.
const IN_ONE_VESSEL: &str = "the vessel then holds";
/// The same where its method has several vessels or divides a line: what a vessel then holds, only the method says.
const BY_METHOD: &str = "so far";

impl SheetContext {
    /// Percentages keep the digits that they were typed with, so the column is set by its points.
    fn align(&mut self) {
        let of_phase = |phase: &PhaseContext| {
            let own = decimals_in(&phase.percent.text);
            phase.lines.iter().filter_map(|line| decimals_in(&line.percent.text)).chain(own).max()
        };
        let most = self.phases.iter().filter_map(of_phase).chain(decimals_in(&self.total.percent.text)).max();
        let most = most.unwrap_or_default();
        for phase in &mut self.phases {
            phase.gap = gap(&phase.percent.text, most);
            for line in &mut phase.lines {
                line.gap = gap(&line.percent.text, most);
            }
        }
        self.total.gap = gap(&self.total.percent.text, most);
    }

    /// Says of the lines what the formula's method does with them, so that sheet and method do not seem to differ.
    pub(crate) fn follow(&mut self, method: &WeighedMethod) {
        let mut parts: BTreeMap<usize, usize> = BTreeMap::new();
        for added in method.steps.iter().flat_map(|step| &step.added).filter(|added| added.is_part) {
            *parts.entry(added.line).or_default() += 1;
        }
        if method.vessels.len() > 1 || !parts.is_empty() {
            self.vessel_words = BY_METHOD;
        }
        let lines = self.phases.iter_mut().flat_map(|phase| &mut phase.lines);
        for (index, line) in lines.enumerate() {
            line.parts = parts.get(&index).copied().unwrap_or_default();
        }
    }

    /// The title.
    pub(crate) fn title(&self) -> &str {
        &self.title
    }

    /// How this sheet is told from others and from its older copies, on one line: it becomes a string of CSS, which a line
    /// break would end.
    fn mark(&self) -> String {
        let version = self.version.replace(char::is_control, " ");
        let version = if version.is_empty() { String::new() } else { format!(", version {version}") };
        let date = if self.date.is_empty() { String::new() } else { format!(", {}", self.date) };
        format!("{}{version}{date}, check {}", self.id, self.check)
    }
}

/// One line of the running foot holds so many letters beside the number of the side.
const FOOT_LETTERS: usize = 100;

/// What stands in the running foot of a printed page: its title, so that a loose side is found again, and the sheets on it.
pub fn running_foot<'a>(title: &str, sheets: impl Iterator<Item = &'a SheetContext>) -> String {
    foot_of(&title.replace(char::is_control, " "), &sheets.map(SheetContext::mark).collect::<Vec<_>>())
}

/// As many sheets as there is room for, the first one in any case; the title gives way where it is too long beside that.
fn foot_of(title: &str, marks: &[String]) -> String {
    let letters = |text: &str| text.chars().count();
    let Some((first, others)) = marks.split_first() else { return title.chars().take(FOOT_LETTERS).collect() };
    let mut foot = match title.is_empty() || letters(title) + 2 + letters(first) > FOOT_LETTERS {
        true => first.clone(),
        false => format!("{title}: {first}"),
    };
    for (named, mark) in (1..).zip(others) {
        // Room is kept for saying how many there are besides.
        let more = if named + 1 < marks.len() { 14 } else { 0 };
        if letters(&foot) + 3 + letters(mark) + more > FOOT_LETTERS {
            return format!("{foot} · and {} more", marks.len() - named);
        }
        foot.push_str(" · ");
        foot.push_str(mark);
    }
    foot
}

#[derive(Debug, Serialize)]
struct VariantContext {
    id: String,
    href: String,
}

#[derive(Debug, Serialize)]
struct PhaseContext {
    key: String,
    title: String,
    hold: String,
    note: String,
    lines: Vec<LineContext>,
    percent: NumberContext,
    /// Room behind the percentage, so that all stand under each other by their decimal points; or empty.
    gap: String,
    weight: NumberContext,
    vessel: NumberContext,
}

#[derive(Debug, Serialize)]
struct LineContext {
    material: String,
    /// The id as the line names it.
    written: String,
    name: String,
    inci: String,
    href: String,
    percent: NumberContext,
    /// Room behind the percentage, as for a phase.
    gap: String,
    weight: NumberContext,
    #[serde(skip_serializing_if = "Option::is_none")]
    active: Option<NumberContext>,
    effect: String,
    strength: String,
    lot: String,
    lot_href: String,
    note: String,
    own: bool,
    own_words: String,
    volume: String,
    /// Into how many parts the method divides it; 0 where it goes in whole.
    parts: usize,
}

#[derive(Debug, Serialize)]
struct TotalContext {
    percent: NumberContext,
    gap: String,
    weight: NumberContext,
}

#[derive(Debug, Serialize)]
struct ActiveContext {
    total: NumberContext,
    classes: Vec<ClassContext>,
    usual: String,
    source: String,
}

#[derive(Debug, Serialize)]
struct ClassContext {
    name: &'static str,
    n: NumberContext,
}

fn number(figure: &Figure) -> NumberContext {
    number_context(figure, None, None)
}

/// A share for the column headed "% w/w": without the sign.
fn share(figure: &Figure) -> NumberContext {
    let mut number = number(figure);
    number.text = number.text.trim_end_matches('%').trim_end().to_owned();
    number
}

/// The links of a sheet, by id.
#[derive(Clone, Copy)]
pub struct Hrefs<'a> {
    /// To another formula's sheet.
    pub sheet: &'a dyn Fn(&str) -> String,
    /// To the page of a raw material, or empty.
    pub material: &'a dyn Fn(&str) -> String,
    /// To the bench sheet of a formula, or empty.
    pub bench: &'a dyn Fn(&str) -> String,
    /// To a lot of a raw material on the page of all lots, or empty.
    pub lot: &'a dyn Fn(&str, &str) -> String,
}

/// The sheet of a formula.
pub fn sheet_context(computed: &Computed, findings: Vec<FindingContext>, hrefs: Hrefs<'_>) -> SheetContext {
    let formula = &computed.formula;
    let sheet = &computed.sheet;
    let mut phases = Vec::with_capacity(formula.phases.len());
    let mut first = 0;
    for phase in &formula.phases {
        let lines = phase
            .lines
            .iter()
            .enumerate()
            .map(|(offset, line)| line_context(computed, first + offset, line, hrefs))
            .collect();
        phases.push(PhaseContext {
            key: phase.key.clone(),
            title: phase.title.clone().unwrap_or_default(),
            hold: phase.hold.as_ref().map_or_else(String::new, |(hold, _)| show::celsius(*hold)),
            note: phase.note.as_deref().map(kept_together).unwrap_or_default().into_owned(),
            lines,
            percent: share(&compute::phase_percent_figure(computed, phase)),
            gap: String::new(),
            weight: number(&compute::phase_weight_figure(computed, sheet, first, phase)),
            vessel: number(&compute::vessel_figure(computed, sheet, first + phase.lines.len(), phase)),
        });
        first += phase.lines.len();
    }
    let product = formula.product.as_ref();
    let mut context = SheetContext {
        id: formula.id.clone(),
        anchor: anchor_of(&formula.id),
        bench_href: (hrefs.bench)(&formula.id),
        title: formula.title.clone().unwrap_or_else(|| formula.id.clone()),
        product: product.map_or_else(String::new, |product| product.name.clone()),
        product_use: product.map_or("", |product| product.product_use.word()),
        batch: number(&compute::batch_figure(computed, sheet)),
        specification: formula
            .ph
            .map_or_else(String::new, |ph| format!("pH{}{}", show::NBSP, show::ends(ph.low.value(), ph.high.value()))),
        balance: show::grams(formula.balance.readability),
        version: formula.version.clone().unwrap_or_default(),
        date: formula.date.map_or_else(String::new, |date| date.to_string()),
        check: computed.check.clone(),
        variant: formula
            .variant
            .as_ref()
            .map(|variant| VariantContext { id: variant.id.clone(), href: (hrefs.sheet)(&variant.id) }),
        changes: formula.variant.as_ref().map_or_else(String::new, |variant| variant.changes.join("; ")),
        note: formula.note.as_deref().map(kept_together).unwrap_or_default().into_owned(),
        phases,
        vessel_words: IN_ONE_VESSEL,
        total: TotalContext {
            percent: share(&compute::total_percent_figure(computed)),
            gap: String::new(),
            weight: number(&compute::total_weight_figure(computed, sheet)),
        },
        scaling: scaling_context(computed),
        active: active_context(computed),
        water: compute::water_figure(computed).as_ref().map(number),
        emulsion: Emulsion::of(computed).map(|emulsion| emulsion_context(&emulsion)),
        findings,
    };
    context.align();
    context
}

/// The decimals of a plain number; none for "under 0.001" and the like.
fn decimals_in(text: &str) -> Option<usize> {
    let is_plain = text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
    is_plain.then(|| text.split_once('.').map_or(0, |(_, decimals)| decimals.len()))
}

/// The room of the digits that a number has fewer than another, in digits' widths. A point is half as wide as a digit in the sans serif faces.
fn gap(text: &str, most: usize) -> String {
    match decimals_in(text) {
        Some(0) if most > 0 => format!("{most}.5ch"),
        Some(own) if own < most => format!("{}ch", most - own),
        _ => String::new(),
    }
}

/// The anchor of a formula's sheet on its page.
pub(crate) fn anchor_of(id: &str) -> String {
    format!("sheet-{id}")
}

fn line_context(computed: &Computed, index: usize, line: &Line, hrefs: Hrefs<'_>) -> LineContext {
    let material = &line.material;
    let strength = line.strength.map_or_else(String::new, |strength| {
        let of = material.strength.as_ref().and_then(|fact| fact.of.as_deref()).unwrap_or("active matter");
        let shown = if strength.is_exact() {
            show::percent(strength.typical)
        } else {
            show::percent_range(strength, strength.low.scale().max(strength.high.scale()))
        };
        format!("{shown} {of}, this lot")
    });
    let own_words = match &material.origin {
        Origin::BuiltIn => "",
        Origin::Own { over: false, .. } => "own material",
        Origin::Own { over: true, .. } => "own entry in place of the catalogue’s",
    };
    LineContext {
        material: material.id.clone(),
        written: line.written.clone(),
        name: kept_together(&material.name).into_owned(),
        inci: material.inci_names().join(", "),
        href: (hrefs.material)(&material.id),
        percent: share(&compute::line_percent_figure(computed, line)),
        gap: String::new(),
        weight: number(&compute::line_weight_figure(computed, &computed.sheet, index, line)),
        active: compute::line_active_figure(computed, index, line).as_ref().map(number),
        effect: line
            .effect
            .as_ref()
            .map_or_else(String::new, |to| format!("dose to {to}: begin with half, measure, go on")),
        strength,
        lot: line.lot.clone().unwrap_or_default(),
        lot_href: line.lot.as_deref().map_or_else(String::new, |lot| (hrefs.lot)(&material.id, lot)),
        note: line.note.as_deref().map(kept_together).unwrap_or_default().into_owned(),
        own: !own_words.is_empty(),
        own_words: own_words.to_owned(),
        volume: line.volume.clone().unwrap_or_default(),
        parts: 0,
    }
}

fn active_context(computed: &Computed) -> Option<ActiveContext> {
    let total = compute::active_figure(computed)?;
    let classes = computed
        .active
        .classes
        .iter()
        .filter_map(|(class, _)| {
            let figure = compute::class_figure(computed, *class)?;
            Some(ClassContext { name: class.word(), n: number(&figure) })
        })
        .collect();
    let product = computed.formula.product.as_ref();
    let usual = product.and_then(|product| Some((product, product.active.as_ref()?)));
    Some(ActiveContext {
        total: number(&total),
        classes,
        usual: usual.map_or_else(String::new, |(product, usual)| {
            format!("usual for a {}: {}{}%", product.name, usual.words(), show::NBSP)
        }),
        source: usual.map_or_else(String::new, |(_, usual)| usual.source_line()),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(title: &str, marks: &[&str], expected: &str) {
        let marks: Vec<String> = marks.iter().map(ToString::to_string).collect();
        assert_eq!(foot_of(title, &marks), expected);
    }

    #[test]
    fn the_running_foot_stays_on_one_line() {
        check("", &[], "");
        check("Costs", &[], "Costs");
        check("", &["a, check 1"], "a, check 1");
        check("Washes", &["a", "b", "c"], "Washes: a · b · c");
        let long = "x".repeat(40);
        check("Washes", &[&long, &long, "c"], &format!("Washes: {long} · and 2 more"));
        check("Washes", &[&long, &long], &format!("Washes: {long} · {long}"));
        check(&"t".repeat(70), &[&long], &long);
        check(&"t".repeat(120), &[], &"t".repeat(100));
    }
}
