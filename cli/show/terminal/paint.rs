//! Colours, where they are wanted. Nothing is said by colour alone.

use loadworthy_checks::verdict::Grade;

/// Paints words, or leaves them as they are.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Paint {
    pub(crate) colored: bool,
}

impl Paint {
    /// The word of a grade, as it begins a line.
    pub(crate) fn grade(self, grade: Grade, line: &str) -> String {
        let code = match grade {
            Grade::Major => "1;31",
            Grade::Minor => "1;33",
            Grade::Note => "1;36",
        };
        self.leading(grade.word(), code, line)
    }

    /// The word that begins a line, as a heading.
    pub(crate) fn heading(self, word: &str, line: &str) -> String {
        self.leading(word, "1", line)
    }

    /// The word that begins a line about something wrong.
    pub(crate) fn wrong(self, word: &str, line: &str) -> String {
        self.leading(word, "1;31", line)
    }

    /// Something that matters less.
    pub(crate) fn faint(self, text: &str) -> String {
        if self.colored { format!("\u{1b}[2m{text}\u{1b}[0m") } else { text.to_owned() }
    }

    fn leading(self, word: &str, code: &str, line: &str) -> String {
        match line.strip_prefix(word) {
            Some(rest) if self.colored => format!("\u{1b}[{code}m{word}\u{1b}[0m{rest}"),
            _ => line.to_owned(),
        }
    }
}
