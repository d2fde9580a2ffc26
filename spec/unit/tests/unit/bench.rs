//! Units for the tests, read from text, and figures looked up by their paths.

use loadworthy_language::{Files, Input, read};
use loadworthy_unit::{FigureId, InputId, LaneId, LaneState, Solved, Unit, Variant};

/// A half-bridge module in each leg, one cooled face, a ripple inductance.
pub(crate) const IGBT: &str = include_str!("../igbt.yaml");
/// Two MOSFETs in parallel at each position, three resistances, a plate that all stand on.
pub(crate) const MOSFET: &str = include_str!("../mosfet.yaml");
/// Two bridges; one in modules with faces at two places, one in two six-packs.
pub(crate) const TWO_FACES: &str = include_str!("../two_faces.yaml");
/// Two packs on two buses, and one coolant path past both bridges.
pub(crate) const TWIN_PACK: &str = include_str!("../twin_pack.yaml");
/// A pack, a boost, two bridges, a full bridge down to a board net, and coolant in two branches.
pub(crate) const CHAIN: &str = include_str!("../chain.yaml");
/// Those whose coolant passes one place after another.
pub(crate) const SERIES: [&str; 4] = [IGBT, MOSFET, TWO_FACES, TWIN_PACK];
/// All of them.
pub(crate) const ALL: [&str; 5] = [IGBT, MOSFET, TWO_FACES, TWIN_PACK, CHAIN];

struct NoFiles;

impl Files for NoFiles {
    fn open(&mut self, relative: &str) -> Result<Vec<u8>, String> {
        Err(format!("{relative} is not here"))
    }
}

/// The unit that a text describes; the text must have no problem.
pub(crate) fn unit(text: &str) -> Unit {
    let (unit, problems) = unit_and_problems(text);
    assert_eq!(problems, Vec::<String>::new(), "the bench description has problems");
    unit
}

/// The unit that a text describes, and what the readers say against it.
pub(crate) fn unit_and_problems(text: &str) -> (Unit, Vec<String>) {
    let input =
        Input { name: "bench.yaml", bytes: text.as_bytes(), written: &[], overrides: &[], vocabulary: &[] };
    let reading = read(input, &mut NoFiles);
    let (unit, problems) = Unit::build(&reading, &[]);
    let said = reading.problems.iter().chain(&problems).map(|problem| problem.message.clone()).collect();
    (unit, said)
}

/// A description with parts of its text replaced; each must be there.
pub(crate) fn changed(text: &str, changes: &[(&str, &str)]) -> String {
    changes.iter().fold(text.to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "`{from}` is not in the description");
        text.replace(from, to)
    })
}

/// The figure of that path.
pub(crate) fn figure(variant: &Variant, path: &str) -> FigureId {
    let place = (0..variant.tables.figures().len())
        .map(FigureId::new)
        .find(|&id| variant.tables.figure_path(id) == path);
    place.unwrap_or_else(|| panic!("no figure `{path}`"))
}

/// The input of that path, as it is written in the tables.
pub(crate) fn input(variant: &Variant, path: &str) -> InputId {
    let place = variant.tables.inputs().iter().position(|input| input.path == path);
    InputId::new(place.unwrap_or_else(|| panic!("no input `{path}`")))
}

/// The first lane of a duty point.
pub(crate) fn lane(variant: &Variant, duty: &str) -> LaneId {
    let lane = variant.lane_ids().find(|&lane| variant.duty_of(lane).name == duty);
    lane.unwrap_or_else(|| panic!("no duty point `{duty}`"))
}

/// The lane of a duty point that holds the rotor so.
pub(crate) fn held(variant: &Variant, duty: &str, crest: i8) -> LaneId {
    let lane = variant
        .lane_ids()
        .find(|&lane| variant.duty_of(lane).name == duty && variant.lane(lane).crest == crest);
    lane.unwrap_or_else(|| panic!("no lane {crest} of `{duty}`"))
}

/// A figure of a lane, by its path; it must be there.
pub(crate) fn value(solved: &Solved<'_>, lane: LaneId, path: &str) -> f64 {
    let found = solved.figure(figure(solved.variant, path), lane);
    found.unwrap_or_else(|| panic!("`{path}` is missing: {:?}", solved.state(lane)))
}

/// Whether a lane came to its end with all figures that can be had.
pub(crate) fn is_solved(solved: &Solved<'_>, lane: LaneId) -> bool {
    matches!(solved.state(lane), LaneState::Solved { .. })
}

/// Fails unless two numbers agree to a share of the larger.
#[track_caller]
pub(crate) fn close(left: f64, right: f64, share: f64, what: &str) {
    let scale = left.abs().max(right.abs()).max(1e-300);
    assert!((left - right).abs() <= share * scale, "{what}: {left} against {right}");
}
