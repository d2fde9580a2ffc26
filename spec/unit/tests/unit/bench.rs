//! Units for the tests, read from text.

use loadworthy_language::{Files, Input, read};
use loadworthy_unit::Unit;

struct NoFiles;

impl Files for NoFiles {
    fn open(&mut self, relative: &str) -> Result<Vec<u8>, String> {
        Err(format!("{relative} is not here"))
    }
}

/// The unit that a text describes; the text must have no problem.
pub(crate) fn unit(text: &str) -> Unit {
    let input = Input { name: "bench.yaml", bytes: text.as_bytes(), overrides: &[], vocabulary: &[] };
    let reading = read(input, &mut NoFiles);
    assert_eq!(reading.problems, [], "the bench description has problems");
    let (unit, problems) = Unit::build(&reading, &[]);
    assert_eq!(problems, []);
    unit
}
