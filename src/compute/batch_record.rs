//! What was really made: each weight beside the planned one, the vessel on the balance, and the product as it came out.
//!
//! A line that is not named has no weight, unless the record says that the rest was weighed as planned. With one weight missing there is no total and no actual
//! formula. The actual formula is the formula with the amounts that are in the vessel at the end, and goes through the same calculations as any other.

mod figures;
mod vessel;

use super::declaration::{Declaration, Rules};
use super::{Computed, Sheet};
use crate::block::{
    BatchRecordBlock, CheckBlock, LossBlock, PhReading, Placed, ReleaseBlock, TopUpBlock, ViscosityReading, WeighedLine,
};
use crate::material::{Catalogue, Fact, Material};
use crate::model::{Basis, Batch, BatchGiven, Formula, Line};
use crate::quantity::{Date, Decimal, Mass, Percent, Ph, Range, round_half_even};
use crate::report::Place;
use std::sync::Arc;
pub use vessel::{Account, Stage, TopUp};

/// How far a weight may be off, where neither record nor collection says it. Common practice, no source.
const USUAL_TOLERANCE: Percent = Percent::new(Decimal::TWO);

/// A batch record worked out.
#[derive(Clone, Debug)]
pub struct BatchRecord {
    /// The formula that was made, by its id.
    pub formula: String,
    /// Its title.
    pub title: String,
    /// Its present version.
    pub version: Option<String>,
    /// The version that was weighed by, as the record has it.
    pub made_by: Option<String>,
    /// Whether it is to be filled in by hand.
    pub is_blank: bool,
    /// The day.
    pub date: Option<Date>,
    /// Who made it.
    pub operator: Option<String>,
    /// The number under which it is found again.
    pub batch_number: Option<String>,
    /// What it was made in and with.
    pub equipment: Vec<String>,
    /// How bench and equipment were cleaned, and cleared of what was made before.
    pub cleaned: Option<String>,
    /// What was looked at besides.
    pub checks: Vec<CheckBlock>,
    /// What was kept of it.
    pub retained: Option<String>,
    /// What was decided about it.
    pub release: Option<ReleaseBlock>,
    /// The formula with the batch that was planned.
    pub planned: Arc<Computed>,
    /// Each line.
    pub lines: Vec<RecordLine>,
    /// How far a weight may be off.
    pub tolerance: Tolerance,
    /// The empty vessel.
    pub tare: Option<Mass>,
    /// What left the vessel, as noted.
    pub losses: Vec<LossBlock>,
    /// What was put back or on top, as noted.
    pub top_ups: Vec<TopUpBlock>,
    /// What happened in the vessel; none while a weight is missing.
    pub account: Option<Account>,
    /// The product as it was really made; none while a weight is missing, or in a blank record.
    pub actual: Option<Arc<Computed>>,
    /// The list of ingredients of the product as it was made, and that of the plan.
    pub declarations: Option<(Declaration, Declaration)>,
    /// Readings of the pH.
    pub ph: Vec<PhReading>,
    /// Readings of the viscosity.
    pub viscosity: Vec<ViscosityReading>,
    /// What was weighed out.
    pub filled: Option<Mass>,
    /// In how many packs.
    pub packs: Option<Decimal>,
    /// What a pack declares by weight, and as written, where the batch of the formula is made in packs.
    pub pack_content: Option<(Mass, String)>,
    /// What went wrong.
    pub went_wrong: Vec<String>,
}

/// How far a weight may be off the planned one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Tolerance {
    /// % of the planned weight.
    pub percent: Percent,
    /// Who says so.
    pub source: &'static str,
}

/// One line of the formula with what was weighed of it.
#[derive(Clone, Debug)]
pub struct RecordLine {
    /// The name of its figures: the raw material, with its phase before it where it stands in two.
    pub key: String,
    /// Its phase, by index.
    pub phase: usize,
    /// The raw material.
    pub material: Arc<Material>,
    /// As the formula names it.
    pub written: String,
    /// What the sheet says.
    pub planned: Mass,
    /// What was weighed; none where it is not known.
    pub weighed: Option<Mass>,
    /// Its weighings, where there was more than one.
    pub portions: Vec<Mass>,
    /// Whether it is only said that it was weighed as planned.
    pub is_as_planned: bool,
    /// What a dose to effect is dosed to.
    pub effect: Option<String>,
    /// Its lots in the order of their weighings: none where none is noted, and more than one where a drum ran out.
    pub lots: Vec<LotPart>,
    /// A remark.
    pub note: Option<String>,
    /// Where what was weighed is written, or the record as a whole.
    pub place: Place,
}

/// What was weighed of one lot.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LotPart {
    /// Its number; none of what was weighed beside other lots and names none.
    pub number: Option<String>,
    /// Where the record names it, if it does.
    pub place: Option<Place>,
    /// How much; none where it is not known.
    pub weight: Option<Mass>,
}

/// Why there is no record.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RecordFault {
    /// Something was weighed that the formula does not hold.
    NoLine(Placed<String>, &'static str),
    /// A raw material stands in several phases; their names.
    WhichLine(Placed<String>, Vec<String>),
    /// A line is named twice.
    Twice(Placed<String>),
    /// A lot of a raw material of which every weighing names another: the raw material, the lot, and another one.
    LotOfNothing(Placed<String>, Placed<String>, Option<(String, Place)>),
    /// The formula has no such phase.
    NoPhase(Placed<String>),
    /// The vessel was weighed full, and not empty.
    NoTare(Place),
    /// The empty vessel weighs more than the full one: the full weight, and the empty one.
    TareAboveGross(Placed<Mass>, Placed<Mass>),
    /// More left the vessel than was in it: how much, and how much there was.
    LostTooMuch(Placed<Mass>, Mass),
    /// A top-up with something that the catalogue does not know.
    NoMaterial(Placed<String>),
    /// A reading from before the batch was made.
    BeforeMade(Placed<Date>, Date),
    /// A decision from before the batch was made.
    DecidedBefore(Placed<Date>, Date),
    /// Nothing at all was weighed.
    Nothing,
}

impl RecordLine {
    /// Weighed − planned. A dose to effect has no plan to be off from.
    pub fn deviation(&self) -> Option<Mass> {
        self.weighed.filter(|_| self.effect.is_none()).map(|weighed| weighed - self.planned)
    }

    /// The deviation in % of what was planned; none where nothing was planned.
    pub fn deviation_percent(&self) -> Option<Percent> {
        let deviation = self.deviation()?.grams() * Decimal::ONE_HUNDRED;
        deviation.checked_div(self.planned.grams()).map(|quotient| Percent::new(quotient.normalize()))
    }

    /// Whether the deviation is larger than allowed. One step of the balance is always allowed: it shows nothing between.
    pub fn is_outside(&self, tolerance: Tolerance, readability: Mass) -> bool {
        let Some(deviation) = self.deviation() else { return false };
        let off = deviation.grams().abs();
        off > tolerance.percent.of(self.planned.grams()) && off > readability.grams()
    }

    /// The numbers of its lots, in words; none where none is noted.
    pub fn lots_in_words(&self) -> Option<String> {
        let numbers: Vec<&str> = self.lots.iter().filter_map(|part| part.number.as_deref()).collect();
        (!numbers.is_empty()).then(|| numbers.join(", "))
    }

    /// The strength of what was weighed, % w/w: that of its lot, or of several mixed as they were weighed, where one that the collection does not know of is as
    /// strong as the raw material usually is. None where it is the raw material's own. `planned` is the line of the formula.
    fn strength(&self, planned: &Line) -> Option<Range> {
        let of = |part: &LotPart| match &part.number {
            number if *number == planned.lot => planned.strength,
            number => self.material.lot(number.as_deref()?)?.strength,
        };
        if let [one] = self.lots.as_slice() {
            return of(one);
        }
        if self.lots.iter().all(|part| of(part).is_none()) {
            return None;
        }
        let usual = self.material.strength.as_ref().and_then(Fact::range);
        let mut sum = Range::ZERO;
        for part in &self.lots {
            sum = sum + of(part).or(usual)?.times(part.weight?.grams());
        }
        // Certificates have a digit or two; six decimals lose nothing of them, and leave room for what is reckoned with it.
        let of_whole = |end: Decimal| Some(round_half_even(end.checked_div(self.weighed?.grams())?, 6).normalize());
        Some(Range { low: of_whole(sum.low)?, typical: of_whole(sum.typical)?, high: of_whole(sum.high)? })
    }
}

impl BatchRecord {
    /// Works out a record of a formula.
    ///
    /// # Errors
    /// Everything that stands against it.
    pub fn of<'c>(
        block: &BatchRecordBlock,
        place: &Place,
        computed: &Computed,
        of_collection: Option<Percent>,
        material: impl Fn(&str) -> Option<&'c Arc<Material>>,
    ) -> Result<BatchRecord, Vec<RecordFault>> {
        let mut faults = Vec::new();
        let planned = planned(computed, block.batch);
        let lines = lines_of(block, place, &planned, &mut faults);
        let date = block.date.as_ref().map(|date| date.value);
        let dates = block.ph.iter().map(|one| &one.date).chain(block.viscosity.iter().map(|one| &one.date));
        for read in dates.flatten() {
            faults
                .extend(date.filter(|made| read.value < *made).map(|made| RecordFault::BeforeMade(read.clone(), made)));
        }
        if let Some(decided) = block.release.as_ref().and_then(|release| release.date.as_ref()) {
            let made = date.filter(|made| decided.value < *made);
            faults.extend(made.map(|made| RecordFault::DecidedBefore(decided.clone(), made)));
        }
        if let (None, Some(gross)) = (&block.tare, block.gross.first()) {
            faults.push(RecordFault::NoTare(gross.weight.place.clone()));
        }
        if let Some(tare) = &block.tare {
            let lighter = block.gross.iter().filter(|gross| gross.weight.value < tare.value);
            faults.extend(lighter.map(|gross| RecordFault::TareAboveGross(gross.weight.clone(), tare.clone())));
        }
        let account = Account::of(block, &lines, &planned.formula, &material, &mut faults);
        if !block.is_blank && lines.iter().all(|line| line.weighed.is_none_or(|weighed| weighed == Mass::ZERO)) {
            faults.push(RecordFault::Nothing);
        }
        if !faults.is_empty() {
            return Err(faults);
        }
        let formula = &planned.formula;
        let actual = account
            .as_ref()
            .filter(|_| !block.is_blank)
            .and_then(|account| actual(formula, &lines, account, place))
            .map(|formula| Arc::new(Computed::new(formula)));
        Ok(BatchRecord {
            formula: formula.id.clone(),
            title: formula.title.clone().unwrap_or_else(|| formula.id.clone()),
            version: formula.version.clone(),
            made_by: block.version.as_ref().map(|version| version.value.clone()),
            is_blank: block.is_blank,
            date,
            operator: block.operator.clone(),
            batch_number: block.batch_number.as_ref().map(|number| number.value.clone()),
            equipment: block.equipment.clone(),
            cleaned: block.cleaned.clone(),
            checks: block.checks.clone(),
            retained: block.retained.clone(),
            release: block.release.clone(),
            planned: Arc::new(planned),
            lines,
            tolerance: tolerance(block.tolerance, of_collection),
            tare: block.tare.as_ref().map(|tare| tare.value),
            losses: block.losses.clone(),
            top_ups: block.top_ups.clone(),
            account,
            actual,
            declarations: None,
            ph: block.ph.clone(),
            viscosity: block.viscosity.clone(),
            filled: block.filled.as_ref().map(|filled| filled.value),
            packs: block.packs,
            pack_content: computed.formula.batch.pack(),
            went_wrong: block.went_wrong.clone(),
        })
    }

    /// With the lists of ingredients by these rules.
    #[must_use]
    pub fn declared(mut self, catalogue: &Catalogue, rules: Rules) -> BatchRecord {
        let list = |computed: &Computed| Declaration::of(computed, catalogue, rules);
        self.declarations = self.actual.as_ref().map(|actual| (list(actual), list(&self.planned)));
        self
    }

    /// The sum of all weighings; none while one is missing.
    pub fn total(&self) -> Option<Mass> {
        self.lines.iter().map(|line| line.weighed).try_fold(Mass::ZERO, |sum, weighed| Some(sum + weighed?))
    }

    /// Whether it names another version than the formula has now.
    pub fn is_of_another_version(&self) -> bool {
        self.made_by.is_some() && self.made_by != self.version
    }

    /// What was planned, as the sheet has it.
    pub fn planned_batch(&self) -> Mass {
        self.planned.sheet.batch_printed
    }

    /// The smallest step of the balance.
    pub fn readability(&self) -> Mass {
        self.planned.sheet.readability
    }

    /// The reading of the pH that counts: the last day's last.
    pub fn last_ph(&self) -> Option<&PhReading> {
        let day = |one: &PhReading| one.date.as_ref().map(|date| date.value).or(self.date);
        self.ph.iter().max_by_key(|one| day(one))
    }
}

/// The step of a reading: as stated, or the last digit that was written down. A strip shows a field of colour, so its digits say nothing.
pub fn step_of(reading: &PhReading) -> Option<Decimal> {
    let is_strip = reading.with.as_deref().is_some_and(|with| with.to_lowercase().contains("strip"));
    let written = reading.ph.value.value().scale();
    reading.resolution.or_else(|| (!is_strip).then(|| Decimal::new(1, written)))
}

/// From where to where the pH lies that was read: half a step either way.
pub fn ends_of(reading: &PhReading) -> Option<(Decimal, Decimal)> {
    let half = step_of(reading)? / Decimal::TWO;
    let ph = Ph::value(reading.ph.value);
    Some(((ph - half).normalize(), (ph + half).normalize()))
}

fn tolerance(of_record: Option<Percent>, of_collection: Option<Percent>) -> Tolerance {
    match (of_record, of_collection) {
        (Some(percent), _) => Tolerance { percent, source: "the tolerance of this record" },
        (None, Some(percent)) => Tolerance { percent, source: "the tolerance of the collection" },
        (None, None) => Tolerance { percent: USUAL_TOLERANCE, source: "common practice, no source" },
    }
}

fn is_another_version(block: &BatchRecordBlock, formula: &Formula) -> bool {
    block.version.as_ref().is_some_and(|version| formula.version.as_deref() != Some(version.value.as_str()))
}

/// The formula with the batch that was planned.
fn planned(computed: &Computed, batch: Option<Mass>) -> Computed {
    match batch {
        Some(mass) if mass != computed.formula.batch.mass => {
            let mut formula = computed.formula.clone();
            formula.batch = Batch { mass, given: BatchGiven::Mass };
            Computed::new(formula)
        }
        _ => computed.clone(),
    }
}

/// The lines that a name in the record means: the raw material, by itself or with its phase before it.
fn lines_called(formula: &Formula, name: &str) -> Vec<usize> {
    let (phase, material) = match name.split_once('/') {
        Some((phase, material)) => (Some(phase.trim()), material.trim()),
        None => (None, name.trim()),
    };
    let all = formula.phases.iter().flat_map(|one| one.lines.iter().map(move |line| (one, line)));
    let is_meant = |line: &Line| {
        line.written == material
            || line.material.id == material
            || line.material.also.iter().any(|also| also == material)
    };
    all.enumerate()
        .filter(|(_, (one, line))| phase.is_none_or(|phase| one.key == phase) && is_meant(line))
        .map(|(index, _)| index)
        .collect()
}

fn lines_of(
    block: &BatchRecordBlock,
    place: &Place,
    planned: &Computed,
    faults: &mut Vec<RecordFault>,
) -> Vec<RecordLine> {
    let formula = &planned.formula;
    let Sheet { printed, .. } = &planned.sheet;
    let home = Place { path: place.path.clone(), span: block.formula.place.span.clone() };
    let all =
        formula.phases.iter().enumerate().flat_map(|(phase, one)| one.lines.iter().map(move |line| (phase, one, line)));
    let mut lines: Vec<RecordLine> = all
        .zip(printed)
        .map(|((phase, one, line), planned)| {
            let several = formula.lines().filter(|other| other.written == line.written).count() > 1;
            // The plan of another version is not known here, and a record of the past must not change with the formula.
            let is_as_planned = block.rest_as_planned && !block.is_blank && !is_another_version(block, formula);
            RecordLine {
                key: if several { format!("{}/{}", one.key, line.written) } else { line.written.clone() },
                phase,
                material: Arc::clone(&line.material),
                written: line.written.clone(),
                planned: *planned,
                weighed: is_as_planned.then_some(*planned),
                portions: Vec::new(),
                is_as_planned,
                effect: line.effect.clone(),
                lots: Vec::new(),
                note: None,
                place: home.clone(),
            }
        })
        .collect();
    let one_of = |name: &Placed<String>, what: &'static str, faults: &mut Vec<RecordFault>| -> Option<usize> {
        match lines_called(formula, &name.value).as_slice() {
            [] => faults.push(RecordFault::NoLine(name.clone(), what)),
            [index] => return Some(*index),
            several => {
                let phase = |index: &usize| {
                    let mut before = 0;
                    formula.phases.iter().find(|one| {
                        before += one.lines.len();
                        *index < before
                    })
                };
                let keys = several.iter().filter_map(phase).map(|one| one.key.clone()).collect();
                faults.push(RecordFault::WhichLine(name.clone(), keys));
            }
        }
        None
    };
    // The lot of what names none of its own: the formula's, or that of the record.
    let mut usual: Vec<Option<(String, Option<Place>)>> =
        formula.lines().map(|line| Some((line.lot.clone()?, None))).collect();
    for (name, lot) in &block.lots {
        // One drum serves all phases: a lot by raw material goes to each of its lines.
        let called = lines_called(formula, &name.value);
        if called.is_empty() {
            faults.push(RecordFault::NoLine(name.clone(), "lot"));
        }
        for index in called {
            if let Some(usual) = usual.get_mut(index) {
                *usual = Some((lot.value.clone(), Some(lot.place.clone())));
            }
        }
    }
    let mut seen: Vec<usize> = Vec::new();
    for weighed in &block.weighed {
        let Some(index) = one_of(&weighed.material, "weight", faults) else { continue };
        if seen.contains(&index) {
            faults.push(RecordFault::Twice(weighed.material.clone()));
            continue;
        }
        seen.push(index);
        let Some(line) = lines.get_mut(index) else { continue };
        line.place = weighed.material.place.clone();
        if !weighed.portions.is_empty() {
            line.weighed = Some(weighed.portions.iter().copied().sum());
            line.is_as_planned = false;
        }
        if weighed.portions.len() > 1 {
            line.portions.clone_from(&weighed.portions);
        }
        if let (Some(lot), Some(usual)) = (&weighed.lot, usual.get_mut(index)) {
            *usual = Some((lot.value.clone(), Some(lot.place.clone())));
        }
        if let Some(usual) = usual.get(index) {
            line.lots = parts_of(weighed, usual.as_ref());
        }
        line.note.clone_from(&weighed.note);
    }
    for (line, usual) in lines.iter_mut().zip(&usual) {
        if let (true, Some((number, place))) = (line.lots.is_empty(), usual) {
            line.lots = vec![LotPart { number: Some(number.clone()), place: place.clone(), weight: line.weighed }];
        }
    }
    for (name, lot) in &block.lots {
        let called = lines_called(formula, &name.value);
        let of_called = || called.iter().filter_map(|index| lines.get(*index)).flat_map(|line| &line.lots);
        if called.is_empty() || of_called().any(|part| part.number.as_ref() == Some(&lot.value)) {
            continue;
        }
        let other = of_called().find_map(|part| Some((part.number.clone()?, part.place.clone()?)));
        faults.push(RecordFault::LotOfNothing(name.clone(), lot.clone(), other));
    }
    lines
}

/// What was weighed of each lot, where weighings name their own.
fn parts_of(weighed: &WeighedLine, usual: Option<&(String, Option<Place>)>) -> Vec<LotPart> {
    let mut parts: Vec<LotPart> = Vec::new();
    for (weight, lot) in weighed.portions.iter().zip(&weighed.lots) {
        let (number, place) = match (lot, usual) {
            (Some(lot), _) => (Some(lot.value.clone()), Some(lot.place.clone())),
            (None, Some((number, place))) => (Some(number.clone()), place.clone()),
            (None, None) => (None, None),
        };
        match parts.iter_mut().find(|part| part.number == number) {
            Some(part) => part.weight = part.weight.map(|so_far| so_far + *weight),
            None => parts.push(LotPart { number, place, weight: Some(*weight) }),
        }
    }
    parts
}

/// The formula of what is in the vessel at the end. None where nothing is.
fn actual(planned: &Formula, lines: &[RecordLine], account: &Account, place: &Place) -> Option<Formula> {
    let whole = account.whole();
    if whole <= Decimal::ZERO {
        return None;
    }
    let mut formula = planned.clone();
    let mut rest = lines.iter().zip(&account.amounts);
    for line in formula.phases.iter_mut().flat_map(|phase| &mut phase.lines) {
        let (record, amount) = rest.next()?;
        line.amount = *amount;
        line.uncertainty = None;
        line.volume = None;
        line.is_balance = false;
        let lot = record.lots_in_words();
        if lot != line.lot {
            line.strength = record.strength(line);
            line.lot = lot;
        }
        line.place = record.place.clone();
        line.amount_place = record.place.clone();
    }
    if let Some(phase) = formula.phases.last_mut() {
        phase.lines.extend(account.foreign.iter().map(|top_up| Line {
            material: Arc::clone(&top_up.material),
            written: top_up.material.id.clone(),
            amount: top_up.amount,
            uncertainty: None,
            is_balance: false,
            effect: None,
            volume: None,
            strength: top_up.lot.as_deref().and_then(|lot| top_up.material.lot(lot)?.strength),
            lot: top_up.lot.clone(),
            note: None,
            place: place.clone(),
            amount_place: place.clone(),
        }));
    }
    formula.basis = Basis::Weights;
    formula.whole = whole;
    formula.batch = Batch { mass: account.content(), given: BatchGiven::Mass };
    Some(formula)
}
