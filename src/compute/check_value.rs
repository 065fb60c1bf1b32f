//! The check value: a few letters that tell a corrected sheet from an old copy.

use super::{ActiveMatter, Sheet};
use crate::model::Formula;
use std::fmt::Write;

/// Letters that are not taken for one another, in print or by hand.
const LETTERS: &[u8; 32] = b"0123456789ABCDEFGHJKMNPQRSTVWXYZ";

/// The check value of a sheet, seven letters as `7K2-M4QR` without the ambiguous ones.
///
/// It is made from the figures alone: id, version, batch, pH, holding temperatures, active matter and of each line the phase, the
/// raw material, the percentage, the weight, strength and lot. Wording, notes and layout do not change it. The hash is FNV-1a, 64 bits (Fowler, Noll and Vo; IETF
/// draft-eastlake-fnv), of which 35 bits are shown: it guards against mix-ups, not against forgery.
pub fn check_value(formula: &Formula, sheet: &Sheet, active: &ActiveMatter) -> String {
    let mut text = String::new();
    let version = formula.version.as_deref().unwrap_or_default();
    let _ = write!(text, "{}\n{version}\n{}\n", formula.id, sheet.batch_printed.grams().normalize());
    if let Some(ph) = formula.ph {
        let _ = writeln!(text, "{}..{}", ph.low.value().normalize(), ph.high.value().normalize());
    }
    let mut index = 0;
    for phase in &formula.phases {
        if let Some((hold, _)) = &phase.hold {
            let _ = writeln!(text, "{} held at {}", phase.key, hold.celsius().normalize());
        }
        for line in &phase.lines {
            let percent = formula.percent(line).value().normalize();
            let weight = sheet.printed_of(index).grams().normalize();
            let strength =
                line.strength.map(|strength| format!("{}..{}", strength.low.normalize(), strength.high.normalize()));
            let _ = writeln!(
                text,
                "{}\t{}\t{percent}\t{weight}\t{}\t{}\t{}",
                phase.key,
                line.material.id,
                strength.unwrap_or_default(),
                line.lot.as_deref().unwrap_or_default(),
                line.effect.as_deref().unwrap_or_default()
            );
            index += 1;
        }
    }
    let _ = writeln!(text, "active {}..{}", active.total.low.normalize(), active.total.high.normalize());
    let mut bits = fnv_1a(text.as_bytes());
    let mut value = String::with_capacity(8);
    for position in 0..7 {
        if position == 3 {
            value.push('-');
        }
        let letter = usize::try_from(bits % 32).ok().and_then(|index| LETTERS.get(index)).copied().unwrap_or(b'0');
        value.push(char::from(letter));
        bits /= 32;
    }
    value
}

/// FNV-1a, 64 bits.
fn fnv_1a(bytes: &[u8]) -> u64 {
    fnv_step(0xcbf2_9ce4_8422_2325, bytes)
}

/// Goes on hashing with more bytes.
pub(crate) fn fnv_step(hash: u64, bytes: &[u8]) -> u64 {
    bytes.iter().fold(hash, |hash, byte| (hash ^ u64::from(*byte)).wrapping_mul(0x0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Test vectors of the FNV reference code: "" and "foobar".
    #[test]
    fn the_hash_is_fnv_1a() {
        assert_eq!(fnv_1a(b""), 0xcbf2_9ce4_8422_2325);
        assert_eq!(fnv_1a(b"foobar"), 0x8594_4171_f739_67e8);
    }
}
