//! Workings: named lines of arithmetic, each worked out once all lines that it rests on are.
//!
//! Everything is exact inside (fractions, no floating point); digits are only left out where a result is shown, by the rule of [`UnitValue::places`]. A line
//! that rests on one with a mistake is not worked out and says nothing of its own.

use super::figure::{Figure, Piece, Value, Working};
use crate::block::{Expression, Node, Pair, Sign, SyntaxWhy, WorkingsBlock, WorkingsLine};
use crate::quantity::{Misfit, UnitValue};
use std::collections::BTreeMap;
use std::ops::Range;

/// Workings with the result of every line.
#[derive(Clone, Debug)]
pub struct Workings {
    /// What they are about.
    pub title: Option<String>,
    /// The lines in the order written.
    pub lines: Vec<WorkedLine>,
    /// The figures of other blocks that were put in, by address as written.
    pub figures: BTreeMap<String, Figure>,
}

/// A line worked out.
#[derive(Clone, Debug)]
pub struct WorkedLine {
    /// Its name.
    pub name: String,
    /// Its expression.
    pub expression: Expression,
    /// Its result.
    pub value: UnitValue,
    /// What is said about it.
    pub note: Option<String>,
}

/// Something wrong in a line: which, where in its expression, and why.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct WorkingsFault {
    /// Index of the line.
    pub line: usize,
    /// Bytes of the expression.
    pub span: Range<usize>,
    /// Why.
    pub why: WorkingsWhy,
}

/// What is wrong in a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum WorkingsWhy {
    /// It is no expression.
    Syntax(SyntaxWhy),
    /// No line has this name.
    UnknownName(String),
    /// Two values do not go together; what was to be done with them.
    Misfit(Misfit, &'static str),
    /// A figure that is words, or has a unit that is not known here.
    NotANumber(String),
    /// Lines that rest on each other; their names, the first one again at the end.
    Circle(Vec<String>),
}

/// Why a part of an expression has no value.
enum Stop {
    /// A mistake in another line or block, told there.
    Elsewhere,
    /// A mistake here.
    Here(Range<usize>, WorkingsWhy),
}

impl Workings {
    /// Works out all lines with the figures that they name; a figure that is missing has been told of by the caller.
    ///
    /// # Errors
    /// Everything that is wrong in the lines; nothing when only figures are missing.
    pub fn of(block: &WorkingsBlock, figures: BTreeMap<String, Figure>) -> Result<Workings, Vec<WorkingsFault>> {
        let mut faults = Vec::new();
        let known: BTreeMap<&str, usize> =
            block.lines.iter().enumerate().map(|(index, line)| (line.name.value.as_str(), index)).collect();
        for (line, written) in block.lines.iter().enumerate() {
            match &written.expression {
                Err(fault) => {
                    faults.push(WorkingsFault {
                        line,
                        span: fault.span.clone(),
                        why: WorkingsWhy::Syntax(fault.why.clone()),
                    });
                }
                Ok(expression) => {
                    for (name, span) in expression.lines().into_iter().filter(|(name, _)| !known.contains_key(name)) {
                        faults.push(WorkingsFault { line, span, why: WorkingsWhy::UnknownName(name.to_owned()) });
                    }
                }
            }
        }
        let order = order_of(&block.lines, &known, &mut faults);
        let mut values: BTreeMap<&str, UnitValue> = BTreeMap::new();
        for index in order {
            let Some(line) = block.lines.get(index) else { continue };
            let Ok(expression) = &line.expression else { continue };
            let mut stops = Vec::new();
            let value = Reckoner { values: &values, figures: &figures }.value(expression, &mut stops);
            if let Some(value) = value {
                values.insert(line.name.value.as_str(), value);
            }
            faults.extend(stops.into_iter().filter_map(|stop| match stop {
                Stop::Elsewhere => None,
                Stop::Here(span, why) => Some(WorkingsFault { line: index, span, why }),
            }));
        }
        let worked = |line: &WorkingsLine| {
            Some(WorkedLine {
                name: line.name.value.clone(),
                expression: line.expression.clone().ok()?,
                value: values.get(line.name.value.as_str())?.clone(),
                note: line.note.clone(),
            })
        };
        let lines: Option<Vec<WorkedLine>> = block.lines.iter().map(worked).collect();
        match lines {
            Some(lines) if faults.is_empty() => Ok(Workings { title: block.title.clone(), lines, figures }),
            _ => {
                faults.sort_by_key(|fault| (fault.line, fault.span.start));
                Err(faults)
            }
        }
    }

    /// The addresses below the block's id: one for each line.
    pub fn addresses(&self) -> Vec<String> {
        self.lines.iter().map(|line| line.name.clone()).collect()
    }

    /// The figure of a line.
    pub fn figure(&self, id: &str, path: &[&str]) -> Option<Figure> {
        let [name] = path else { return None };
        let line = self.lines.iter().find(|line| line.name == *name)?;
        Some(self.figure_of(id, line))
    }

    /// The figure of a line that is one of these.
    pub fn figure_of(&self, id: &str, line: &WorkedLine) -> Figure {
        let mut working = Working { pieces: self.expression_pieces(line), source: None };
        if let Some(put_in) = self.put_in(line) {
            working.pieces.push(Piece::Text(" = ".into()));
            working.pieces.extend(put_in);
        }
        working.pieces.push(Piece::Text(if line.value.is_shown_exactly() { " = " } else { " ≈ " }.into()));
        working.pieces.push(Piece::Value(Value::Worked(line.value.clone())));
        if is_quantity(&line.expression) {
            working = Working::new().text("as written");
        }
        working.source = line.note.clone();
        Figure { address: format!("{id}/{}", line.name), value: Value::Worked(line.value.clone()), working }
    }

    /// The expression as written, with the names of lines and figures.
    pub fn expression_pieces(&self, line: &WorkedLine) -> Vec<Piece> {
        let mut pieces = Vec::new();
        self.write(&line.expression, false, &mut pieces);
        pieces
    }

    /// The expression with the numbers put in for names; nothing where there are no names, or nothing but one.
    pub fn put_in(&self, line: &WorkedLine) -> Option<Vec<Piece>> {
        let is_name = matches!(line.expression.node, Node::Line(_) | Node::Figure(_));
        let has_names = !line.expression.lines().is_empty() || !line.expression.figures().is_empty();
        (has_names && !is_name).then(|| {
            let mut pieces = Vec::new();
            self.write(&line.expression, true, &mut pieces);
            pieces
        })
    }

    fn write(&self, expression: &Expression, put_in: bool, out: &mut Vec<Piece>) {
        let text = |out: &mut Vec<Piece>, text: &'static str| out.push(Piece::Text(text.into()));
        match &expression.node {
            Node::Value(value) => out.push(Piece::Value(Value::Worked(value.clone()))),
            Node::Line(name) => match self.lines.iter().find(|line| line.name == *name).filter(|_| put_in) {
                Some(line) => out.push(Piece::Value(Value::Worked(line.value.clone()))),
                None => out.push(Piece::Text(name.clone().into())),
            },
            Node::Figure(address) => match self.figures.get(address).filter(|_| put_in) {
                Some(figure) => out.push(Piece::Value(figure.value.clone())),
                None => out.push(Piece::Text(address.clone().into())),
            },
            Node::Negated(inner) => {
                text(out, "−");
                self.bracketed(inner, Sign::Times, true, put_in, out);
            }
            Node::Pair(pair) => {
                self.bracketed(&pair.left, pair.sign, false, put_in, out);
                out.push(Piece::Text(format!(" {} ", pair.sign.text()).into()));
                self.bracketed(&pair.right, pair.sign, true, put_in, out);
            }
            Node::To(inner, units) => {
                self.write(inner, put_in, out);
                out.push(Piece::Text(format!(" to {}", units.text()).into()));
            }
            Node::Round(inner, rounding, step) => {
                text(out, rounding.words());
                self.write(inner, put_in, out);
                text(out, " to ");
                out.push(Piece::Value(Value::Worked(step.clone())));
            }
            Node::Choice(greater, parts) => {
                text(out, if *greater { "max(" } else { "min(" });
                for (index, part) in parts.iter().enumerate() {
                    if index > 0 {
                        text(out, "; ");
                    }
                    self.write(part, put_in, out);
                }
                text(out, ")");
            }
        }
    }

    /// A part beside a sign, in brackets where it needs them; a number put in that is negative or a range does.
    fn bracketed(&self, part: &Expression, sign: Sign, is_right: bool, put_in: bool, out: &mut Vec<Piece>) {
        let value = match &part.node {
            Node::Line(name) if put_in => {
                self.lines.iter().find(|line| line.name == *name).map(|line| line.value.clone())
            }
            Node::Figure(address) if put_in => self.figures.get(address).and_then(|figure| figure.value.unit_value()),
            _ => None,
        };
        let brackets = part.needs_brackets(sign, is_right)
            || value.is_some_and(|value| value.needs_brackets(sign.is_of_sums() && !is_right));
        if brackets {
            out.push(Piece::Text("(".into()));
        }
        self.write(part, put_in, out);
        if brackets {
            out.push(Piece::Text(")".into()));
        }
    }
}

/// Whether an expression is one quantity and nothing else.
pub fn is_quantity(expression: &Expression) -> bool {
    matches!(expression.node, Node::Value(_))
}

/// The lines in an order in which each comes after those it rests on. Circles are told once each and left out.
fn order_of(lines: &[WorkingsLine], known: &BTreeMap<&str, usize>, faults: &mut Vec<WorkingsFault>) -> Vec<usize> {
    let rests_on: Vec<Vec<(usize, Range<usize>)>> = lines
        .iter()
        .map(|line| {
            let expression = line.expression.as_ref();
            let names = expression.map(Expression::lines).unwrap_or_default();
            names.into_iter().filter_map(|(name, span)| Some((*known.get(name)?, span))).collect()
        })
        .collect();
    let mut order = Vec::new();
    let mut state = vec![State::New; lines.len()];
    for start in 0..lines.len() {
        if state.get(start) != Some(&State::New) {
            continue;
        }
        // The way down to the line that is looked at, with how many of its own have been looked at.
        let mut way: Vec<(usize, usize)> = vec![(start, 0)];
        set(&mut state, start, State::Open);
        while let Some((index, next)) = way.last_mut() {
            let (at, step) = (*index, *next);
            *next += 1;
            let Some((below, span)) = rests_on.get(at).and_then(|all| all.get(step)) else {
                set(&mut state, at, State::Done);
                order.push(at);
                way.pop();
                continue;
            };
            match state.get(*below) {
                Some(State::New) => {
                    set(&mut state, *below, State::Open);
                    way.push((*below, 0));
                }
                Some(State::Open) => {
                    let from = way.iter().position(|(one, _)| one == below).unwrap_or_default();
                    let round = way.iter().skip(from).map(|(one, _)| *one).chain([*below]);
                    let names = round.filter_map(|one| Some(lines.get(one)?.name.value.clone())).collect();
                    let why = WorkingsWhy::Circle(names);
                    faults.push(WorkingsFault { line: at, span: span.clone(), why });
                }
                _ => {}
            }
        }
    }
    order
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum State {
    New,
    Open,
    Done,
}

fn set(state: &mut [State], index: usize, to: State) {
    if let Some(one) = state.get_mut(index) {
        *one = to;
    }
}

struct Reckoner<'r> {
    values: &'r BTreeMap<&'r str, UnitValue>,
    figures: &'r BTreeMap<String, Figure>,
}

impl Reckoner<'_> {
    /// The value of a part; where it has none, why is among the stops. Both sides of a sign are looked at, so that all mistakes are told at once.
    fn value(&self, expression: &Expression, stops: &mut Vec<Stop>) -> Option<UnitValue> {
        let span = || expression.span.clone();
        match &expression.node {
            Node::Value(value) => Some(value.clone()),
            Node::Line(name) => {
                let value = self.values.get(name.as_str()).cloned();
                if value.is_none() {
                    stops.push(Stop::Elsewhere);
                }
                value
            }
            Node::Figure(address) => {
                let Some(figure) = self.figures.get(address) else {
                    stops.push(Stop::Elsewhere);
                    return None;
                };
                let value = figure.value.unit_value();
                if value.is_none() {
                    stops.push(Stop::Here(span(), WorkingsWhy::NotANumber(address.clone())));
                }
                value
            }
            Node::Negated(inner) => {
                let value = self.value(inner, stops)?;
                told(value.negated(), span(), "turned into its opposite", stops)
            }
            Node::Pair(pair) => self.pair(pair, stops),
            Node::To(inner, units) => {
                let value = self.value(inner, stops)?;
                told(value.to(units), inner.span.end..expression.span.end, "converted", stops)
            }
            Node::Round(inner, rounding, step) => {
                let value = self.value(inner, stops)?;
                told(value.rounded(step, *rounding), inner.span.end..expression.span.end, "rounded", stops)
            }
            Node::Choice(greater, parts) => {
                let values: Vec<Option<UnitValue>> = parts.iter().map(|part| self.value(part, stops)).collect();
                let mut values = values.into_iter();
                let mut best = values.next().flatten()?;
                for (value, part) in values.zip(parts.iter().skip(1)) {
                    best = told(best.either(&value?, *greater), part.span.clone(), "compared", stops)?;
                }
                Some(best)
            }
        }
    }

    fn pair(&self, pair: &Pair, stops: &mut Vec<Stop>) -> Option<UnitValue> {
        let left = self.value(&pair.left, stops);
        let right = self.value(&pair.right, stops);
        let (left, right) = (left?, right?);
        let (value, what) = match pair.sign {
            Sign::Plus => (left.plus(&right), "added"),
            Sign::Minus => (left.minus(&right), "subtracted"),
            Sign::Times => (left.times(&right), "multiplied"),
            Sign::Over => (left.over(&right), "divided"),
            Sign::Of => (left.share_of(&right), "taken of each other"),
        };
        told(value, pair.at.clone(), what, stops)
    }
}

fn told(
    value: Result<UnitValue, Misfit>,
    span: Range<usize>,
    what: &'static str,
    stops: &mut Vec<Stop>,
) -> Option<UnitValue> {
    value.map_err(|misfit| stops.push(Stop::Here(span, WorkingsWhy::Misfit(misfit, what)))).ok()
}
