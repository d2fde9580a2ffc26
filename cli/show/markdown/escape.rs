//! Text of a description, and ours about it, as it may stand in Markdown: shown as it is, and never obeyed.
//!
//! A reader of Markdown may turn names into mentions, numbers into references, addresses into links, and characters into
//! structure. So a word of letters, digits and quiet punctuation stays as it is, and every other word is a code span, in
//! which nothing is obeyed by any reader. What is written here stands in one line and holds no pipe, so that it may stand in
//! a cell of a table as well as in a paragraph. What cannot be seen is written out.

use loadworthy_source::escape_text;

/// Hexadecimal digits in a row that a host may take for the name of a revision.
const LIKE_A_REVISION: usize = 7;

/// Running text.
pub(crate) fn text(text: &str) -> String {
    words(text, code)
}

/// Running text of ours, in which names stand between backticks.
pub(crate) fn message(said: &str) -> String {
    let parts = said.split('`').collect::<Vec<_>>();
    // A backtick without its fellow is somebody's text, and then all of them may be.
    if parts.len() % 2 == 0 {
        return text(said);
    }
    let mut shown = String::new();
    for (place, part) in parts.iter().enumerate() {
        if place % 2 == 1 {
            shown.push_str(&code(part));
            continue;
        }
        let between = text(part);
        let gap = |edge: bool| if edge && !between.is_empty() { " " } else { "" };
        shown.push_str(gap(place > 0 && part.starts_with(' ')));
        shown.push_str(&between);
        shown.push_str(gap(part.ends_with(' ')));
        if between.is_empty() && !part.is_empty() {
            shown.push(' ');
        }
    }
    shown.trim().to_owned()
}

/// A name, as a code span.
pub(crate) fn code(text: &str) -> String {
    // In a table a pipe parts cells even within code; as an entity it stands outside of the span and parts nothing.
    escape_text(text).split('|').map(span).collect::<Vec<_>>().join("&#124;")
}

/// A value: running text where all of it is plain, otherwise one code span.
pub(crate) fn value(said: &str) -> String {
    let shown = text(said);
    if shown.contains('`') { code(said) } else { shown }
}

/// Lines as a block of code, with a word that says of what language.
pub(crate) fn fence(language: &str, lines: &str) -> String {
    let lines = lines.trim_end_matches('\n').split('\n').map(escape_text).collect::<Vec<_>>().join("\n");
    let fence = "`".repeat((longest_run(&lines) + 1).max(3));
    format!("{fence}{language}\n{lines}\n{fence}\n")
}

/// A name within HTML, where Markdown is not read.
pub(crate) fn html_code(text: &str) -> String {
    if text.is_empty() { String::new() } else { format!("<code>{}</code>", entities(&escape_text(text))) }
}

/// Running text within HTML, where Markdown is not read.
pub(crate) fn html_text(text: &str) -> String {
    words(text, html_code)
}

/// A text word by word, with what is not plain in a span.
fn words(text: &str, span: fn(&str) -> String) -> String {
    let seen = escape_text(text);
    let words = seen.split(' ').filter(|word| !word.is_empty());
    words.enumerate().map(|(place, one)| word(one, place == 0, span)).collect::<Vec<_>>().join(" ")
}

/// A code span; nothing for nothing.
fn span(text: &str) -> String {
    if text.is_empty() {
        return String::new();
    }
    let ticks = "`".repeat(longest_run(text) + 1);
    let blank = text.chars().all(|character| character == ' ');
    // One space at both ends belongs to the span and not to the text.
    let pads = text.starts_with('`') || text.ends_with('`');
    let pads = pads || (text.starts_with(' ') && text.ends_with(' ') && !blank);
    if pads { format!("{ticks} {text} {ticks}") } else { format!("{ticks}{text}{ticks}") }
}

fn longest_run(text: &str) -> usize {
    text.split(|character| character != '`').map(str::len).max().unwrap_or_default()
}

/// A word, with the punctuation around it left outside of its span.
fn word(word: &str, is_first: bool, span: fn(&str) -> String) -> String {
    if is_first && begins_a_block(word) {
        return span(word);
    }
    let quiet = |character: char| matches!(character, ',' | '.' | ';' | ':' | '?' | ')' | '"' | '\'');
    let head = word.trim_start_matches(['(', '"', '\'']);
    let core = head.trim_end_matches(quiet);
    let before = word.strip_suffix(head).unwrap_or_default();
    let behind = head.strip_prefix(core).unwrap_or_default();
    let shown = if is_plain(core) { entities(core) } else { span(core) };
    format!("{before}{shown}{behind}")
}

/// Whether a word at the start of a paragraph would make it something else: an item of a list, a rule, a command of a host.
fn begins_a_block(word: &str) -> bool {
    let is_number = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    word.chars().all(|character| matches!(character, '-' | '+' | '='))
        || word.strip_suffix(['.', ')']).is_some_and(is_number)
        || word.starts_with('/')
}

/// Whether no reader of Markdown sees more in a word than its characters.
fn is_plain(word: &str) -> bool {
    let lower = word.to_lowercase();
    let reads_like_a_reference =
        lower.split("gh-").skip(1).any(|rest| rest.starts_with(|character: char| character.is_numeric()))
            || lower.contains("www.")
            || lower
                .split(|character: char| !character.is_ascii_hexdigit())
                .any(|run| LIKE_A_REVISION <= run.len());
    word.chars().all(is_quiet) && !reads_like_a_reference
}

fn is_quiet(character: char) -> bool {
    character.is_alphanumeric()
        || matches!(
            character,
            '-' | ',' | '.' | ';' | '?' | '\'' | '"' | '(' | ')' | '%' | '/' | '+' | '=' | '<' | '>' | '&'
        )
        || matches!(character, '°' | '·' | '…' | '–' | '—' | '−' | '×' | '→' | '≤' | '≥' | '±' | '√')
}

fn entities(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}

#[cfg(test)]
mod tests;
