//! What a fenced block may say: TOML text into typed values, each with its place. Names are not looked up here.
//!
//! One file per kind of block. [`KINDS`] is the registry: a new kind is one file, one line there, and one [`Body`]. Formulas stand apart: they are
//! what all other blocks build on.

mod amount;
mod batch_record;
mod buffer;
mod comparison;
mod costing;
mod curve;
mod date;
mod declaration;
mod dilution;
mod excerpt;
mod expect;
mod expression;
mod filling;
mod formula;
mod kit;
mod label;
mod method;
mod money;
mod reader;
mod rows;
mod saponification;
mod shopping_list;
mod stability;
mod titration;
mod tokens;
mod trial_series;
mod window;
mod workings;

pub(crate) use amount::read_percent;
pub use amount::{Amount, BatchSpec, DropSize, Fill, FillContent, PhSpan, VolumeAmount};
pub use batch_record::{
    BatchRecordBlock, CheckBlock, Decision, GrossBlock, LossBlock, LossKind, PhReading, ReleaseBlock, TopUpBlock,
    ViscosityReading, WeighedLine,
};
pub use buffer::{BufferBlock, Dissolved, SoluteBlock, SolutionSize, TargetPh};
pub use comparison::{ComparisonBlock, ComparisonPart};
pub(crate) use costing::STALE_AFTER;
pub use costing::{CostingBlock, PackagingBlock};
pub use curve::{AxisBlock, CurveBlock, PointBlock};
pub(crate) use date::read_date_of;
pub use declaration::DeclarationBlock;
pub use dilution::{DilutionBlock, Measured, StockBlock};
pub(crate) use dilution::{read_measured, read_measured_or_none};
pub use excerpt::{Column, ExcerptBlock, ExcerptOf};
pub(crate) use expect::literal_finding;
pub use expect::{Address, ExpectBlock, ExpectLine, Expected, Within};
pub use expression::{DEEPEST, Expression, LONGEST, Node, Pair, Sign, SyntaxFault, SyntaxWhy};
pub use filling::FillingBlock;
pub use formula::{Balance, Change, FormulaBlock, LineBlock, PhaseBlock, read_formula};
pub(crate) use formula::{is_id, read_balance, read_share_range};
pub use kit::KitBlock;
pub use label::{AfterOpening, Extent, LabelBlock};
pub use method::{Addition, MethodBlock, Share, StepBlock, Warmth};
pub(crate) use money::{read_currency, read_money, read_rate};
pub use reader::{Cutting, Placed, Reader, Table, as_table, number_text, read_number};
pub use rows::{RowFiles, is_row_file};
pub(crate) use saponification::LEAST_PURITY;
pub use saponification::{
    FatAmount, FatBlock, GivenValue, LyeBlock, LyeWater, SaponificationBlock, ShareOf, Stage, ValueUnit,
};
pub use shopping_list::{MakeBlock, ShoppingListBlock};
pub use stability::{
    ConditionBlock, MeasuredBlock, ObservationBlock, PreservationBlock, SpecificationBlock, StabilityBlock, TestResult,
    When,
};
pub use titration::{AdditionBasis, ReadingOf, TitrationBlock, TitrationPoint};
pub use trial_series::{ChoiceBlock, TrialBlock, TrialReading, TrialSeriesBlock};
pub use window::{WindowBlock, WindowShown};
pub use workings::{WorkingsBlock, WorkingsLine};

use crate::report::{Finding, Place, Severity};
use std::sync::Arc;

/// A kind of block: the word after its fence, and how its body is read. A formula has no reader here; it is read by [`read_formula`].
pub struct BlockKind {
    /// The first word of the info string.
    pub word: &'static str,
    /// What it may say, in a sentence for the reader of `explain`.
    pub says: &'static str,
    /// What comes of it.
    pub gives: &'static str,
    read: Option<fn(&Reader<'_>, &Table<'_, '_>) -> Option<Body>>,
}

/// The kinds of block of ours. Any other fenced code passes through untouched.
pub const KINDS: &[BlockKind] = &[
    BlockKind {
        word: FORMULA,
        says: "Says `id`, `product`, `batch`, `ph`, `balance` and phases with a line for each raw material.",
        gives: "Gives the weighing sheet, active matter, water, and what is to be cautioned.",
        read: None,
    },
    BlockKind {
        word: "declaration",
        says: "Says `formula`, and `rules` where they are not the collection's first.",
        gives: "Gives the list of ingredients in order, with the fragrance allergens that have to be named.",
        read: Some(|reader, table| declaration::read(reader, table).map(Body::Declaration)),
    },
    BlockKind {
        word: "window",
        says: "Says `formula`, and `show` for `\"ph\"` or `\"temperature\"` alone.",
        gives: "Gives where all raw materials work and keep, with what is aimed at.",
        read: Some(|reader, table| window::read(reader, table).map(Body::Window)),
    },
    BlockKind {
        word: "method",
        says: "Says `formula`, the `tare` of the main vessel, and `[[step]]` with `do`, `add`, `in`, `pour`, `at`, `stir`, `for`, `until`, `top-up`, and `tare` for a vessel of its own.",
        gives: "Gives the steps with their weights and what the vessel then weighs.",
        read: Some(|reader, table| method::read(reader, table).map(Body::Method)),
    },
    BlockKind {
        word: "buffer",
        says: "Says `volume`, `mass` or `water`, `[contains]` with acids, bases and salts, and a `target`.",
        gives: "Gives the pH, the buffer capacity, and how much reaches the target.",
        read: Some(|reader, table| buffer::read(reader, table).map(Body::Buffer)),
    },
    BlockKind {
        word: "dilution",
        says: "Says `stock` or `[stocks]`, and two of `target`, `make` and `take`.",
        gives: "Gives what to take and what to add.",
        read: Some(|reader, table| dilution::read(reader, table).map(Body::Dilution)),
    },
    BlockKind {
        word: "curve",
        says: "Says `x` and `y` with their units, `points`, and `at` or `target` for what is wanted.",
        gives: "Gives the highest value, values between the points, and where a value is reached.",
        read: Some(|reader, table| curve::read(reader, table).map(Body::Curve)),
    },
    BlockKind {
        word: "titration",
        says: "Says `with`, `sample`, `dilution`, `additions`, `points`, `resolution` and `target`, and the `formula` or `batch` to be dosed.",
        gives: "Gives the dose for the batch, half of it to begin with, and what it makes of the formula's line.",
        read: Some(|reader, table| titration::read(reader, table).map(|block| Body::Titration(Box::new(block)))),
    },
    BlockKind {
        word: "batch-record",
        says: "Says `formula`, `date`, `[weighed]` with what was really weighed, `lots`, `tare`, `gross`, `[[loss]]`, `[[top-up]]`, `[[ph]]`, `[[check]]`, `yield`, `went-wrong`; `batch-number`, `equipment`, `cleaned`, `retained` and `[release]`; `blank = true` for one to be filled in by hand.",
        gives: "Gives how far each weight is from the plan, what was lost, the yield, and the product as it was really made.",
        read: Some(|reader, table| batch_record::read(reader, table).map(|block| Body::BatchRecord(Box::new(block)))),
    },
    BlockKind {
        word: "stability",
        says: "Says `of`, a formula or batch record, `start`, `ended`, `packaging`, `rest`, `[conditions]`, `checks`, `[specification]`, `[measured]`, `preservation`, and `[[observation]]` with `date` or `after`, `condition` and what was read and seen.",
        gives: "Gives a table and plots over time, what lies outside of the specification, how fast it drifts, and which checks are next.",
        read: Some(|reader, table| stability::read(reader, table).map(|block| Body::Stability(Box::new(block)))),
    },
    BlockKind {
        word: "filling",
        says: "Says `formula` or `bulk`, the `content` of a pack, `density`, `density-at`, `overfill`, `left-behind`, `tare`, `capacity`, `balance`.",
        gives: "Gives what goes into a pack, how many packs there are, how short a pack may be, and the net content of the label.",
        read: Some(|reader, table| filling::read(reader, table).map(Body::Filling)),
    },
    BlockKind {
        word: "costing",
        says: "Says `formula`; `batch`, `units` or the `content` of one, `waste`, `[packaging]`, `labour`, `overheads`, `date` and `stale-after`.",
        gives: "Gives what the batch, a unit and 100 g cost, and which raw material costs how much of it.",
        read: Some(|reader, table| costing::read(reader, table).map(|block| Body::Costing(Box::new(block)))),
    },
    BlockKind {
        word: "shopping-list",
        says: "Says `[[make]]` for each `formula` with its `batch`, or `kit`; `overage`, `dose-reserve`, `stock`, `not-bought`, `date` and `stale-after`.",
        gives: "Gives how much of each raw material is needed, what of it is in the cupboard, which packs to buy, and what they cost.",
        read: Some(|reader, table| shopping_list::read(reader, table).map(|block| Body::ShoppingList(Box::new(block)))),
    },
    BlockKind {
        word: "kit",
        says: "Says `formula` and `batch`, or `[[make]]` for each of several, `tables`, `overage` and `dose-reserve`.",
        gives: "Gives the cups for one table, and what is weighed out for all of them.",
        read: Some(|reader, table| kit::read(reader, table).map(|block| Body::Kit(Box::new(block)))),
    },
    BlockKind {
        word: "label",
        says: "Says `formula`, `function`, `content`, `durability` with `shown-by` and `made`, `after-opening`, `batch-number`, `responsible-person`, `business`, `origin`; `name` and `rules` where they are not the formula's and the collection's.",
        gives: "Gives a proof of the label for each rule set, with a list of what it still lacks. Advice, and no proof that the law is kept.",
        read: Some(|reader, table| label::read(reader, table).map(|block| Body::Label(Box::new(block)))),
    },
    BlockKind {
        word: "saponification",
        says: "Says `[fats]` with their `batch`, `[lye]` with the purity of each hydroxide, `superfat`, and `lye-strength` or `water`.",
        gives: "Gives the lye and the water, how much alkali the worst case leaves, and what mends a weighing mistake.",
        read: Some(|reader, table| saponification::read(reader, table).map(Body::Saponification)),
    },
    BlockKind {
        word: "excerpt",
        says: "Says `of`: a formula or method by its id, `oat-wash/phase/A`, or `oat-wash-method/step/3`; `batch`, and the columns that are `blank` or left out (`without`).",
        gives: "Gives it once more where it is wanted, with its cautions: one source for a student's sheet, a teacher's and one to be filled in.",
        read: Some(|reader, table| excerpt::read(reader, table).map(Body::Excerpt)),
    },
    BlockKind {
        word: "comparison",
        says: "Says `formulas`, a list of ids; `batch`, `show` for some of `\"lines\"`, `\"product\"`, `\"changes\"`, `\"declaration\"` and `\"findings\"`, and `unchanged = true` for the lines that stay.",
        gives: "Gives what is different between them, and whether several things changed at once.",
        read: Some(|reader, table| comparison::read(reader, table).map(Body::Comparison)),
    },
    BlockKind {
        word: "trial-series",
        says: "Says `question`, `base`, `[wanted]`, and `[[trial]]` with `formula`, `record`, `date`, `changed`, `observed` and `[trial.measured]`; `[choice]` with `trial`, `reason` and `date`.",
        gives: "Gives one table of what each trial really changed, what was seen and measured, and which one was chosen.",
        read: Some(|reader, table| trial_series::read(reader, table).map(|block| Body::TrialSeries(Box::new(block)))),
    },
    BlockKind {
        word: "expect",
        says: "Says for addresses of figures what they have to be: `\"barley-wash/active-matter\" = \"10..12 %\"`.",
        gives: "Gives an error where a figure is not what was expected.",
        read: Some(|reader, table| expect::read(reader, table).map(Body::Expect)),
    },
    BlockKind {
        word: "workings",
        says: "Says `title` and named lines of arithmetic with units: `cost = \"price × amount\"`, with figures of other blocks as `calc:formula/quantity`.",
        gives: "Gives each line with its numbers put in, and its result.",
        read: Some(|reader, table| workings::read(reader, table).map(Body::Workings)),
    },
];

/// The word of formula blocks.
pub(crate) const FORMULA: &str = "formula";

/// The words of all kinds.
pub fn words() -> impl Iterator<Item = &'static str> {
    KINDS.iter().map(|kind| kind.word)
}

/// A block that builds on formulas or on other blocks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Block {
    /// The block's place in its notebook, fences included.
    pub place: Place,
    /// The word after its fence.
    pub word: &'static str,
    /// Its id, unique in the collection, if it was given one.
    pub id: Option<Placed<String>>,
    /// The files that it reads rows from, by path from the collection's folder, whether they are there or not.
    pub row_files: Vec<Arc<str>>,
    /// What it says; `None` when something in it was not understood, which is reported.
    pub body: Option<Body>,
}

/// What a block says.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Body {
    /// An ingredient declaration.
    Declaration(DeclarationBlock),
    /// The windows of pH and temperature.
    Window(WindowBlock),
    /// The steps by which a formula is made.
    Method(MethodBlock),
    /// Acids, bases and salts in water.
    Buffer(BufferBlock),
    /// A dilution, or a mixture of stocks.
    Dilution(DilutionBlock),
    /// A measured series.
    Curve(CurveBlock),
    /// A titration.
    Titration(Box<TitrationBlock>),
    /// What was really weighed and measured.
    BatchRecord(Box<BatchRecordBlock>),
    /// What was seen of a product over time.
    Stability(Box<StabilityBlock>),
    /// Packs that are filled.
    Filling(FillingBlock),
    /// What a formula costs.
    Costing(Box<CostingBlock>),
    /// What has to be bought.
    ShoppingList(Box<ShoppingListBlock>),
    /// What is weighed out for the tables of a class.
    Kit(Box<KitBlock>),
    /// What a label says.
    Label(Box<LabelBlock>),
    /// Fats and lye.
    Saponification(SaponificationBlock),
    /// A formula, phase, method or step shown once more.
    Excerpt(ExcerptBlock),
    /// Formulas side by side.
    Comparison(ComparisonBlock),
    /// Formulas tried one after another.
    TrialSeries(Box<TrialSeriesBlock>),
    /// What figures have to be.
    Expect(ExpectBlock),
    /// Named lines of arithmetic.
    Workings(WorkingsBlock),
}

impl Block {
    /// The formulas and blocks that it builds on, by id.
    pub fn builds_on(&self) -> Vec<&Placed<String>> {
        match &self.body {
            None => Vec::new(),
            Some(Body::Declaration(block)) => vec![&block.formula],
            Some(Body::Window(block)) => vec![&block.formula],
            Some(Body::Excerpt(block)) => vec![&block.of],
            Some(Body::Method(block)) => vec![&block.formula],
            Some(Body::Comparison(block)) => block.formulas.iter().collect(),
            Some(Body::TrialSeries(block)) => {
                let tried = block.trials.iter().flat_map(|trial| std::iter::once(&trial.formula).chain(&trial.record));
                block.base.iter().chain(tried).collect()
            }
            Some(Body::Titration(block)) => block.formula.iter().collect(),
            Some(Body::BatchRecord(block)) => vec![&block.formula],
            Some(Body::Costing(block)) => vec![&block.formula],
            Some(Body::ShoppingList(block)) => block.make.iter().map(|one| &one.id).collect(),
            Some(Body::Kit(block)) => block.make.iter().map(|one| &one.id).collect(),
            Some(Body::Stability(block)) => vec![&block.of],
            Some(Body::Filling(block)) => block.formula.iter().collect(),
            Some(Body::Label(block)) => vec![&block.formula],
            Some(Body::Workings(block)) => {
                block.lines.iter().flat_map(|line| &line.figures).map(|address| &address.id).collect()
            }
            Some(Body::Buffer(_) | Body::Dilution(_) | Body::Saponification(_) | Body::Curve(_)) => Vec::new(),
            Some(Body::Expect(block)) => block.lines.iter().map(|line| &line.address.id).collect(),
        }
    }
}

/// Reads a block that is no formula. Never fails: what was not understood is reported, and the block then has no body.
pub fn read_block(word: &'static str, cutting: &Cutting, row_files: &RowFiles) -> (Block, Vec<Finding>) {
    let read = KINDS.iter().find(|kind| kind.word == word).and_then(|kind| kind.read);
    let ((id, body, row_files), mut findings) = Reader::read_with(cutting, row_files, |reader, table| {
        let id = formula::read_optional_id(reader, &table);
        let body = read.and_then(|read| read(reader, &table));
        table.finish();
        (id, body, reader.asked_files())
    });
    if cutting.is_open {
        findings.clear();
    }
    let broken = cutting.is_open || findings.iter().any(|finding| finding.severity() == Severity::Error);
    let place = Place { path: cutting.path.clone(), span: cutting.whole.clone() };
    (Block { place, word, id, row_files, body: body.filter(|_| !broken) }, findings)
}
