//! The parser of YAML, which only this file knows.

use std::borrow::Cow;
use std::ops::Range;

use granit_parser::{
    ErrorKind, Event as Parsed, Parser, ScalarStyle, Span as ParsedSpan, StrInput, Tag, options,
};

use crate::limits::{DEEPEST, too_deep};

/// One step of the text, with the bytes it stands on.
#[derive(Debug)]
pub(crate) struct Event<'t> {
    pub(crate) range: Range<usize>,
    pub(crate) step: Step<'t>,
}

#[derive(Debug)]
pub(crate) enum Step<'t> {
    /// A document begins; its range is the `---`, or empty.
    Document,
    Scalar {
        text: Cow<'t, str>,
        style: Style,
        anchor: Option<usize>,
        tag: Option<Label<'t>>,
    },
    /// Brackets are in the range where they are written.
    Open {
        map: bool,
        anchor: Option<usize>,
        tag: Option<Label<'t>>,
    },
    Close,
    Alias {
        anchor: usize,
    },
    UnknownAlias,
}

/// How a scalar is written.
#[derive(Copy, Clone, Eq, PartialEq, Debug)]
pub(crate) enum Style {
    Plain,
    Quoted,
    Block,
}

/// A tag as it is written, and its name if it belongs to the core schema.
#[derive(Debug)]
pub(crate) struct Label<'t> {
    pub(crate) range: Range<usize>,
    pub(crate) core: Option<Cow<'t, str>>,
}

/// Why the text cannot be read on.
#[derive(Debug)]
pub(crate) struct SyntaxError {
    pub(crate) kind: &'static str,
    pub(crate) at: usize,
    pub(crate) message: Cow<'static, str>,
    pub(crate) way_out: Option<&'static str>,
}

pub(crate) struct Events<'t> {
    text: &'t str,
    parser: Parser<'t, StrInput<'t>>,
}

impl<'t> Events<'t> {
    pub(crate) fn of(text: &'t str) -> Self {
        // Depth over both sorts of collection is counted by who builds the tree; the parser must not be first.
        // A text may say that it is YAML 1.2, which it is; any other directive would change how it is read.
        let says_its_version = text.trim_start_matches('\u{FEFF}').starts_with("%YAML 1.2");
        let options = options! {
            emit_comments: false,
            emit_unresolved_aliases: true,
            disallow_directives: !says_its_version,
            flow_nesting_limit: DEEPEST + 1,
            block_nesting_limit: DEEPEST + 1,
        };
        Self { text, parser: Parser::new_from_str_with_options(text, options) }
    }

    /// Where the error is: at the tab, if there is one, rather than at the value beside it.
    fn cause(&self, kind: &ErrorKind, offset: Option<usize>) -> usize {
        let at = offset.unwrap_or(self.text.len());
        let Some((before, behind)) = self.text.split_at_checked(at).filter(|_| is_about_tab(kind)) else {
            return at;
        };
        let line = before.rfind(['\n', '\r']).map_or(0, |end| end + 1);
        let on_line = before[line..].find('\t').map(|tab| line + tab);
        on_line.or_else(|| behind.find('\t').map(|tab| at + tab)).unwrap_or(at)
    }

    fn step(&self, event: Parsed<'t>, span: &ParsedSpan, range: &Range<usize>) -> Option<Step<'t>> {
        Some(match event {
            Parsed::DocumentStart(..) => Step::Document,
            Parsed::Scalar(text, style, anchor, tag) => {
                let style = match style {
                    ScalarStyle::Plain => Style::Plain,
                    ScalarStyle::SingleQuoted | ScalarStyle::DoubleQuoted => Style::Quoted,
                    _ => Style::Block,
                };
                // The parser gives `~` for a value that is not written.
                let text = if style == Style::Plain && range.is_empty() { Cow::Borrowed("") } else { text };
                Step::Scalar { text, style, anchor: defined(anchor), tag: label(tag, span) }
            }
            Parsed::SequenceStart(_, anchor, tag) => {
                Step::Open { map: false, anchor: defined(anchor), tag: label(tag, span) }
            }
            Parsed::MappingStart(_, anchor, tag) => {
                Step::Open { map: true, anchor: defined(anchor), tag: label(tag, span) }
            }
            Parsed::SequenceEnd | Parsed::MappingEnd => Step::Close,
            Parsed::Alias(anchor) => Step::Alias { anchor },
            Parsed::UnresolvedAlias(_) => Step::UnknownAlias,
            _ => return None,
        })
    }
}

impl<'t> Iterator for Events<'t> {
    type Item = Result<Event<'t>, SyntaxError>;

    fn next(&mut self) -> Option<Self::Item> {
        loop {
            let (event, span) = match self.parser.next_event()? {
                Ok(pair) => pair,
                Err(error) => {
                    let at = self.cause(error.kind(), error.marker().byte_offset());
                    let kind = match error.kind() {
                        ErrorKind::RecursionLimitExceeded => "too-deep",
                        _ => "syntax",
                    };
                    let (message, way_out) = words(error.kind());
                    return Some(Err(SyntaxError { kind, at, message, way_out }));
                }
            };
            let range = span.byte_range().unwrap_or(self.text.len()..self.text.len());
            if let Some(step) = self.step(event, &span, &range) {
                return Some(Ok(Event { range, step }));
            }
        }
    }
}

fn defined(anchor: usize) -> Option<usize> {
    (anchor != 0).then_some(anchor)
}

fn label<'t>(tag: Option<Cow<'t, Tag>>, span: &ParsedSpan) -> Option<Label<'t>> {
    let tag = tag?;
    let range = span.tag_span().and_then(|span| span.byte_range());
    let start = span.start.byte_offset().unwrap_or(0);
    let core = if tag.handle() == "" && tag.suffix() == "!" {
        // The tag `!` alone says only that a scalar is text.
        Some(Cow::Borrowed("!"))
    } else {
        tag.core_suffix().map(|name| Cow::Owned(name.to_owned()))
    };
    Some(Label { range: range.unwrap_or(start..start), core })
}

fn is_about_tab(kind: &ErrorKind) -> bool {
    use ErrorKind as K;
    matches!(
        kind,
        K::TabNotAllowed
            | K::TabInBlockIndentation
            | K::TabInIndentation
            | K::TabAtBlockScalarStart
            | K::TabInPlainScalar
    )
}

/// What is wrong, and what to write instead.
fn words(kind: &ErrorKind) -> (Cow<'static, str>, Option<&'static str>) {
    use ErrorKind as K;
    let (message, way_out) = match kind {
        kind if is_about_tab(kind) => ("a tab stands where lines are indented", Some("indent with spaces")),
        K::InvalidIndentation
        | K::InvalidBlockScalarIndent
        | K::InvalidQuotedScalarIndent
        | K::InvalidFlowScalarIndent
        | K::ExpectedBlockMappingKey => (
            "this line is not indented like its neighbours",
            Some("give keys of one map the same indentation, and put what belongs to a key further in"),
        ),
        K::ExpectedBlockSequenceEntry => (
            "expected another item of the list",
            Some("begin the line with `- `, or indent it like the key above the list"),
        ),
        K::UnclosedFlowCollection { open } => {
            return (format!("`{open}` is not closed").into(), Some("close it with its bracket"));
        }
        K::MismatchedFlowCollectionEnd { open, close } => {
            return (format!("`{open}` is closed with `{close}`").into(), Some("use the matching bracket"));
        }
        K::MisplacedFlowCollectionEnd => {
            ("a bracket is closed that is not open", Some("remove it, or open it"))
        }
        K::UnexpectedEofFlowSequence | K::UnexpectedEofFlowMapping | K::UnexpectedEofImplicitFlowMapping => {
            ("the text ends inside a bracket", Some("close the bracket"))
        }
        K::UnexpectedEof | K::UnexpectedEofBlockMapping | K::UnexpectedEofBlockSequence => {
            ("the text ends too early", None)
        }
        K::ExpectedFlowMappingSeparator | K::ExpectedFlowSequenceSeparator => {
            ("expected `,` or the closing bracket", Some("separate entries with `,`"))
        }
        K::SimpleKeyExpected | K::InvalidSimpleKey => (
            "expected `:` behind the key",
            Some("write `key: value` on one line, with a blank behind the colon"),
        ),
        K::InvalidColonPlacement
        | K::MappingValueNotAllowed
        | K::MappingKeyNotAllowed
        | K::FlowMappingValueAdjacentCollection => (
            "`:` stands where no key can be",
            Some("indent the keys of one map alike, and put a text that contains `: ` in quotes"),
        ),
        K::UnclosedQuotedScalar => ("a quote is not closed", Some("close it with the same quote")),
        K::InvalidTrailingSingleQuotedScalar => {
            ("text follows a closed quote", Some("inside single quotes write `''` for a single quote"))
        }
        K::InvalidTrailingDoubleQuotedScalar => {
            ("text follows a closed quote", Some("inside double quotes write `\\\"` for a double quote"))
        }
        K::DocumentIndicatorInQuotedScalar => ("`---` or `...` stands inside a quoted text", None),
        K::UnknownQuotedScalarEscape
        | K::InvalidQuotedScalarHexEscape
        | K::InvalidLowSurrogateHexEscape
        | K::InvalidLowSurrogate
        | K::MissingLowSurrogate
        | K::UnpairedLowSurrogate
        | K::InvalidUnicodeEscape => {
            ("unknown escape in a quoted text", Some("write `\\\\` for a backslash, or use single quotes"))
        }
        K::ExpectedWhitespace | K::InvalidMappingValueWhitespace => {
            ("a blank is missing here", Some("write `key: value`"))
        }
        K::CommentNotSeparated => {
            ("a comment is not separated from the value", Some("put a blank before `#`"))
        }
        K::CommentInterceptedScalar => {
            ("a comment interrupts a value of several lines", Some("put the value in quotes"))
        }
        K::InvalidBlockScalarHeader | K::ZeroBlockScalarIndent => {
            ("expected the end of the line behind `|` or `>`", Some("begin the text on the next line"))
        }
        K::BlockEntryInFlowCollection
        | K::BlockSequenceEntryNotAllowed
        | K::InvalidBlockEntryWhitespace
        | K::PlainScalarStartsWithDashFlowIndicator => {
            ("`-` stands where no list item can be", Some("begin a list on a line of its own"))
        }
        K::UnexpectedCharacter { character: '`' } => {
            ("a backtick cannot begin a value", Some("put the value in quotes"))
        }
        K::UnexpectedCharacter { character } => {
            return (
                format!("`{}` cannot begin a value", crate::escape::escape_text(&character.to_string()))
                    .into(),
                Some("put the value in quotes"),
            );
        }
        K::DirectiveDisallowed => {
            ("directives are not part of the description language", Some("remove the line"))
        }
        K::UndeclaredTagHandle
        | K::InvalidTagTerminator
        | K::MissingTagUri
        | K::UnclosedVerbatimTag
        | K::InvalidTagEscape => (
            "tags are not part of the description language",
            Some("remove the tag, or put the value in quotes"),
        ),
        K::MissingAnchorOrAliasName => ("`&` or `*` has no name behind it", Some("put the value in quotes")),
        K::InvalidDocumentEnd => ("text follows `...`", Some("remove it")),
        K::BomInsideDocument => ("a byte-order mark stands inside the text", Some("remove it")),
        K::RecursionLimitExceeded => return (too_deep().into(), None),
        _ => ("this is not valid YAML", None),
    };
    (Cow::Borrowed(message), way_out)
}
