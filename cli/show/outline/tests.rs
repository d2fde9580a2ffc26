//! Whatever is asked for is a description.

use loadworthy_language::{Files, Input, read};

use super::*;

struct NoFiles;

impl Files for NoFiles {
    fn open(&mut self, _: &str) -> Result<Vec<u8>, String> {
        Err("an outline stands alone".to_owned())
    }
}

/// What is wrong with the outline of these sections.
fn problems(names: &[String]) -> Vec<String> {
    let text = text(names).expect("they can be asked for");
    let vocabulary = loadworthy_checks::list::policy_vocabulary();
    let input = Input {
        name: "outline.yaml",
        bytes: text.as_bytes(),
        written: &[],
        overrides: &[],
        vocabulary: &vocabulary,
    };
    read(input, &mut NoFiles).problems.iter().map(|problem| problem.message.clone()).collect()
}

#[test]
fn any_two_sections_and_all_but_any_one_are_read_without_a_problem() {
    let sketch = Sketch::read().expect("the data is read");
    let names = sketch.optional().map(|(name, _)| name.to_owned()).collect::<Vec<_>>();
    let pairs = names
        .iter()
        .enumerate()
        .flat_map(|(place, one)| names.iter().skip(place + 1).map(|other| vec![one.clone(), other.clone()]));
    let without = |left_out: &String| names.iter().filter(|name| *name != left_out).cloned().collect();
    let most = names.iter().map(without);
    for names in pairs.chain(most) {
        assert_eq!(problems(&names), Vec::<String>::new(), "{names:?}");
    }
}
