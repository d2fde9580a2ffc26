//! A trial keeps what does not follow from it, to the bit, and solves anew what does.

use std::collections::BTreeMap;
use std::path::Path;

use loadworthy_language::{Files, Input, read};
use loadworthy_unit::table::Follows;
use loadworthy_unit::{Edit, FigureId, InputId, Solved, Unit, Variant};

/// Whole units, which have some of everything.
const EXAMPLES: [&str; 3] = ["harbour-shuttle.yaml", "snow-groomer.yaml", "timber-forwarder.yaml"];

struct Folder<'p>(&'p Path);

impl Files for Folder<'_> {
    fn open(&mut self, relative: &str) -> Result<Vec<u8>, String> {
        std::fs::read(self.0.join(relative)).map_err(|error| error.to_string())
    }
}

fn example(name: &str) -> Unit {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let text = std::fs::read(folder.join(name)).unwrap();
    let input = Input { name, bytes: &text, overrides: &[], written: &[], vocabulary: &[] };
    Unit::build(&read(input, &mut Folder(&folder)), &[]).0
}

fn assert_same(variant: &Variant, input: &str, beside: &Solved<'_>, anew: &Solved<'_>) {
    for lane in variant.lane_ids() {
        assert_eq!(beside.state(lane), anew.state(lane));
        for figure in (0..variant.tables.figures().len()).map(FigureId::new) {
            let (kept, own) = (beside.raw(figure, lane), anew.raw(figure, lane));
            let path = variant.tables.figure_path(figure);
            assert_eq!(kept.to_bits(), own.to_bits(), "{path} follows from {input}: {kept} and {own}");
        }
    }
}

#[test]
fn a_trial_keeps_only_what_does_not_follow_from_it() {
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    for name in EXAMPLES {
        let unit = example(name);
        let variant = &unit.variants[0];
        let solved = Solved::new(variant);
        for (place, input) in variant.tables.inputs().iter().enumerate() {
            if input.follows == Follows::Everything {
                continue;
            }
            *kinds.entry(format!("{:?}", input.follows)).or_default() += 1;
            let edit = Edit { input: InputId::new(place), value: 0.3 * input.values[0].value + 0.01 };
            let trial = [vec![edit]];
            let (anew, beside) = (Solved::with(variant, &trial), solved.trials(&trial).next().unwrap());
            for lane in variant.lane_ids() {
                assert_eq!(beside.input(edit.input, lane), anew[0].input(edit.input, lane));
            }
            assert_same(variant, &input.path, &beside, &anew[0]);
        }
    }
    let kinds: Vec<&str> = kinds.keys().map(String::as_str).collect();
    let late = ["Conductors", "Flux", "Fuses", "Stored", "TurnOff", "Uneven", "Walls", "Withstand"]
        .map(|of| format!("Late({of})"));
    let all: Vec<&str> = late.iter().map(String::as_str).chain(["Nothing"]).collect();
    assert_eq!(kinds, all, "each kind of input is in one of the units");
}
