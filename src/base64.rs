//! Bytes as letters (RFC 4648, section 4), for files that are no UTF-8 text.

const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/// Bytes as letters.
pub(crate) fn encode(bytes: &[u8]) -> String {
    let letter = |six: u32| LETTERS.get((six & 63) as usize).map_or('=', |letter| char::from(*letter));
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for three in bytes.chunks(3) {
        let byte = |index: usize| u32::from(three.get(index).copied().unwrap_or(0));
        let bits = byte(0) << 16 | byte(1) << 8 | byte(2);
        out.push(letter(bits >> 18));
        out.push(letter(bits >> 12));
        out.push(if three.len() > 1 { letter(bits >> 6) } else { '=' });
        out.push(if three.len() > 2 { letter(bits) } else { '=' });
    }
    out
}

/// The bytes that letters stand for; nothing where they are not exactly what [`encode`] writes.
pub(crate) fn decode(text: &str) -> Option<Vec<u8>> {
    let mut bytes = Vec::with_capacity(text.len() / 4 * 3);
    for four in text.as_bytes().chunks(4) {
        let pads = four.iter().rev().take_while(|letter| **letter == b'=').count();
        let mut bits = 0_u32;
        for letter in four.iter().take(4 - pads.min(2)) {
            bits = bits << 6 | u32::try_from(LETTERS.iter().position(|known| known == letter)?).ok()?;
        }
        bits <<= 6 * u32::try_from(pads.min(2)).ok()?;
        bytes.extend(bits.to_be_bytes().into_iter().skip(1).take(3 - pads.min(2)));
    }
    (encode(&bytes) == text).then_some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4648, section 10, test vectors.
    #[test]
    fn bytes_as_letters() {
        let vectors =
            [("", ""), ("f", "Zg=="), ("fo", "Zm8="), ("foo", "Zm9v"), ("foob", "Zm9vYg=="), ("foobar", "Zm9vYmFy")];
        for (text, expected) in vectors {
            assert_eq!(encode(text.as_bytes()), expected);
            assert_eq!(decode(expected).as_deref(), Some(text.as_bytes()));
        }
        assert_eq!(encode(&[0xfb, 0xff]), "+/8=");
    }

    #[test]
    fn letters_that_nobody_writes_are_refused() {
        for text in ["Z", "Zg", "Zg=", "Zg==Zg==", "Zh==", "Z===", "====", "Zm9v\n", "Zm-v", "é==="] {
            assert_eq!(decode(text), None, "{text}");
        }
    }
}
