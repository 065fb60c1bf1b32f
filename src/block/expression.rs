//! Expressions of workings: read by precedence climbing into a tree in which every part knows its bytes.
//!
//! ```text
//! expression = "round" ["up" | "down"] sum "to" quantity  |  sum { "to" unit }
//! sum        = product { ("+" | "-") product }
//! product    = factor { ("×" | "*" | "÷" | "/" | "of") factor }
//! factor     = "-" factor  |  quantity  |  name  |  "calc:" address  |  "(" expression ")"  |  ("min" | "max") "(" expression { ";" expression } ")"
//! ```
//!
//! There is nothing else: no functions of one's own, no conditions, no text. Length and depth are bounded, so that no text takes long or deep to read.

use super::tokens::{PlacedToken, Token, tokens_of};
use crate::quantity::{NumberFault, Rounding, UnitFault, UnitValue, Units};
use serde::Serialize;
use std::ops::Range;

/// Most bytes of an expression.
pub const LONGEST: usize = 400;

/// Most brackets and signs inside each other.
pub const DEEPEST: usize = 24;

/// Words that mean something in expressions, so that no line can be called so.
pub(super) const WORDS: &[&str] = &["to", "of", "round", "up", "down", "min", "max", "per", "calc"];

/// An expression, or a part of one.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Expression {
    /// What it is.
    pub node: Node,
    /// Its bytes in the text of the expression.
    #[serde(skip)]
    pub span: Range<usize>,
}

/// The kinds of expression.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Node {
    /// A quantity as written.
    Value(UnitValue),
    /// Another line, by its name.
    Line(String),
    /// The figure of an address, as written after `calc:`.
    Figure(String),
    /// With the other sign.
    Negated(Box<Expression>),
    /// Two parts with a sign between them.
    Pair(Box<Pair>),
    /// Shown in another unit.
    To(Box<Expression>, Units),
    /// Rounded to multiples of a step.
    Round(Box<Expression>, Rounding, UnitValue),
    /// The least of several, or the greatest.
    Choice(bool, Vec<Expression>),
}

/// Two parts with a sign between them.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Pair {
    /// The sign.
    pub sign: Sign,
    /// Where it stands.
    #[serde(skip)]
    pub at: Range<usize>,
    /// Before it.
    pub left: Expression,
    /// Behind it.
    pub right: Expression,
}

/// What is done with two parts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Sign {
    /// Added.
    Plus,
    /// Taken away.
    Minus,
    /// Multiplied.
    Times,
    /// Divided.
    Over,
    /// A share of something.
    Of,
}

impl Sign {
    /// As it is printed.
    pub fn text(self) -> &'static str {
        match self {
            Sign::Plus => "+",
            Sign::Minus => "−",
            Sign::Times => "×",
            Sign::Over => "÷",
            Sign::Of => "of",
        }
    }

    /// Whether it is a sign of sums, which bind less than products.
    pub fn is_of_sums(self) -> bool {
        matches!(self, Sign::Plus | Sign::Minus)
    }
}

/// Why a text is no expression, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SyntaxFault {
    /// What is wrong.
    pub why: SyntaxWhy,
    /// Its bytes in the text of the expression.
    pub span: Range<usize>,
}

/// What is wrong with a text that is no expression.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SyntaxWhy {
    /// Longer than anybody could follow.
    TooLong,
    /// More brackets in each other than anybody could follow.
    TooDeep,
    /// A number that is none.
    Number(NumberFault),
    /// A unit that is none.
    Unit(UnitFault),
    /// A range that begins above its end.
    Backwards,
    /// Something else should stand here; what.
    Wanted(&'static str),
    /// Two quantities or names with nothing between them.
    NoSign,
    /// A bracket that is not closed.
    Unclosed,
    /// A character that means nothing here.
    Character,
    /// `calc:` without an address behind it.
    NoAddress,
}

impl Expression {
    /// Reads an expression.
    ///
    /// # Errors
    /// The first thing in it that is not understood.
    pub fn read(text: &str) -> Result<Expression, SyntaxFault> {
        if text.len() > LONGEST {
            return Err(SyntaxFault { why: SyntaxWhy::TooLong, span: 0..text.len() });
        }
        let tokens = tokens_of(text)?;
        let mut parser = Parser { tokens: &tokens, next: 0, end: text.len() };
        let expression = parser.expression(0)?;
        match parser.peek() {
            None => Ok(expression),
            Some(token) => Err(parser.surplus(token)),
        }
    }

    /// The names of lines in it, with their bytes, in the order written.
    pub fn lines(&self) -> Vec<(&str, Range<usize>)> {
        self.leaves()
            .into_iter()
            .filter_map(|leaf| match &leaf.node {
                Node::Line(name) => Some((name.as_str(), leaf.span.clone())),
                _ => None,
            })
            .collect()
    }

    /// The addresses in it, with their bytes.
    pub fn figures(&self) -> Vec<(&str, Range<usize>)> {
        self.leaves()
            .into_iter()
            .filter_map(|leaf| match &leaf.node {
                Node::Figure(address) => Some((address.as_str(), leaf.span.clone())),
                _ => None,
            })
            .collect()
    }

    fn leaves(&self) -> Vec<&Expression> {
        let mut leaves = Vec::new();
        let mut open = vec![self];
        while let Some(next) = open.pop() {
            match &next.node {
                Node::Value(_) | Node::Line(_) | Node::Figure(_) => leaves.push(next),
                Node::Negated(inner) | Node::To(inner, _) | Node::Round(inner, ..) => open.push(inner),
                Node::Pair(pair) => open.extend([&pair.right, &pair.left]),
                Node::Choice(_, parts) => open.extend(parts.iter().rev()),
            }
        }
        leaves
    }

    /// Whether it has to stand in brackets beside a sign: on its right also a sum or product of the same kind.
    pub fn needs_brackets(&self, sign: Sign, is_right: bool) -> bool {
        match &self.node {
            Node::Pair(pair) if sign.is_of_sums() => is_right && pair.sign.is_of_sums(),
            Node::Pair(pair) => is_right || pair.sign.is_of_sums(),
            Node::Negated(_) => is_right || !sign.is_of_sums(),
            Node::To(..) | Node::Round(..) => true,
            Node::Value(value) => value.needs_brackets(sign.is_of_sums() && !is_right),
            Node::Line(_) | Node::Figure(_) | Node::Choice(..) => false,
        }
    }
}

struct Parser<'t> {
    tokens: &'t [PlacedToken],
    next: usize,
    end: usize,
}

impl<'t> Parser<'t> {
    fn peek(&self) -> Option<&'t PlacedToken> {
        self.tokens.get(self.next)
    }

    fn take(&mut self) -> Option<&'t PlacedToken> {
        let token = self.peek();
        self.next += 1;
        token
    }

    fn wanted(&self, what: &'static str) -> SyntaxFault {
        let span = self.peek().map_or(self.end..self.end, |(_, span)| span.clone());
        SyntaxFault { why: SyntaxWhy::Wanted(what), span }
    }

    fn surplus(&self, (token, span): &PlacedToken) -> SyntaxFault {
        let why = match token {
            Token::Close => SyntaxWhy::Wanted("an opening bracket before this"),
            Token::Next => SyntaxWhy::Wanted("`min(…)` or `max(…)` around this"),
            Token::To => SyntaxWhy::Wanted("`round` before a step, or a unit after `to`"),
            _ => SyntaxWhy::NoSign,
        };
        SyntaxFault { why, span: span.clone() }
    }

    fn expression(&mut self, depth: usize) -> Result<Expression, SyntaxFault> {
        if depth > DEEPEST {
            let span = self.peek().map_or(self.end..self.end, |(_, span)| span.clone());
            return Err(SyntaxFault { why: SyntaxWhy::TooDeep, span });
        }
        if let Some((Token::Round(rounding), span)) = self.peek() {
            self.take();
            let inner = self.sum(depth)?;
            let Some((Token::To, _)) = self.peek() else {
                return Err(self.wanted("`to` and a step: `round x to 0.1 g`"));
            };
            self.take();
            let Some((Token::Value(step), end)) = self.peek() else {
                return Err(self.wanted("a step such as `0.1 g`"));
            };
            self.take();
            let node = Node::Round(Box::new(inner), *rounding, step.clone());
            return Ok(Expression { node, span: span.start..end.end });
        }
        let mut expression = self.sum(depth)?;
        // Conversions in a row nest; the bound on depth holds for them too.
        let mut n_units = 0;
        while let Some((Token::ToUnit(units), end)) = self.peek() {
            self.take();
            n_units += 1;
            if n_units > DEEPEST {
                return Err(SyntaxFault { why: SyntaxWhy::TooDeep, span: end.clone() });
            }
            let span = expression.span.start..end.end;
            expression = Expression { node: Node::To(Box::new(expression), units.clone()), span };
        }
        Ok(expression)
    }

    fn sum(&mut self, depth: usize) -> Result<Expression, SyntaxFault> {
        let mut left = self.product(depth)?;
        while let Some((Token::Sign(sign @ (Sign::Plus | Sign::Minus)), at)) = self.peek() {
            self.take();
            let right = self.product(depth)?;
            left = pair(*sign, at.clone(), left, right);
        }
        Ok(left)
    }

    fn product(&mut self, depth: usize) -> Result<Expression, SyntaxFault> {
        let mut left = self.factor(depth)?;
        while let Some((Token::Sign(sign @ (Sign::Times | Sign::Over | Sign::Of)), at)) = self.peek() {
            self.take();
            let right = self.factor(depth)?;
            left = pair(*sign, at.clone(), left, right);
        }
        Ok(left)
    }

    fn factor(&mut self, depth: usize) -> Result<Expression, SyntaxFault> {
        let Some((token, span)) = self.peek() else { return Err(self.wanted("a number, a name or a bracket")) };
        let leaf = |node: Node| Ok(Expression { node, span: span.clone() });
        match token {
            Token::Value(value) => {
                self.take();
                leaf(Node::Value(value.clone()))
            }
            Token::Name(name) => {
                self.take();
                leaf(Node::Line(name.clone()))
            }
            Token::Figure(address) => {
                self.take();
                leaf(Node::Figure(address.clone()))
            }
            Token::Sign(Sign::Minus) => {
                self.take();
                if depth >= DEEPEST {
                    return Err(SyntaxFault { why: SyntaxWhy::TooDeep, span: span.clone() });
                }
                let inner = self.factor(depth + 1)?;
                let whole = span.start..inner.span.end;
                Ok(Expression { node: Node::Negated(Box::new(inner)), span: whole })
            }
            Token::Open => {
                self.take();
                let inner = self.expression(depth + 1)?;
                let end = self.close(span)?;
                Ok(Expression { span: span.start..end, ..inner })
            }
            Token::Choice(greater) => {
                self.take();
                let Some((Token::Open, open)) = self.peek() else {
                    return Err(self.wanted("`(` and what is compared, with `;` between"));
                };
                self.take();
                let mut parts = vec![self.expression(depth + 1)?];
                while let Some((Token::Next, _)) = self.peek() {
                    self.take();
                    parts.push(self.expression(depth + 1)?);
                }
                if parts.len() < 2 {
                    return Err(self.wanted("`;` and something to compare with"));
                }
                let end = self.close(open)?;
                Ok(Expression { node: Node::Choice(*greater, parts), span: span.start..end })
            }
            _ => Err(self.wanted("a number, a name or a bracket")),
        }
    }

    fn close(&mut self, open: &Range<usize>) -> Result<usize, SyntaxFault> {
        match self.peek() {
            Some((Token::Close, end)) => {
                self.take();
                Ok(end.end)
            }
            Some(token @ (Token::Value(_) | Token::Name(_) | Token::Figure(_), _)) => Err(self.surplus(token)),
            _ => Err(SyntaxFault { why: SyntaxWhy::Unclosed, span: open.clone() }),
        }
    }
}

fn pair(sign: Sign, at: Range<usize>, left: Expression, right: Expression) -> Expression {
    let span = left.span.start..right.span.end;
    Expression { node: Node::Pair(Box::new(Pair { sign, at, left, right })), span }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The tree with all brackets.
    fn whole(expression: &Expression) -> String {
        match &expression.node {
            Node::Value(value) => value.typed(),
            Node::Line(name) => name.clone(),
            Node::Figure(address) => format!("calc:{address}"),
            Node::Negated(inner) => format!("-{}", whole(inner)),
            Node::Pair(pair) => format!("({} {} {})", whole(&pair.left), pair.sign.text(), whole(&pair.right)),
            Node::To(inner, units) => format!("({} to {})", whole(inner), units.text()),
            Node::Round(inner, _, step) => format!("(round {} to {})", whole(inner), step.typed()),
            Node::Choice(greater, parts) => {
                let parts: Vec<String> = parts.iter().map(whole).collect();
                format!("{}({})", if *greater { "max" } else { "min" }, parts.join("; "))
            }
        }
    }

    #[track_caller]
    fn check(text: &str, expected: &str) {
        assert_eq!(Expression::read(text).map(|read| whole(&read)).as_deref(), Ok(expected), "{text}");
    }

    #[track_caller]
    fn refuse(text: &str, expected: &SyntaxWhy, marked: &str) {
        let fault = Expression::read(text).unwrap_err();
        assert_eq!((&fault.why, &text[fault.span.clone()]), (expected, marked), "{text}");
    }

    #[test]
    fn products_bind_more_than_sums() {
        check("1 + 2 × 3", "(1 + (2 × 3))");
        check("10 - 2 - 3", "((10 − 2) − 3)");
        check("12 / 2 * 3", "((12 ÷ 2) × 3)");
        check("(1 + 2) × 3", "((1 + 2) × 3)");
        check("3 % of batch + 5 g", "((3 % of batch) + 5 g)");
        check("a + b to kg", "((a + b) to kg)");
        check("round a × b to 0.1 g", "(round (a × b) to 0.1 g)");
        check("round down a ÷ b to 1", "(round (a ÷ b) to 1)");
        check("min(a; b + 1 g)", "min(a; (b + 1 g))");
    }

    #[test]
    fn hyphens_belong_to_names_and_spaces_to_signs() {
        check("net-price", "net-price");
        check("net - price", "(net − price)");
        check("3 g-2 g", "(3 g − 2 g)");
        check("-5 °C", "-5 °C");
        check("20 °C - -5 °C", "(20 °C − -5 °C)");
        check("-(a)", "-a");
        check("3 g ÷ -1..2", "(3 g ÷ -1..2)");
        check("-5..-3 K", "-5..-3 K");
        check("a -5", "(a − 5)");
    }

    #[test]
    fn a_unit_ends_where_a_division_begins() {
        check("12.50 €/kg × 0.300 kg", "(12.50 €/kg × 0.300 kg)");
        check("100 g/l", "100 g/l");
        check("100 g/4", "(100 g ÷ 4)");
        check("100 g / volume", "(100 g ÷ volume)");
        check("€3.80 per kg × 2 kg", "(3.80 €/kg × 2 kg)");
        check("10..12 % × 3", "(10..12 % × 3)");
        check("calc:wash/glycerin/weight?batch=2kg × price", "(calc:wash/glycerin/weight?batch=2kg × price)");
    }

    #[test]
    fn what_is_not_understood_is_marked() {
        refuse("", &SyntaxWhy::Wanted("a number, a name or a bracket"), "");
        refuse("3 g +", &SyntaxWhy::Wanted("a number, a name or a bracket"), "");
        refuse("(3 g", &SyntaxWhy::Unclosed, "(");
        refuse("3 g)", &SyntaxWhy::Wanted("an opening bracket before this"), ")");
        refuse("a b", &SyntaxWhy::NoSign, "b");
        refuse("1,234 g", &SyntaxWhy::Number(NumberFault::AmbiguousComma), "1,234");
        refuse("a ^ 2", &SyntaxWhy::Character, "^");
        refuse("5..4 g", &SyntaxWhy::Backwards, "5..4 g");
        refuse("round a", &SyntaxWhy::Wanted("`to` and a step: `round x to 0.1 g`"), "");
        assert!(matches!(Expression::read("3 oz").unwrap_err().why, SyntaxWhy::Unit(UnitFault::Unknown(_, Some(_)))));
        assert!(matches!(Expression::read("a to stone").unwrap_err().why, SyntaxWhy::Unit(_)));
    }

    #[test]
    fn hostile_texts_are_refused_before_they_get_deep() {
        for text in
            ["(".repeat(300), "-".repeat(300), "min(".repeat(80), format!("{}1{}", "(".repeat(150), ")".repeat(150))]
        {
            assert_eq!(Expression::read(&text).unwrap_err().why, SyntaxWhy::TooDeep, "{text}");
        }
        let long = format!("1{}", " + 1".repeat(200));
        assert_eq!(Expression::read(&long).unwrap_err().why, SyntaxWhy::TooLong);
        assert!(Expression::read(&format!("1{}", "+1".repeat(199))).is_ok());
        assert_eq!(Expression::read(&format!("1 g{}", " to g".repeat(60))).unwrap_err().why, SyntaxWhy::TooDeep);
    }
}
