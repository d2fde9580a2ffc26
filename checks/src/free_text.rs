//! Text of a description that is no name of the language, as it may stand within a sentence.

/// Characters that are kept of it.
const LONGEST: usize = 80;

/// The text in one line, cut where it is long. What cannot be seen is left to whoever shows the sentence.
pub(crate) fn in_line(text: &str) -> String {
    let mut line: String = text.chars().take(LONGEST).map(|c| if c.is_control() { ' ' } else { c }).collect();
    if text.chars().nth(LONGEST).is_some() {
        line.push('…');
    }
    line
}

#[cfg(test)]
mod tests {
    use super::in_line;

    #[test]
    fn stays_in_its_line_and_within_its_length() {
        assert_eq!(in_line("a\nmajor  b\t"), "a major  b ");
        assert_eq!(in_line(&"x".repeat(200)).chars().count(), 81);
    }
}
