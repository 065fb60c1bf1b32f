//! Calc links: `calc:formula/quantity?batch=2kg&unit=g&digits=1`, read but not looked up.

use crate::report::{Finding, Place, echo, kind, suggestion};
use std::ops::Range;

/// A calc link in the prose.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CalcLink {
    /// The whole link.
    pub place: Place,
    /// The bytes between the brackets; empty for an autolink.
    pub text_span: Range<usize>,
    /// The text between the brackets, as the reader of the plain text sees it.
    pub text: String,
    /// The ids and quantity names of the address.
    pub path: Vec<String>,
    /// How the figure is wanted.
    pub query: Query,
    /// The address as written, without `calc:`.
    pub written: String,
    /// Whether the bytes between the brackets can be written anew: not in an address between angle brackets, not where the
    /// text itself names the address further down, and not in code, which is never touched.
    pub can_be_rewritten: bool,
}

/// The query of an address.
#[derive(Clone, Debug, Default, PartialEq, Eq, serde::Serialize)]
pub struct Query {
    /// For this batch size, as typed.
    pub batch: Option<String>,
    /// In this unit.
    pub unit: Option<String>,
    /// With so many decimals.
    pub digits: Option<u32>,
}

impl Query {
    /// Whether nothing special is asked.
    pub fn is_empty(&self) -> bool {
        *self == Query::default()
    }
}

/// Most decimals that can be asked for.
const MOST_DIGITS: u32 = 6;

/// Reads the address of a calc link. Mistakes in the query are reported; the rest is kept.
pub fn read_calc_address(written: &str, place: &Place, findings: &mut Vec<Finding>) -> (Vec<String>, Query) {
    let (path, query_text) = written.split_once('?').unwrap_or((written, ""));
    let path = path.split('/').filter(|part| !part.is_empty()).map(percent_decoded).collect();
    let mut query = Query::default();
    for pair in query_text.split('&').filter(|pair| !pair.is_empty()) {
        let (key, value) = pair.split_once('=').unwrap_or((pair, ""));
        let value = percent_decoded(value);
        match key {
            "batch" => query.batch = Some(value),
            "unit" => query.unit = Some(value),
            "digits" => match value.parse::<u32>() {
                Ok(digits) if digits <= MOST_DIGITS => query.digits = Some(digits),
                _ => findings.push(Finding::new(
                    kind::BAD_QUERY,
                    place.clone(),
                    format!("`digits={}` must be a whole number from 0 to {MOST_DIGITS}.", echo(&value)),
                )),
            },
            _ => findings.push(
                Finding::new(
                    kind::BAD_QUERY,
                    place.clone(),
                    format!("`{}` is not something a calc link can ask.", echo(key)),
                )
                .mend(suggestion(key, ["batch", "unit", "digits"], kind::BAD_QUERY.mend)),
            ),
        }
    }
    (path, query)
}

/// Percent-decoding as RFC 3986, section 2.1; what is not valid stays as written.
pub(crate) fn percent_decoded(text: &str) -> String {
    if !text.contains('%') {
        return text.to_owned();
    }
    let mut bytes = Vec::with_capacity(text.len());
    let mut rest = text.as_bytes().iter().copied();
    while let Some(byte) = rest.next() {
        let mut ahead = rest.clone();
        let pair = (byte == b'%')
            .then(|| Some((char::from(ahead.next()?).to_digit(16)?, char::from(ahead.next()?).to_digit(16)?)))
            .flatten();
        match pair {
            Some((high, low)) => {
                bytes.push(u8::try_from(high * 16 + low).unwrap_or(b'?'));
                rest = ahead;
            }
            None => bytes.push(byte),
        }
    }
    String::from_utf8(bytes).unwrap_or_else(|_| text.to_owned())
}
