//! Lines of the description with what is to be said about them, framed by the diagnostics library.
//!
//! The library is given the marked lines and no others, made harmless beforehand: what cannot be seen is written out, and
//! of a long line there is a window around what is marked. It counts columns in bytes, so places are counted here.

use std::fmt;

use loadworthy_source::{NodeId, Span, Tree, escape_text};
use miette::{
    Diagnostic, GraphicalReportHandler, GraphicalTheme, LabeledSpan, MietteError, MietteSpanContents,
    SourceCode, SourceSpan, SpanContents,
};

use crate::show::layout::{WIDTH, cut, width, wrapped};

use super::window::{Window, window};

/// Characters of a label that are shown.
const LONGEST_LABEL: usize = 240;
/// A label is wrapped at no less than this.
const NARROWEST_LABEL: usize = 30;

/// A place to mark and what to write beside it.
#[derive(Clone, Debug)]
pub(crate) struct Mark {
    pub(crate) span: Span,
    pub(crate) label: String,
}

impl Mark {
    pub(crate) fn of_node(tree: &Tree, node: NodeId, label: &str) -> Self {
        Self { span: tree.span(node), label: label.to_owned() }
    }
}

/// The marked lines with their marks; the first mark is what it is about.
pub(crate) fn snippet(tree: &Tree, marks: &[Mark], colored: bool) -> String {
    let theme = if colored { GraphicalTheme::unicode() } else { GraphicalTheme::unicode_nocolor() };
    let handler = GraphicalReportHandler::new_themed(theme)
        .with_links(false)
        .with_context_lines(0)
        .with_wrap_lines(false)
        .with_width(WIDTH)
        .without_syntax_highlighting();
    let mut shown = String::new();
    // Writing to a string cannot fail.
    let _ = handler.render_report(&mut shown, &Marked::new(tree, marks));
    // The sentence stands above; the library leaves a line for it.
    shown.trim_start_matches('\n').to_owned()
}

/// A line of a file as it is shown.
#[derive(Debug)]
struct Line {
    name: String,
    number: u32,
    /// Where it starts in the text that the library sees.
    start: usize,
    /// Its characters and a line feed.
    length: usize,
}

/// A mark in the text that the library sees.
#[derive(Debug)]
struct Placed {
    start: usize,
    length: usize,
    column: u32,
    label: String,
}

/// Marked lines as the library wants them: a diagnostic without a sentence of its own.
#[derive(Debug)]
struct Marked {
    text: String,
    lines: Vec<Line>,
    marks: Vec<Placed>,
}

impl Marked {
    fn new(tree: &Tree, marks: &[Mark]) -> Self {
        let mut marked = Self { text: String::new(), lines: Vec::new(), marks: Vec::new() };
        let Some(first) = marks.first() else { return marked };
        let mut sorted = marks
            .iter()
            .enumerate()
            .map(|(rank, mark)| (rank, OnLine::of(tree, mark.span), mark))
            .collect::<Vec<_>>();
        // The file that it is about comes first, then the other files as they were read; within a file by line.
        sorted.sort_by_key(|(rank, on, mark)| {
            (mark.span.file != first.span.file, mark.span.file, on.number, mark.span.start, *rank)
        });
        for group in
            sorted.chunk_by(|one, next| one.2.span.file == next.2.span.file && one.1.number == next.1.number)
        {
            marked.add_line(tree, group);
        }
        marked
    }

    fn add_line(&mut self, tree: &Tree, group: &[(usize, OnLine<'_>, &Mark)]) {
        let [(_, first, mark), ..] = group else { return };
        let gutter = first.number.to_string().len() + 4;
        let room = WIDTH.saturating_sub(gutter);
        let ranges = group.iter().map(|(_, on, _)| on.range.clone()).collect::<Vec<_>>();
        // The mark that matters most decides what is seen of a long line.
        let focus =
            group.iter().enumerate().min_by_key(|(_, (rank, ..))| *rank).map_or(0, |(place, _)| place);
        let label = group.get(focus).map_or("", |(_, _, mark)| &mark.label);
        let beside = (width(label) + 6).min(NARROWEST_LABEL + 6);
        let Window { text, ranges } = window(first.text, &ranges, focus, room, beside);
        let start = self.text.len();
        for ((_, on, mark), range) in group.iter().zip(ranges) {
            let before = width(text.get(..(range.start + range.end) / 2).unwrap_or(&text));
            let room = room.saturating_sub(before + 4).max(NARROWEST_LABEL);
            let label = wrapped(&cut(&mark.label, LONGEST_LABEL), room).join("\n");
            let placed = Placed { start: start + range.start, length: range.len(), column: on.column, label };
            let known = |other: &Placed| {
                other.start == placed.start && other.length == placed.length && other.label == placed.label
            };
            if !self.marks.iter().any(known) {
                self.marks.push(placed);
            }
        }
        let name = escape_text(&tree.file(mark.span.file).name).into_owned();
        self.lines.push(Line { name, number: first.number, start, length: text.len() + 1 });
        self.text.push_str(&text);
        self.text.push('\n');
    }

    /// The lines that a stretch touches, if they follow one another in one file.
    fn lines_of(&self, start: usize, end: usize) -> Option<&[Line]> {
        let holds = |line: &Line, at: usize| line.start <= at && at < line.start + line.length;
        let first = self.lines.iter().position(|line| holds(line, start))?;
        let last = self.lines.iter().position(|line| holds(line, end.max(start + 1) - 1))?;
        let lines = self.lines.get(first..=last)?;
        let follow = |pair: &[Line]| match pair {
            [one, next] => one.name == next.name && one.number + 1 == next.number,
            _ => true,
        };
        lines.windows(2).all(follow).then_some(lines)
    }
}

impl SourceCode for Marked {
    fn read_span<'a>(
        &'a self,
        span: &SourceSpan,
        _: usize,
        _: usize,
    ) -> Result<Box<dyn SpanContents<'a> + 'a>, MietteError> {
        let (start, end) = (span.offset(), span.offset() + span.len());
        let lines = self.lines_of(start, end).ok_or(MietteError::OutOfBounds)?;
        let ([first, ..], [.., last]) = (lines, lines) else { return Err(MietteError::OutOfBounds) };
        let stretch = first.start..last.start + last.length;
        let data = self.text.as_bytes().get(stretch.clone()).ok_or(MietteError::OutOfBounds)?;
        let column = self.marks.iter().find(|mark| mark.start == start).map_or(1, |mark| mark.column);
        Ok(Box::new(MietteSpanContents::new_named(
            first.name.clone(),
            data,
            (stretch.start, stretch.len()).into(),
            (first.number as usize).saturating_sub(1),
            (column as usize).saturating_sub(1),
            lines.len(),
        )))
    }
}

impl fmt::Display for Marked {
    fn fmt(&self, _: &mut fmt::Formatter<'_>) -> fmt::Result {
        Ok(())
    }
}

impl std::error::Error for Marked {}

impl Diagnostic for Marked {
    fn source_code(&self) -> Option<&dyn SourceCode> {
        Some(self)
    }

    fn labels(&self) -> Option<Box<dyn Iterator<Item = LabeledSpan> + '_>> {
        let label = |mark: &Placed| {
            let label = (!mark.label.is_empty()).then(|| mark.label.clone());
            LabeledSpan::new(label, mark.start, mark.length)
        };
        Some(Box::new(self.marks.iter().map(label)))
    }
}

/// The first line of a span.
pub(crate) struct OnLine<'t> {
    pub(crate) number: u32,
    pub(crate) column: u32,
    pub(crate) text: &'t str,
    /// The span within it; what goes on in further lines is left out.
    pub(crate) range: std::ops::Range<usize>,
}

impl<'t> OnLine<'t> {
    pub(crate) fn of(tree: &'t Tree, span: Span) -> Self {
        let file = tree.file(span.file);
        let place = file.place(span.start);
        let text = file.line(place.line).unwrap_or_default();
        let before = file.text.get(..span.start as usize).unwrap_or_default();
        let offset = before.len() - before.rfind(['\n', '\r']).map_or(0, |end| end + 1);
        let start = offset.min(text.len());
        let mut end = (offset + (span.end.saturating_sub(span.start)) as usize).clamp(start, text.len());
        end = start + text.get(start..end).unwrap_or_default().trim_end().len();
        // A mark of no width is one character wide in the frame; it may stand behind the line.
        Self { number: place.line, column: place.column, text, range: start..end }
    }
}
