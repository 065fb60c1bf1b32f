//! `weigh`: the weighing sheet of one formula in the terminal, as text, CSV or JSON.

use super::csv::records;
use super::publish::{load, opened};
use super::{Outcome, Terminal};
use crate::caution::{Case, examine};
use crate::collection::Collection;
use crate::compute::{Computed, active_figure, read_batch_size};
use crate::model::{Batch, BatchGiven};
use crate::page::{Hrefs, figure_text, finding_context, sheet_context};
use crate::quantity::{MassUnit, Range, show};
use crate::report::{Finding, Severity, suggestion};
use std::fmt::Write;
use std::path::Path;
use unicode_width::UnicodeWidthStr;

/// The form of the sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub enum WeighFormat {
    /// A table to read.
    Text,
    /// Comma-separated values (RFC 4180), one row for each line.
    Csv,
    /// The formula with all figures, workings and findings.
    Json,
    /// A batch record to be filled in by hand.
    #[value(skip)]
    Record,
}

/// What is weighed otherwise than the formula says, as typed.
#[derive(Clone, Copy, Debug, Default)]
pub struct Size<'a> {
    /// Another batch.
    pub batch: Option<&'a str>,
    /// Another readability of the balance.
    pub balance: Option<&'a str>,
}

impl Size<'_> {
    /// The formula computed for this size, or why that cannot be done.
    fn of(self, computed: &Computed) -> Result<Computed, String> {
        let mut formula = computed.formula.clone();
        if let Some(text) = self.batch {
            let mass = read_batch_size(text, formula.density)
                .map_err(|reason| format!("the batch is not understood: {reason}"))?;
            formula.batch = Batch { mass, given: BatchGiven::Mass };
        }
        if let Some(text) = self.balance {
            // A volume is no readability, so there is no density to turn one into a weight.
            formula.balance.readability = read_batch_size(text, None)
                .map_err(|_| format!("the balance reads a weight such as 0.1g, not `{text}`"))?;
        }
        Ok(if self.batch.or(self.balance).is_some() { Computed::new(formula) } else { computed.clone() })
    }
}

/// Prints the sheet of a formula for its own batch or another, on its own balance or another.
pub fn weigh(id: &str, size: Size<'_>, root: &Path, format: WeighFormat, terminal: &Terminal) -> Outcome {
    let Some(folder) = opened(root, terminal) else { return Outcome::CouldNotRun };
    let collection = load(&folder, terminal);
    let Some(computed) = collection.formula(id) else {
        return not_computed(id, "weigh", &collection, root, terminal);
    };
    let computed = match size.of(computed) {
        Ok(computed) => computed,
        Err(reason) => {
            terminal.refuse(&reason);
            return Outcome::CouldNotRun;
        }
    };
    let case = Case { computed: &computed, catalogue: collection.catalogue(), settings: collection.settings() };
    let findings = examine(&case);
    match format {
        WeighFormat::Text => terminal.say(&as_text(&computed, &findings)),
        WeighFormat::Record => terminal.say(&as_record(&computed, &findings)),
        WeighFormat::Csv => terminal.say(&as_csv(&computed)),
        WeighFormat::Json => {
            let contexts = findings.iter().map(|finding| finding_context(finding, None)).collect();
            let nowhere = |_: &str| String::new();
            let hrefs = Hrefs { sheet: &nowhere, material: &nowhere, bench: &nowhere, lot: &|_, _| String::new() };
            let sheet = sheet_context(&computed, contexts, hrefs);
            let document = serde_json::json!({ "schema": "tarebook sheet 1", "formula": sheet });
            terminal.say(&serde_json::to_string_pretty(&document).unwrap_or_default());
        }
    }
    Outcome::Clean
}

/// Says why a formula that is asked for is not there; `what` could be done with it.
pub(super) fn not_computed(id: &str, what: &str, collection: &Collection, root: &Path, terminal: &Terminal) -> Outcome {
    if collection.formula_ids().any(|known| known == id) {
        terminal.complain(&Terminal::findings_text(&collection.errors(), collection));
        terminal.complain(&format!("`{id}` has errors, so there is nothing to {what} yet."));
        return Outcome::Findings;
    }
    if collection.has_errors() {
        terminal.complain(&Terminal::findings_text(&collection.errors(), collection));
        terminal.complain(&format!("There is no formula `{id}`, but there are errors that may hide it."));
        return Outcome::Findings;
    }
    let known: Vec<&str> = collection.formula_ids().collect();
    let all = if known.is_empty() {
        format!("There are no formulas in {}; --in names another collection.", root.display())
    } else {
        format!("Formulas in {}: {}.", root.display(), known.join(", "))
    };
    terminal.refuse(&format!("there is no formula `{id}`. {}", suggestion(id, known.iter().copied(), &all)));
    Outcome::CouldNotRun
}

fn as_text(computed: &Computed, findings: &[Finding]) -> String {
    let formula = &computed.formula;
    let sheet = &computed.sheet;
    let mut out = String::new();
    let title = formula.title.as_deref().unwrap_or(&formula.id);
    let _ = writeln!(out, "{title}");
    let mut head =
        vec![formula.id.clone(), format!("batch {}", figure_text(&crate::compute::batch_figure(computed, sheet)))];
    head.extend(formula.product.as_ref().map(|product| format!("{}, {}", product.name, product.product_use.word())));
    head.extend(formula.ph.map(|ph| format!("pH {}", show::ends(ph.low.value(), ph.high.value()))));
    head.push(format!("balance {}", show::grams(formula.balance.readability)));
    head.extend(formula.version.as_ref().map(|version| format!("version {version}")));
    head.extend(formula.date.map(|date| date.to_string()));
    head.push(format!("check {}", computed.check));
    let _ = writeln!(out, "{}\n", head.join("; "));
    let weight = |mass| show::mass_in(mass, MassUnit::Gram, sheet.decimals());
    let percent = |line| show::percent(formula.percent(line).value());
    let names = formula.lines().map(|line| line.material.name.width());
    let widest = names.chain(["Raw material".len()]).max().unwrap_or_default();
    let percents = formula.lines().map(|line| percent(line).width()).max().unwrap_or_default().max(8);
    let weights = sheet.printed.iter().map(|mass| weight(*mass).width()).max().unwrap_or_default().max(8);
    let mut index = 0;
    for phase in &formula.phases {
        let hold = phase.hold.as_ref().map_or(String::new(), |(hold, _)| format!(", {}", show::celsius(*hold)));
        let title = phase.title.as_ref().map_or(String::new(), |title| format!(" {title}"));
        let _ = writeln!(out, "{}{title}{hold}", phase.key);
        for line in &phase.lines {
            let name = &line.material.name;
            let pad = " ".repeat(widest - name.width().min(widest));
            let (share, mass) = (percent(line), weight(sheet.printed_of(index)));
            let left = " ".repeat(percents - share.width().min(percents));
            let right = " ".repeat(weights - mass.width().min(weights));
            let mut notes: Vec<String> = Vec::new();
            notes.extend(line.effect.as_ref().map(|to| format!("dose to {to}: begin with half, measure, go on")));
            notes.extend(line.lot.as_ref().map(|lot| format!("lot {lot}")));
            notes.extend(line.note.clone());
            let _ = writeln!(out, "  {name}{pad}  {left}{share}  {right}{mass}  {}", notes.join("; "));
            index += 1;
        }
        let held: crate::quantity::Mass = sheet.printed.iter().take(index).copied().sum();
        let _ = writeln!(out, "  the vessel then holds {}", weight(held));
    }
    let total: crate::quantity::Mass = sheet.printed.iter().copied().sum();
    let _ = writeln!(out, "Total  100\u{a0}%  {}", weight(total));
    if let Some(active) = active_figure(computed) {
        let _ = writeln!(out, "Active matter {}", figure_text(&active));
    }
    for finding in findings {
        let _ = writeln!(out, "\n{}: {}", finding.severity().word(), finding.what);
        for text in [finding.why_text(), finding.mend_text()].into_iter().filter(|text| !text.is_empty()) {
            let _ = writeln!(out, "  {text}");
        }
        if let Some(source) = &finding.source {
            let _ = writeln!(out, "  source: {source}");
        }
    }
    out.lines().map(str::trim_end).collect::<Vec<_>>().join("\n")
}

/// A record to be filled in with a pen: a box for each weight, lot, time and initials. Lines to write on are made of the low line, so that it prints
/// anywhere.
fn as_record(computed: &Computed, findings: &[Finding]) -> String {
    let formula = &computed.formula;
    let sheet = &computed.sheet;
    let mut out = String::new();
    let _ = writeln!(out, "Batch record: {}", formula.title.as_deref().unwrap_or(&formula.id));
    let mut head =
        vec![formula.id.clone(), format!("batch {}", figure_text(&crate::compute::batch_figure(computed, sheet)))];
    head.extend(formula.version.as_ref().map(|version| format!("version {version}")));
    head.push(format!("check {}", computed.check));
    head.extend(formula.ph.map(|ph| format!("pH {}", show::ends(ph.low.value(), ph.high.value()))));
    let _ = writeln!(out, "{}\n", head.join("; "));
    let cautions: Vec<&Finding> = findings.iter().filter(|finding| finding.severity() == Severity::Caution).collect();
    for finding in &cautions {
        let _ = writeln!(out, "caution: {}", finding.what);
    }
    if !cautions.is_empty() {
        out.push('\n');
    }
    let blank = |label: &str, length: usize| format!("{label} {}", "_".repeat(length));
    let _ = writeln!(
        out,
        "{}   {}   {}\n{}\n{}\n{}\n",
        blank("Date", 12),
        blank("Batch number", 12),
        blank("Made by", 8),
        blank("Vessel empty, g", 12),
        blank("Equipment", 46),
        blank("Cleaned and cleared, by", 32)
    );
    let weight = |mass| show::mass_in(mass, MassUnit::Gram, sheet.decimals());
    let widest =
        formula.lines().map(|line| line.material.name.width()).chain(["Raw material".len()]).max().unwrap_or_default();
    let weights =
        sheet.printed.iter().map(|mass| weight(*mass).width()).max().unwrap_or_default().max("To weigh".len());
    let pad = |text: &str, width: usize| " ".repeat(width - text.width().min(width));
    let boxes = |lot: &str| {
        let lot = format!("{lot}{}", "_".repeat(12 - lot.width().min(12)));
        format!("{}  {lot}  {}  {}", "_".repeat(11), "_".repeat(6), "_".repeat(8))
    };
    let name = "Raw material";
    let to_weigh = "To weigh";
    let _ = writeln!(
        out,
        "  {name}{}  {}{to_weigh}  Weighed, g   Lot           Time    Initials",
        pad(name, widest),
        pad(to_weigh, weights)
    );
    let mut index = 0;
    for phase in &formula.phases {
        let title = phase.title.as_ref().map_or(String::new(), |title| format!(" {title}"));
        let hold = phase.hold.as_ref().map_or(String::new(), |(hold, _)| format!(", {}", show::celsius(*hold)));
        let _ = writeln!(out, "\n{}{title}{hold}", phase.key);
        for line in &phase.lines {
            let (name, mass) = (&line.material.name, weight(sheet.printed_of(index)));
            let boxes = boxes(line.lot.as_deref().unwrap_or_default());
            let _ = writeln!(out, "\n  {name}{}  {}{mass}  {boxes}", pad(name, widest), pad(&mass, weights));
            if let Some(to) = &line.effect {
                let _ = writeln!(out, "    dosed to {to}: begin with half, measure, go on");
            }
            index += 1;
        }
        let label = format!("Vessel after phase {}, with what is in it", phase.key);
        let _ = writeln!(out, "\n  {label}{}  {}", pad(&label, widest + 2 + weights), "_".repeat(11));
    }
    for label in [
        "pH (neat or dilution; meter and its step; at °C; date, time)",
        "pH, read again",
        "pH, the last before filling",
        "Looked at, should be, found",
    ] {
        let _ = writeln!(out, "\n{}", blank(label, 24));
    }
    for label in [
        "Viscosity, and how measured",
        "Steam put back, g",
        "Spilt or sampled, g",
        "Weighed out, g, and packs",
        "Sample kept",
        "What went wrong",
        "Looked over by",
        "Released, held or rejected; why; by, on",
    ] {
        let _ = writeln!(out, "\n{}", blank(label, 40));
    }
    out.lines().map(str::trim_end).collect::<Vec<_>>().join("\n")
}

/// A lot's strength in %, with the digits it was typed with.
fn strength_words(strength: Range) -> String {
    show::ends(strength.low, strength.high)
}

fn as_csv(computed: &Computed) -> String {
    let formula = &computed.formula;
    let mut rows = vec![
        [
            "formula",
            "version",
            "check",
            "phase",
            "material",
            "name",
            "percent",
            "weight_g",
            "strength_percent",
            "lot",
            "dose_to",
            "note",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    let mut index = 0;
    for phase in &formula.phases {
        for line in &phase.lines {
            rows.push(vec![
                formula.id.clone(),
                formula.version.clone().unwrap_or_default(),
                computed.check.clone(),
                phase.key.clone(),
                line.material.id.clone(),
                line.material.name.clone(),
                formula.percent(line).value().normalize().to_string(),
                computed.sheet.printed_of(index).grams().to_string(),
                line.strength.map_or_else(String::new, strength_words),
                line.lot.clone().unwrap_or_default(),
                line.effect.clone().unwrap_or_default(),
                line.note.clone().unwrap_or_default(),
            ]);
            index += 1;
        }
    }
    records(&rows)
}
