//! What may vary: the numbers that a duty point states, how long it lasts where it says what it starts from, carrier
//! frequencies, and the air around the unit.

use loadworthy_unit::{Dimension, DutyId, Edit, InputId, Variant};

const DUTY: &str = "duty.*.";
/// What the description states once for all duty points, and trials may state anew.
const AROUND: [&str; 2] = ["surroundings.altitude", "surroundings.inside_air"];
const CARRIER: &str = ".carrier.frequency";
/// The flow of a pump that holds one, and the name that it has where a duty point states its own.
const PUMP: &str = "cooling.pump.flow";
const FLOW: &str = "coolant.flow";

/// What varies, with all that varies with it.
#[derive(Clone, Debug)]
pub struct Condition {
    /// What was named.
    pub input: InputId,
    /// The inputs that take its values, each times so much: carriers that run together keep their ratios.
    all: Vec<(InputId, f64)>,
}

impl Condition {
    /// The edits that give it a value.
    pub(super) fn edits(&self, value: f64) -> impl Iterator<Item = Edit> + '_ {
        self.all.iter().map(move |&(input, times)| Edit { input, value: value * times })
    }
}

/// Why something cannot vary.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unvaried {
    /// The duty point states no such number.
    Unknown,
    /// It is what is scaled.
    Demand,
    /// The duty point stands still, and turning would be another one.
    Standstill,
    /// It holds in all duty points, and this one starts from another, which would have to be solved anew as well.
    StartsFrom,
}

/// The numbers that a duty point states, each under its name within the duty point, and those of the whole unit that may
/// vary, in the order of the tables.
pub fn conditions(variant: &Variant, duty: DutyId) -> impl Iterator<Item = (&str, InputId)> {
    let inputs = variant.tables.inputs().iter().enumerate();
    inputs.filter_map(move |(place, input)| {
        let id = InputId::new(place);
        let stated = variant.tables.stated(id, duty);
        // What is not stated leaves the structure as it is: a voltage behind a resistance is no stated one.
        let is_stated = stated.origin.is_written() && stated.value.is_finite();
        let path = input.path.as_str();
        if is_stated && is_of_unit(path) {
            // Several stand at one place.
            let is_first = variant.tables.inputs()[..place].iter().all(|other| other.path != path);
            return is_first.then_some((if path == PUMP { FLOW } else { path }, id));
        }
        let name = path.strip_prefix(DUTY).filter(|_| is_stated)?;
        (name != "every" && (name != "lasts" || is_followed(variant, duty, id))).then_some((name, id))
    })
}

/// Whether an input is the time for which temperatures of a duty point are followed.
pub(super) fn is_followed(variant: &Variant, duty: DutyId, id: InputId) -> bool {
    let point = &variant.duties[duty.index()];
    let is_lasting = variant.plan.duration.is_some_and(|times| times.lasts == id);
    is_lasting && point.lasts.is_some() && point.starts_from.is_some()
}

/// Whether a path is that of a number of the whole unit that may vary.
fn is_of_unit(path: &str) -> bool {
    path == PUMP || AROUND.contains(&path) || path.starts_with("stages.") && path.ends_with(CARRIER)
}

/// All that takes the values of an input of the whole unit.
fn with_others(variant: &Variant, id: InputId, duty: DutyId) -> Vec<(InputId, f64)> {
    let tables = &variant.tables;
    let same = |id: InputId| {
        let path = &tables.input_of(id).path;
        (0..tables.inputs().len())
            .map(InputId::new)
            .filter(move |&other| tables.input_of(other).path == *path)
    };
    let stages = &variant.plan.stages;
    let Some(own) = stages.iter().position(|stage| same(id).any(|one| one == stage.carrier)) else {
        return same(id).map(|one| (one, 1.0)).collect();
    };
    let root = |mut stage: usize| {
        // A ring of carriers that follow one another ends after all of them.
        for _ in 0..stages.len() {
            match stages[stage].synchronised {
                Some(next) => stage = next.with,
                None => break,
            }
        }
        stage
    };
    let at = |id: InputId| tables.stated(id, duty).value;
    let together = (0..stages.len()).filter(|&stage| root(stage) == root(own));
    together.flat_map(|stage| same(stages[stage].carrier).map(move |one| (one, at(one) / at(id)))).collect()
}

/// The number of that name, where it may vary.
///
/// # Errors
/// Says why it may not.
pub fn condition(
    variant: &Variant,
    duty: DutyId,
    name: &str,
    scaled: &[InputId],
) -> Result<Condition, Unvaried> {
    let found = conditions(variant, duty).find(|(known, _)| *known == name);
    let (_, id) = found.ok_or(Unvaried::Unknown)?;
    if scaled.contains(&id) {
        return Err(Unvaried::Demand);
    }
    let turns = matches!(variant.tables.input_of(id).dimension, Dimension::Frequency | Dimension::Speed);
    if turns && variant.tables.stated(id, duty).value.abs() <= 0.0 {
        return Err(Unvaried::Standstill);
    }
    if is_of_unit(&variant.tables.input_of(id).path) {
        if variant.duties[duty.index()].starts_from.is_some() {
            return Err(Unvaried::StartsFrom);
        }
        return Ok(Condition { input: id, all: with_others(variant, id, duty) });
    }
    Ok(Condition { input: id, all: vec![(id, 1.0)] })
}
