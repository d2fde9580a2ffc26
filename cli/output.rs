//! Writing that never panics: a closed pipe ends it quietly, a full disk is told.

use std::io::{self, BufWriter, Write};

use loadworthy_source::escape_text;

use crate::show::layout::cut;

/// Characters of a message that are shown.
const LONGEST_TOLD: usize = 1000;

/// A buffered writer that remembers its first failure and writes nothing after it.
pub(crate) struct Output<'w> {
    writer: BufWriter<&'w mut dyn Write>,
    failure: Option<io::Error>,
}

/// How writing ended.
pub(crate) enum End {
    /// Everything was written.
    Written,
    /// The reader went away, which is its right.
    Closed,
    /// It could not be written.
    Failed(io::Error),
}

impl<'w> Output<'w> {
    pub(crate) fn new(writer: &'w mut dyn Write) -> Self {
        Self { writer: BufWriter::new(writer), failure: None }
    }

    /// Writes a text as it is.
    pub(crate) fn put(&mut self, text: &str) {
        if self.failure.is_none() {
            self.failure = self.writer.write_all(text.as_bytes()).err();
        }
    }

    /// Writes a text and a line feed.
    pub(crate) fn line(&mut self, text: &str) {
        self.put(text);
        self.put("\n");
    }

    /// Hands over what is held back, for a reader who waits for it.
    pub(crate) fn flush(&mut self) {
        if self.failure.is_none() {
            self.failure = self.writer.flush().err();
        }
    }

    /// Writes one line in which everything can be seen, whatever the text holds.
    pub(crate) fn tell(&mut self, text: &str) {
        self.line(&escape_text(&cut(text, LONGEST_TOLD)));
    }

    /// Writes what is still held back, and says how it all went.
    pub(crate) fn end(mut self) -> End {
        self.flush();
        // What could not be written is not tried again when the buffer goes.
        let _ = self.writer.into_parts();
        match self.failure {
            None => End::Written,
            Some(why) if why.kind() == io::ErrorKind::BrokenPipe => End::Closed,
            Some(why) => End::Failed(why),
        }
    }
}

/// Why something could not be read or written, in words that are the same on every machine where that is possible.
pub(crate) fn reason(why: &io::Error) -> String {
    match why.kind() {
        io::ErrorKind::NotFound => "there is no such file".to_owned(),
        io::ErrorKind::PermissionDenied => "access is denied".to_owned(),
        io::ErrorKind::IsADirectory => "it is a folder".to_owned(),
        io::ErrorKind::NotADirectory => "a step of its path is no folder".to_owned(),
        io::ErrorKind::InvalidInput => "its name is not one that a file can have".to_owned(),
        io::ErrorKind::StorageFull => "no space is left".to_owned(),
        _ => escape_text(&why.to_string()).into_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    struct Refuses(io::ErrorKind);

    impl Write for Refuses {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(self.0.into())
        }

        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }

    #[test]
    fn a_reader_that_went_away_is_no_failure() {
        let mut pipe = Refuses(io::ErrorKind::BrokenPipe);
        let mut output = Output::new(&mut pipe);
        output.line("unheard");
        assert!(matches!(output.end(), End::Closed));
    }

    #[test]
    fn a_full_disk_is_one() {
        let mut disk = Refuses(io::ErrorKind::StorageFull);
        let mut output = Output::new(&mut disk);
        output.put(&"x".repeat(100_000));
        let End::Failed(why) = output.end() else { panic!("a full disk went unnoticed") };
        assert_eq!(reason(&why), "no space is left");
    }
}
