//! The hash of a line by which hosts find a result again after lines have moved.
//!
//! It is the one that their upload client would fill in: a polynomial (base 37, modulo 2⁶⁴) of the first hundred UTF-16 units
//! from the start of the line on, without spaces and tabs, every line break read as a line feed, one unit 65535 behind the
//! end of the file, and zeros after that. A number behind a colon tells lines with one hash apart.

use std::collections::HashMap;

/// Units that a hash is of.
const UNITS: usize = 100;
const BASE: u64 = 37;

/// The hash of each line of a text, in their order.
pub(super) fn line_hashes(text: &str) -> Vec<String> {
    let text = text.strip_prefix('\u{FEFF}').unwrap_or(text);
    let (units, starts) = units(text);
    // What the unit that leaves the window weighs.
    let leaving = (0..UNITS).fold(1u64, |power, _| power.wrapping_mul(BASE));
    let mut seen: HashMap<u64, usize> = HashMap::new();
    let mut hashes = Vec::with_capacity(starts.len());
    let mut starts = starts.into_iter().peekable();
    let mut hash = 0u64;
    let at = |place: usize| units.get(place).map_or(0, |&unit| u64::from(unit));
    for place in 0..units.len() + UNITS {
        let gone = place.checked_sub(UNITS).map_or(0, at);
        hash = hash.wrapping_mul(BASE).wrapping_add(at(place)).wrapping_sub(leaving.wrapping_mul(gone));
        while starts.next_if(|&start| start + UNITS == place + 1).is_some() {
            let number = seen.entry(hash).or_default();
            *number += 1;
            hashes.push(format!("{hash:x}:{number}"));
        }
    }
    hashes
}

/// The units that are hashed, and where among them each line starts.
fn units(text: &str) -> (Vec<u16>, Vec<usize>) {
    const LINE_FEED: u16 = 10;
    const RETURN: u16 = 13;
    let (mut units, mut starts) = (Vec::new(), Vec::new());
    let (mut is_new, mut after_return) = (true, false);
    for unit in text.encode_utf16().chain([u16::MAX]) {
        let is_second = after_return && unit == LINE_FEED;
        if matches!(unit, 9 | 32) || is_second {
            after_return = false;
            continue;
        }
        after_return = unit == RETURN;
        let unit = if unit == RETURN { LINE_FEED } else { unit };
        if is_new {
            starts.push(units.len());
        }
        is_new = unit == LINE_FEED;
        units.push(unit);
    }
    (units, starts)
}

#[cfg(test)]
mod tests {
    use super::line_hashes;

    #[test]
    fn hashes_are_those_of_the_upload_client() {
        assert_eq!(line_hashes(""), ["c129715d7a2bc9a3:1"]);
        assert_eq!(
            line_hashes(" a\nb\n  \t\tc\n d"),
            ["271789c17abda88f:1", "54703d4cd895b18:1", "180aee12dab6264:1", "a23a3dc5e078b07b:1"]
        );
        assert_eq!(
            line_hashes(" hello; \t\nworld!!!\r\n\n\r  \t\tGreetings\r End\r\n"),
            [
                "e9496ae3ebfced30:1",
                "fb7c023a8b9ccb3f:1",
                "ce8ba1a563dcdaca:1",
                "e20e36e16fcb0cc8:1",
                "b3edc88f2938467e:1",
                "c8e28b0b4002a3a0:1",
                "c129715d7a2bc9a3:1"
            ]
        );
        let hashes = line_hashes(&"Lorem ipsum dolor sit amet.\n".repeat(10));
        assert_eq!((&*hashes[0], &*hashes[5]), ("a7f2ff13bc495cf2:1", "a7f2ff13bc495cf2:6"));
        assert_eq!((&*hashes[6], &*hashes[10]), ("a7f2ff1481e87703:1", "c129715d7a2bc9a3:1"));
    }
}
