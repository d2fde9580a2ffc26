//! Size, depth and repetition have limits that the message names.

use std::fmt::Write as _;
use std::time::{Duration, Instant};

use loadworthy_source::{MOST_PROBLEMS, Tree};

use super::{marked, problems};

#[track_caller]
fn only(text: &[u8]) -> (String, String, String) {
    let (tree, root, found) = problems(text);
    assert_eq!(root, None);
    assert_eq!(found.len(), 1, "{:?}", found.iter().map(|problem| &problem.message).collect::<Vec<_>>());
    (found[0].kind.to_owned(), marked(&tree, &found[0]).to_owned(), found[0].message.clone())
}

#[test]
fn a_file_of_more_than_16_mib_is_not_read() {
    let mut text = b"a: 1\n#".to_vec();
    text.resize(16 << 20, b'x');
    assert!(problems(&text).1.is_some(), "16 MiB are read");
    text.push(b'x');
    let (kind, _, message) = only(&text);
    assert_eq!(kind, "too-large");
    assert_eq!(message, "the file has 16777217 bytes, more than the 16 MiB that are read");
}

#[test]
fn a_scalar_of_50_mb_is_refused_unread() {
    let mut text = b"a: ".to_vec();
    text.resize(50_000_000, b'x');
    let (tree, root, found) = problems(&text);
    assert_eq!((root, found.len(), found[0].kind), (None, 1, "too-large"));
    assert_eq!((tree.files()[0].text.len(), tree.node_count()), (0, 0), "it is neither kept nor parsed");
}

#[test]
fn files_have_a_limit_together() {
    let mut text = b"a: 1\n#".to_vec();
    text.resize(16 << 20, b'x');
    let mut tree = Tree::new();
    let mut found = Vec::new();
    for _ in 0..16 {
        assert!(tree.read("part.yaml", &text, &mut found).is_some());
    }
    assert_eq!(tree.read("part.yaml", b"a: 1", &mut found), None);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].message, "the files have more than the 256 MiB together that are read");
}

#[test]
fn nesting_ends_at_64_levels() {
    let nested = |levels: usize| format!("a: {}{}", "[".repeat(levels - 1), "]".repeat(levels - 1));
    assert!(problems(nested(64).as_bytes()).1.is_some());
    let (kind, mark, message) = only(nested(65).as_bytes());
    assert_eq!((kind.as_str(), mark.as_str()), ("too-deep", "["));
    assert_eq!(message, "maps and lists are nested more than 64 levels deep, aliases included");

    let block = |levels: usize| {
        (0..levels).fold(String::new(), |mut text, level| {
            let _ = writeln!(text, "{}a:", " ".repeat(level));
            text
        })
    };
    assert!(problems(block(64).as_bytes()).1.is_some());
    assert_eq!(only(block(65).as_bytes()).0, "too-deep");
    assert_eq!(only(block(2_000).as_bytes()).0, "too-deep");
    assert_eq!(only("- ".repeat(50_000).as_bytes()).0, "too-deep");
    assert_eq!(only(format!("a: {}", "[".repeat(1_000_000)).as_bytes()).0, "too-deep");
    assert_eq!(only(format!("a: {}", "{a: ".repeat(1_000_000)).as_bytes()).0, "too-deep");
}

#[test]
fn nesting_through_aliases_counts() {
    let mut text = "a0: &a0 [1]\n".to_owned();
    for level in 1..100 {
        let _ = writeln!(text, "a{level}: &a{level} [*a{}]", level - 1);
    }
    let (kind, mark, _) = only(text.as_bytes());
    assert_eq!((kind.as_str(), mark.as_str()), ("too-deep", "*a62"));
}

#[test]
fn repetition_through_aliases_counts() {
    let mut text = "a0: &a0 [1, 1, 1, 1, 1, 1, 1, 1, 1, 1]\n".to_owned();
    for level in 1..30 {
        let uses = vec![format!("*a{}", level - 1); 10].join(", ");
        let _ = writeln!(text, "a{level}: &a{level} [{uses}]");
    }
    let (kind, mark, message) = only(text.as_bytes());
    assert_eq!((kind.as_str(), mark.as_str()), ("too-large", "*a5"));
    assert_eq!(message, "the file holds more than 2000000 values, each alias counted with what it repeats");
}

#[test]
fn a_million_keys_take_little_time() {
    let text: String = (0..1_000_000).fold(String::with_capacity(16 << 20), |mut text, index| {
        let _ = writeln!(text, "k{index}: 1");
        text
    });
    let begun = Instant::now();
    let (tree, root, found) = problems(text.as_bytes());
    let elapsed = begun.elapsed();
    assert_eq!(found, []);
    assert_eq!(tree.entries(root.expect("usable")).len(), 1_000_000);
    // Unoptimised builds on a busy machine included; it is half a second where it matters.
    assert!(elapsed < Duration::from_secs(20), "{elapsed:?}");
}

#[test]
fn problems_are_capped_and_the_last_says_so() {
    let text =
        "a: !x 1\n".to_owned() + &(0..300).map(|index| format!("k{index}: !x 1\n")).collect::<String>();
    let (tree, root, found) = problems(text.as_bytes());
    assert!(root.is_some());
    assert_eq!(found.len(), MOST_PROBLEMS + 1);
    let last = found.last().expect("not empty");
    assert_eq!(last.message, "… and 101 more problems in this file");
    assert_eq!(last.at, found[MOST_PROBLEMS - 1].at);
    assert_eq!(marked(&tree, last), "!x");
}

#[test]
fn patches_have_a_limit_together() {
    let keys = (0..100_000).fold(String::new(), |mut text, index| {
        let _ = writeln!(text, "k{index}: 1");
        text
    });
    let mut tree = Tree::new();
    let mut found = Vec::new();
    let base = tree.read("unit.yaml", keys.as_bytes(), &mut found).expect("a root");
    let patch = tree.read("patch.yaml", b"k5: 2", &mut found).expect("a root");
    let failed = (0..200).find_map(|_| tree.patch(base, patch).err()).expect("refused in the end");
    assert_eq!(failed.kind, "too-large");
    assert_eq!(failed.message, "the patches write more than 10000000 entries together");
    assert_eq!(tree.text_of(failed.at), "k5: 2");
}
