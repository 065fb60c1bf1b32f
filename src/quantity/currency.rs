//! Currencies by their code in ISO 4217, and how many decimals their smallest unit has.

use std::fmt;

/// A currency of ISO 4217.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Currency {
    code: &'static str,
    minor_digits: u32,
}

impl Currency {
    /// The currency of a code, "EUR".
    pub fn from_code(code: &str) -> Option<Currency> {
        let all = [(0, NO_DECIMALS), (2, TWO_DECIMALS), (3, THREE_DECIMALS)];
        all.into_iter().find_map(|(minor_digits, codes)| {
            let code = codes.split_ascii_whitespace().find(|known| *known == code)?;
            Some(Currency { code, minor_digits })
        })
    }

    /// Its code.
    pub fn code(self) -> &'static str {
        self.code
    }

    /// Decimals of its minor unit: 2 for cents, 0 where there is none.
    pub fn minor_digits(self) -> u32 {
        self.minor_digits
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code)
    }
}

/// The code that is most likely meant by a sign; a dollar or a krone can be one of several.
pub(super) fn code_of_sign(sign: &str) -> Option<&'static str> {
    match sign {
        "€" => Some("EUR"),
        "£" => Some("GBP"),
        "$" => Some("USD, CAD, AUD or NZD"),
        "¥" => Some("JPY or CNY"),
        "kr" => Some("SEK, NOK, DKK or ISK"),
        _ => None,
    }
}

// ISO 4217:2015, list one (currencies in circulation and the decimals of their minor unit): from memory. Funds, metals and codes for testing are left
// out, and so are the few accounting units with four decimals.

/// No minor unit.
const NO_DECIMALS: &str = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX VND VUV XAF XOF XPF";

/// A thousandth.
const THREE_DECIMALS: &str = "BHD IQD JOD KWD LYD OMR TND";

/// A hundredth, as nearly everywhere.
const TWO_DECIMALS: &str = "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF CHF CNY COP CRC CUP \
    CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR \
    LRD LSL MAD MDL MGA MKD MMK MNT MOP MRU MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON RSD RUB SAR SBD SCR SDG \
    SEK SGD SHP SLE SOS SRD SSP STN SYP SZL THB TJS TMT TOP TRY TTD TWD TZS UAH USD UYU UZS VES WST XCD YER ZAR ZMW";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_code_is_listed_twice() {
        let mut codes: Vec<&str> =
            [NO_DECIMALS, TWO_DECIMALS, THREE_DECIMALS].into_iter().flat_map(str::split_ascii_whitespace).collect();
        let n = codes.len();
        codes.sort_unstable();
        codes.dedup();
        assert_eq!(codes.len(), n);
        assert!(codes.iter().all(|code| code.len() == 3 && code.bytes().all(|b| b.is_ascii_uppercase())));
    }
}
