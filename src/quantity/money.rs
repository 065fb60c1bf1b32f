//! Money: an exact decimal in a currency. It is never a binary fraction, and never rounded before it is shown.

use super::currency::code_of_sign;
use super::{Currency, Decimal, NumberFault, read_decimal, round_half_even, show, split_number};

/// An amount of money. **Unit** the currency's main unit, exact decimal. What is reckoned stays exact to 28 digits; what is shown is rounded to the
/// currency's minor unit, halves to even.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Money {
    amount: Decimal,
    currency: Currency,
}

/// Why a text is no amount of money.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum MoneyFault {
    /// Its number.
    Number(NumberFault),
    /// There is no currency.
    NoCurrency,
    /// A sign, or a word that is no code; what is most likely meant.
    NoCode(Option<&'static str>),
    /// It is below zero.
    Negative,
    /// More decimals than the currency's minor unit has; how many it has.
    TooFine(Currency),
}

impl Money {
    /// So much of a currency.
    pub const fn new(amount: Decimal, currency: Currency) -> Money {
        Money { amount, currency }
    }

    /// Nothing, in a currency.
    pub const fn zero(currency: Currency) -> Money {
        Money { amount: Decimal::ZERO, currency }
    }

    /// Reads a price, "12.50 EUR": nothing finer than the minor unit was ever paid.
    ///
    /// # Errors
    /// What is wrong with it.
    ///
    /// ```
    /// use tarebook::quantity::{Money, MoneyFault};
    /// assert_eq!(Money::read("12.50 EUR").unwrap().to_string(), "12.50\u{a0}EUR");
    /// assert_eq!(Money::read("12.50"), Err(MoneyFault::NoCurrency));
    /// ```
    pub fn read(text: &str) -> Result<Money, MoneyFault> {
        let money = Money::read_rate(text)?;
        if money.amount.normalize().scale() > money.currency.minor_digits() {
            return Err(MoneyFault::TooFine(money.currency));
        }
        Ok(money)
    }

    /// Reads what something is worth, with any number of decimals: "1.1734 EUR".
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn read_rate(text: &str) -> Result<Money, MoneyFault> {
        let (number, code) = split_number(text);
        let signed = text.trim_start().chars().next().filter(|c| !c.is_ascii_digit()).map(String::from);
        if number.is_empty()
            && let Some(meant) = signed.as_deref().and_then(code_of_sign)
        {
            return Err(MoneyFault::NoCode(Some(meant)));
        }
        let amount = read_decimal(number).map_err(MoneyFault::Number)?;
        if code.is_empty() {
            return Err(MoneyFault::NoCurrency);
        }
        let currency = Currency::from_code(code).ok_or_else(|| MoneyFault::NoCode(code_of_sign(code)))?;
        if amount < Decimal::ZERO {
            return Err(MoneyFault::Negative);
        }
        Ok(Money { amount, currency })
    }

    /// The amount in the main unit, exact.
    pub const fn amount(self) -> Decimal {
        self.amount
    }

    /// The currency.
    pub const fn currency(self) -> Currency {
        self.currency
    }

    /// The sum of two amounts of one currency; nothing for two currencies, which only a rate could add, and for what has more than 28 digits.
    #[must_use]
    pub fn plus(self, other: Money) -> Option<Money> {
        let amount = self.amount.checked_add(other.amount).filter(|_| self.currency == other.currency)?;
        Some(Money { amount, ..self })
    }

    /// So many times as much; nothing for what has more than 28 digits.
    #[must_use]
    pub fn times(self, factor: Decimal) -> Option<Money> {
        Some(Money { amount: self.amount.checked_mul(factor)?, ..self })
    }

    /// One of so many equal parts; nothing for none.
    #[must_use]
    pub fn divided_by(self, parts: Decimal) -> Option<Money> {
        Some(Money { amount: self.amount.checked_div(parts)?, ..self })
    }

    /// As shown: rounded to the minor unit, halves to even (the rule "round half even" of IEEE 754-2019, 4.3.1, here on decimals).
    #[must_use]
    pub fn rounded(self) -> Money {
        let digits = self.currency.minor_digits();
        let mut amount = round_half_even(self.amount, digits);
        amount.rescale(digits);
        Money { amount, ..self }
    }
}

/// The rounded amount with its code. What is not nothing never prints as zero.
impl std::fmt::Display for Money {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&show::quantity_to(self.amount, self.currency.minor_digits(), self.currency.code()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[track_caller]
    fn check(text: &str, expected: Result<&str, MoneyFault>) {
        let shown = Money::read(text).map(|money| money.to_string().replace(show::NBSP, " "));
        assert_eq!(shown, expected.map(str::to_owned), "{text}");
    }

    #[test]
    fn money_is_a_number_with_a_code() {
        let euro = Currency::from_code("EUR").unwrap();
        check("12.50 EUR", Ok("12.50 EUR"));
        check("12,5 EUR", Ok("12.50 EUR"));
        check("0 EUR", Ok("0.00 EUR"));
        check("1250 JPY", Ok("1250 JPY"));
        check("1.250 KWD", Ok("1.250 KWD"));
        check("12.50", Err(MoneyFault::NoCurrency));
        check("12.50 €", Err(MoneyFault::NoCode(Some("EUR"))));
        check("€12.50", Err(MoneyFault::NoCode(Some("EUR"))));
        check("12.50 XYZ", Err(MoneyFault::NoCode(None)));
        check("12.505 EUR", Err(MoneyFault::TooFine(euro)));
        check("-1 EUR", Err(MoneyFault::Negative));
        check("1000000001 EUR", Err(MoneyFault::Number(NumberFault::TooLarge)));
        check("1,234 EUR", Err(MoneyFault::Number(NumberFault::AmbiguousComma)));
    }

    #[test]
    fn two_currencies_are_not_added() {
        let (euro, pound) = (Money::read("1 EUR").unwrap(), Money::read("1 GBP").unwrap());
        assert_eq!(euro.plus(euro).unwrap().amount(), Decimal::TWO);
        assert_eq!(euro.plus(pound), None);
    }

    #[test]
    fn halves_go_to_the_even_cent() {
        let third = |text: &str, factor: Decimal| {
            Money::read(text).unwrap().times(factor).unwrap().rounded().amount().to_string()
        };
        let half = Decimal::new(5, 1);
        assert_eq!(third("0.05 EUR", half), "0.02");
        assert_eq!(third("0.07 EUR", half), "0.04");
        assert_eq!(third("0.25 EUR", half), "0.12");
        assert_eq!(third("5 JPY", half), "2");
    }
}
