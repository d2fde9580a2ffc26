//! Any bytes as a description: reading, solving, judging and showing never panic, and what is shown is harmless.
//!
//! ```text
//! cargo +nightly fuzz run review --fuzz-dir tests/fuzz -s none tests/fuzz/corpus/review tests/fuzz/seeds/review -- -dict=tests/fuzz/yaml.dict -max_len=8192
//! ```

#![no_main]

use libfuzzer_sys::fuzz_target;
use loadworthy::{Surroundings, run};
use loadworthy_source::escape_text;

fuzz_target!(|bytes: &[u8]| {
    shown(bytes, &["review", "-", "--all"], 4000);
    shown(bytes, &["derive", "-"], 4000);
    // A string in JSON is not broken, however long it is.
    let json = shown(bytes, &["review", "-", "--format", "json"], usize::MAX);
    let read: Result<serde_json::Value, _> = serde_json::from_str(&json);
    assert!(read.is_ok(), "not JSON: {json}");
});

fn shown(mut bytes: &[u8], arguments: &[&str], longest: usize) -> String {
    let (mut output, mut errors) = (Vec::new(), Vec::new());
    let arguments = std::iter::once("loadworthy").chain(arguments.iter().copied()).map(Into::into);
    let surroundings =
        Surroundings { input: &mut bytes, output: &mut output, errors: &mut errors, colored: false };
    let _ = run(arguments, surroundings);
    let text = String::from_utf8(output).expect("what is shown is UTF-8");
    for line in text.lines() {
        assert!(escape_text(line) == line, "a hidden character: {line:?}");
        assert!(line.chars().count() <= longest, "a line of {} characters", line.chars().count());
    }
    text
}
