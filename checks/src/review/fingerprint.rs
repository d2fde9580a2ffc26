//! The identity of a finding over edits of the file.

/// 16 hexadecimal digits of check, part and defect; no line, no value and no duty point goes in.
///
/// FNV-1a with 64 bits, written out so that the digits never change with a library.
#[must_use]
pub fn fingerprint(check: &str, part: &str, defect: &str) -> String {
    let mut hash: u64 = 0xcbf2_9ce4_8422_2325;
    for text in [check, part, defect] {
        // A zero byte ends each text, so that moving a letter from one to the next makes another identity.
        for byte in text.bytes().chain([0]) {
            hash ^= u64::from(byte);
            hash = hash.wrapping_mul(0x0000_0100_0000_01b3);
        }
    }
    format!("{hash:016x}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stays_what_it_is() {
        assert_eq!(
            fingerprint("junction-temperature", "drive.high_side.u.diode", "too-hot"),
            "8c0c748fdf120ec2"
        );
        assert_ne!(fingerprint("ab", "c", ""), fingerprint("a", "bc", ""));
        assert_eq!(fingerprint("a", "b", "c").len(), 16);
    }
}
