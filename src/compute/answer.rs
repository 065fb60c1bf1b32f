//! What a block that is no formula comes to.

use super::address::AddressFault;
use super::batch_record::BatchRecord;
use super::buffer::Buffer;
use super::comparison::SideBySide;
use super::costing::Costing;
use super::curve::Curve;
use super::declaration::Declaration;
use super::dilution::Dilution;
use super::excerpt::Excerpt;
use super::expect::Expect;
use super::figure::Figure;
use super::filling::Filling;
use super::kit::Kit;
use super::label::Label;
use super::method::WeighedMethod;
use super::saponification::Saponification;
use super::shopping_list::ShoppingList;
use super::stability::Stability;
use super::titration::Titration;
use super::trial_series::TrialSeries;
use super::windows::Windows;
use super::workings::Workings;

/// The answer of a block, by its kind.
#[derive(Clone, Debug)]
pub enum Answer {
    /// An ingredient declaration.
    Declaration(Declaration),
    /// The windows of pH and temperature.
    Window(Windows),
    /// The steps by which a formula is made.
    Method(WeighedMethod),
    /// A predicted pH.
    Buffer(Buffer),
    /// A dilution.
    Dilution(Dilution),
    /// A measured series.
    Curve(Curve),
    /// A titration.
    Titration(Box<Titration>),
    /// What was really weighed and measured, and the product as it came out.
    BatchRecord(Box<BatchRecord>),
    /// What was seen of a product over time.
    Stability(Box<Stability>),
    /// What goes into a pack, and how many there are.
    Filling(Filling),
    /// What a formula costs.
    Costing(Box<Costing>),
    /// What has to be bought.
    ShoppingList(Box<ShoppingList>),
    /// What is weighed out for the tables of a class.
    Kit(Box<Kit>),
    /// What a label says.
    Label(Box<Label>),
    /// Fats and lye.
    Saponification(Box<Saponification>),
    /// A formula, phase, method or step shown once more.
    Excerpt(Box<Excerpt>),
    /// Formulas side by side.
    Comparison(Box<SideBySide>),
    /// Formulas tried one after another.
    TrialSeries(Box<TrialSeries>),
    /// Expectations that hold.
    Expect(Expect),
    /// Named lines of arithmetic.
    Workings(Workings),
}

impl Answer {
    /// The addresses below the block's id.
    pub fn addresses(&self) -> Vec<String> {
        match self {
            Answer::Declaration(_) => vec!["text".to_owned()],
            Answer::Window(windows) => windows.addresses(),
            Answer::Method(method) => method.addresses(),
            Answer::Buffer(buffer) => buffer.addresses(),
            Answer::Dilution(dilution) => dilution.addresses(),
            Answer::Curve(curve) => curve.addresses(),
            Answer::Titration(titration) => titration.addresses(),
            Answer::BatchRecord(record) => record.addresses(),
            Answer::Stability(log) => log.addresses(),
            Answer::Filling(filling) => filling.addresses(),
            Answer::Costing(costing) => costing.addresses(),
            Answer::ShoppingList(list) => list.addresses(),
            Answer::Kit(kit) => kit.addresses(),
            Answer::Label(label) => label.addresses(),
            Answer::Saponification(soap) => soap.addresses(),
            // Its figures are those of the formula or method.
            Answer::Excerpt(_) | Answer::Expect(_) => Vec::new(),
            Answer::Workings(workings) => workings.addresses(),
            Answer::Comparison(side_by_side) => side_by_side.comparison.addresses(),
            Answer::TrialSeries(series) => series.addresses(),
        }
    }

    /// The figure at a path below the block's id.
    ///
    /// # Errors
    /// The addresses there are, when nothing has this one.
    pub fn look_up(&self, id: &str, path: &[&str]) -> Result<Figure, AddressFault> {
        if let Answer::Window(windows) = self
            && let Some(figure) = windows.look_up(id, path)
        {
            return figure;
        }
        let found = match self {
            Answer::Curve(curve) => curve.look_up(id, path),
            Answer::Costing(costing) => costing.look_up(id, path),
            Answer::ShoppingList(list) => list.look_up(id, path),
            Answer::Kit(kit) => kit.look_up(id, path),
            Answer::Label(label) => label.look_up(id, path),
            Answer::Titration(titration) => titration.look_up(id, path),
            Answer::BatchRecord(record) => record.look_up(id, path),
            Answer::Stability(log) => log.look_up(id, path),
            Answer::Comparison(side_by_side) => side_by_side.comparison.look_up(id, path),
            Answer::TrialSeries(series) => series.look_up(id, path),
            _ => None,
        };
        if let Some(figure) = found {
            return figure;
        }
        let figure = match (self, path) {
            (Answer::Declaration(declaration), ["text"]) => Some(declaration.figure(format!("{id}/text"))),
            (Answer::Method(method), path) => method.figure(id, path),
            (Answer::Buffer(buffer), path) => buffer.figure(id, path),
            (Answer::Workings(workings), path) => workings.figure(id, path),
            (Answer::Dilution(dilution), path) => dilution.figure(id, path),
            (Answer::Filling(filling), path) => filling.figure(id, path),
            (Answer::Saponification(soap), path) => soap.figure(id, path),
            _ => None,
        };
        figure.ok_or_else(|| {
            AddressFault::Unknown(self.addresses().into_iter().map(|address| format!("{id}/{address}")).collect())
        })
    }
}
