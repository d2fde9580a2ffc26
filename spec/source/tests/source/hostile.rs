//! Bytes that are no description.

use loadworthy_source::Place;

use super::{marked, problems};

#[test]
fn the_first_byte_that_is_not_utf8_is_marked() {
    let (tree, root, found) = problems(b"a: 1\nb: \xB5 5\nc: \xFF");
    assert_eq!(root, None);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].message, "the file is not UTF-8: byte 8 is 0xB5");
    assert_eq!(found[0].at.start, 8);
    assert_eq!(marked(&tree, &found[0]), "\u{FFFD}");
    assert_eq!(tree.files()[0].place(found[0].at.start), Place { line: 2, column: 4 });

    for text in [b"a: \xC3".as_slice(), b"a: \xE2\x82", b"\xC0\x80", b"a: \xED\xA0\x80", b"\xF5\x80\x80\x80"]
    {
        let (tree, root, found) = problems(text);
        assert_eq!(root, None);
        assert_eq!(found[0].kind, "not-utf-8", "{text:?}");
        assert!(marked(&tree, &found[0]).starts_with('\u{FFFD}'), "{text:?}");
    }
}

#[test]
fn utf16_is_named() {
    let little: Vec<u8> = "\u{FEFF}a: 1".encode_utf16().flat_map(u16::to_le_bytes).collect();
    let big: Vec<u8> = "\u{FEFF}a: 1".encode_utf16().flat_map(u16::to_be_bytes).collect();
    for text in [little, big] {
        let (_, root, found) = problems(&text);
        assert_eq!(root, None);
        assert_eq!(found[0].message, "the file is written in UTF-16, not UTF-8");
    }
}

#[test]
fn control_characters_are_refused_with_their_place() {
    let (tree, root, found) = problems("a: 1\nb: x\u{1B}[2J\nc: \0\n".as_bytes());
    assert_eq!(root, None);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].message, "the control character U+001B is not text");
    assert_eq!(tree.files()[0].place(found[0].at.start), Place { line: 2, column: 5 });
    assert_eq!(found[0].also.len(), 1);
    assert_eq!(found[0].also[0].1, "U+0000");
    for control in ['\u{1}', '\u{7F}', '\u{80}', '\u{85}', '\u{9F}', '\u{FFFE}', '\u{FFFF}'] {
        let (tree, root, found) = problems(format!("a: µ{control}b").as_bytes());
        assert_eq!(root, None, "{control:?}");
        assert_eq!(marked(&tree, &found[0]), control.to_string());
    }
    for allowed in ['\t', '\u{A0}', 'é', '\u{202E}', '\u{FFFD}', '\u{10FFFF}', '¿'] {
        let (_, root, found) = problems(format!("a: 'µ{allowed}b'").as_bytes());
        assert!(root.is_some() && found.is_empty(), "{allowed:?}");
    }
}

#[test]
fn a_byte_order_mark_belongs_to_the_start() {
    assert!(problems("\u{FEFF}a: 1".as_bytes()).1.is_some());
    let (_, root, found) = problems("a: 1\n\u{FEFF}b: 2".as_bytes());
    assert_eq!(root, None);
    assert_eq!(found[0].message, "a byte-order mark stands inside the text");
}

#[test]
fn nothing_in_a_thousand_odd_texts_panics() {
    // Pieces that have meaning for a parser, put together in every order of three.
    let pieces = [
        "a: ", "- ", "? ", ": ", "[", "]", "{", "}", ",", "&x ", "*x", "!t ", "|\n", ">+\n", "'", "\"", "\n",
        "  ", "#", "---\n", "...\n", "\t", "µ", "\\", "%", "~",
    ];
    for first in pieces {
        for second in pieces {
            for third in pieces {
                let text = format!("{first}{second}{third}");
                let (tree, root, found) = problems(text.as_bytes());
                assert!(root.is_some() || !found.is_empty(), "{text:?} has neither a root nor a problem");
                for problem in &found {
                    let places = problem.also.iter().map(|also| also.0).chain([problem.at]);
                    for span in places {
                        assert!(tree.file(span.file).text.get(span.range()).is_some(), "{text:?}");
                    }
                }
            }
        }
    }
}
