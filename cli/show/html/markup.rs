//! Markup that is only made of our own words and of texts that were made harmless.

use std::fmt::Write;

use loadworthy_source::escape_text;

/// Markup. What stands in a description reaches it as text alone: everything that is taken as it is must be a word of
/// this program.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(crate) struct Markup(String);

impl Markup {
    pub(crate) const fn new() -> Self {
        Self(String::new())
    }

    /// Markup of this program.
    pub(crate) fn raw(&mut self, markup: &'static str) -> &mut Self {
        self.0.push_str(markup);
        self
    }

    /// A text in which everything can be seen and nothing is markup.
    pub(crate) fn text(&mut self, said: &str) -> &mut Self {
        push_escaped(&mut self.0, said);
        self
    }

    /// The path of a part, which may go on in another line behind its dots.
    pub(crate) fn path(&mut self, said: &str) -> &mut Self {
        for (place, name) in said.split('.').enumerate() {
            if place > 0 {
                self.raw(".<wbr>");
            }
            self.text(name);
        }
        self
    }

    /// A coordinate or a length.
    pub(crate) fn at(&mut self, value: f64) -> &mut Self {
        // A tenth of a pixel; without a sign where it is none.
        let tenths = (value * 10.0).round();
        let tenths = if tenths.abs() < 0.5 { 0.0 } else { tenths };
        // Writing to a string cannot fail.
        let _ = write!(self.0, "{}", tenths / 10.0);
        self
    }

    /// A count.
    pub(crate) fn count(&mut self, count: usize) -> &mut Self {
        let _ = write!(self.0, "{count}");
        self
    }

    /// Other markup.
    pub(crate) fn join(&mut self, other: &Self) -> &mut Self {
        self.0.push_str(&other.0);
        self
    }

    /// An element with a text in it.
    pub(crate) fn element(&mut self, open: &'static str, said: &str, close: &'static str) -> &mut Self {
        self.raw(open).text(said).raw(close)
    }

    pub(crate) const fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    pub(crate) fn into_text(self) -> String {
        self.0
    }
}

/// A sentence of ours in which names stand between backticks.
pub(crate) fn prose(said: &str) -> Markup {
    let mut out = Markup::new();
    let parts: Vec<&str> = said.split('`').collect();
    // A backtick without its other one stays what it is.
    let paired = parts.len() % 2 == 1;
    for (place, part) in parts.iter().enumerate() {
        match (paired, place % 2) {
            (true, 1) => out.element("<code>", part, "</code>"),
            (true, _) => out.text(part),
            (false, _) => out.text(if place == 0 { "" } else { "`" }).text(part),
        };
    }
    out
}

/// Paragraph by paragraph: a line feed is not written out as a hidden character but ends a line.
pub(crate) fn lines(said: &str) -> Markup {
    let mut out = Markup::new();
    for (place, line) in said.split('\n').enumerate() {
        if place > 0 {
            out.raw("<br>");
        }
        out.text(line);
    }
    out
}

fn push_escaped(out: &mut String, said: &str) {
    for character in escape_text(said).chars() {
        match character {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            other => out.push(other),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn written(said: &str) -> String {
        let mut out = Markup::new();
        out.text(said);
        out.into_text()
    }

    /// What a reader of markup makes of a text in it.
    fn read_back(markup: &str) -> String {
        let named = [("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#39;", "'"), ("&amp;", "&")];
        named.iter().fold(markup.to_owned(), |text, (name, character)| text.replace(name, character))
    }

    #[test]
    fn nothing_of_a_description_is_markup() {
        assert_eq!(written("<a b=\"c\">&'\u{1b}"), "&lt;a b=&quot;c&quot;&gt;&amp;&#39;\\u{001B}");
        assert_eq!(lines("a\n<b>").into_text(), "a<br>&lt;b&gt;");
        assert_eq!(prose("`<b>` is").into_text(), "<code>&lt;b&gt;</code> is");
        assert_eq!(prose("a ` b").into_text(), "a ` b");
    }

    #[test]
    fn coordinates_have_a_tenth_and_no_needless_sign() {
        let mut out = Markup::new();
        out.at(-0.01).raw(" ").at(2.449).raw(" ").at(-2.0).raw(" ").count(7);
        assert_eq!(out.into_text(), "0 2.4 -2 7");
    }

    proptest! {
        #[test]
        fn any_text_stays_text(said in "\\PC*|[<>&\"'a-z#;]*") {
            let markup = written(&said);
            prop_assert!(!markup.contains(['<', '>', '"', '\'']));
            prop_assert_eq!(read_back(&markup), escape_text(&said).into_owned());
        }

        #[test]
        fn any_character_is_seen(said in proptest::collection::vec(any::<char>(), 0..40)) {
            let said: String = said.into_iter().collect();
            let markup = written(&said);
            let hidden = escape_text(&markup);
            prop_assert_eq!(hidden.as_ref(), markup.as_str());
        }
    }
}
