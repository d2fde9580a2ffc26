//! Is every gate fed, and by an output that floats on its potential and on no other?
//!
//! The potential of each gate follows from the topology: the middle of a leg, the negative rail, a node of a transformer's
//! secondary. Nothing is solved for it, and the rule is exact. The voltage along a return that gates share is solved.

mod crossed;
mod exchanged;
mod feeding;
mod mutual;
mod potentials;
mod primaries;
mod propose;
mod rails;
mod returns;
mod shared;
mod splits;
mod tell;

use loadworthy_unit::plan::{GateSupply, Plan, Role};
use loadworthy_unit::{Cause, InputId, PartId, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Subject, Verdicts, structural};
use crate::seats::stage_of;
use crate::verdict::{Grade, Missing};
use potentials::{Alike, Gate, Outputs, alike, at, charges, fed_alone, gates, is_leg, on_rail};

const MISSING: &str = "missing";
const SHARED: &str = "shared";
const TIED: &str = "tied";
const BOOTSTRAP: &str = "bootstrap";
const ACROSS_STAGES: &str = "across-stages";
const ONE_TRANSFORMER: &str = "one-transformer";
const ONE_PRIMARY: &str = "one-primary";
const UNTIED: &str = "untied";
const DOUBLED: &str = "doubled";
const EXCHANGED: &str = "exchanged";
const IDLE: &str = "idle";
const COMMON: &str = "common-inductance";
const MUTUAL: &str = "mutual-insulation";
const TWO_NAMES: &str = "two-names";
const CROSSED: &str = "crossed-names";

static ABOUT: About = About {
    name: "floating-supplies",
    former_names: &[],
    question: "Is every gate fed, and by an output that floats on its potential and on no other?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (MISSING, "no output feeds a gate"),
        (SHARED, "one output feeds gates on potentials that nothing joins"),
        (TIED, "an output that is tied to a rail feeds a gate on another potential"),
        (BOOTSTRAP, "a bootstrap is charged by an output that does not feed the low side of the same leg"),
        (ACROSS_STAGES, "one output feeds gates of several stages, and one shorted gate takes them all"),
        (DOUBLED, "an output feeds gates that another one feeds as well, and both drive against each other"),
        (EXCHANGED, "each of two outputs suits the gates of the other, and not those that it is named at"),
        (IDLE, "an output feeds a position that has no gate"),
        (
            ONE_TRANSFORMER,
            "one transformer feeds both sides of a leg or several stages, and they fail with it",
        ),
        (
            ONE_PRIMARY,
            "outputs of one transformer, which has one primary, take their power from different buses",
        ),
        (UNTIED, "an output says neither its transformer nor its rail, where others name their transformers"),
        (
            COMMON,
            "turning a current off puts more between two sources on one output than the policy leaves of the gate swing",
        ),
        (
            MUTUAL,
            "barriers are stated between gate circuits, and none for some windings of one transformer on two potentials",
        ),
        (
            TWO_NAMES,
            "a stage without a transformer has one minus, and the negative rails of its buses have two names",
        ),
        (CROSSED, "the outputs of two transformers are each named like the transformer of the other"),
    ],
    policy: &[&returns::SHARED_RETURN],
    since: 2026,
};

/// The check.
pub(crate) struct FloatingSupplies;

impl Check for FloatingSupplies {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn judges_each_duty_point(&self) -> bool {
        false
    }

    fn compares(&self) -> bool {
        false
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let variant = solved.variant;
        let plan = &variant.plan;
        rails::judge(solved, out);
        let Some(section) = plan.gates_fed else { return };
        if !is_stated(solved, section) {
            // Nothing is declared: one verdict for all gates says what is missing.
            let waits = Err(vec![Missing::Cause(Cause::Input(section))]);
            if let Some(gate) = gates(plan).next() {
                put(solved, out, at(plan, gate).0.part, MISSING, waits, Grade::Major);
            }
            return;
        }
        let outputs = Outputs::of(plan);
        let unknown = plan.gate_supplies.iter().map(|supply| supply.named);
        let unknown: Vec<InputId> = unknown.filter(|&named| !is_stated(solved, named)).collect();
        // A gate that misses what feeds another one twice is the same slip, and told with that output.
        let slips = feeding::slipped(plan, &outputs);
        for gate in gates(plan).filter(|gate| !slips.contains(gate)) {
            position(solved, gate, outputs.feeding(gate).is_empty(), &unknown, out);
        }
        for (place, supply) in plan.gate_supplies.iter().enumerate() {
            output(solved, supply, out);
            if is_untied(solved, place, &outputs) {
                let missing = Missing::Key { of: supply.part, key: "transformer or rail" };
                put(solved, out, supply.part, UNTIED, Err(vec![missing]), Grade::Major);
            }
        }
        // However many gates an output doubles, that is one slip.
        for &output in outputs.doubling(plan).keys() {
            put(solved, out, plan.gate_supplies[output].part, DOUBLED, Ok(false), Grade::Major);
        }
        for (place, supply) in plan.gate_supplies.iter().enumerate() {
            if supply.exchanged.as_ref().is_some_and(|exchanged| place < exchanged.with) {
                put(solved, out, supply.part, EXCHANGED, Ok(false), Grade::Major);
            }
        }
        for group in shared::groups(plan) {
            put(solved, out, group[0].part, ONE_TRANSFORMER, Ok(false), Grade::Note);
        }
        for transformer in &plan.gate_transformers {
            let is_one = primaries::is_one(solved, transformer);
            put(solved, out, transformer.part, ONE_PRIMARY, Ok(is_one), Grade::Major);
        }
        for &(one, _) in &crossed::pairs(solved.variant) {
            put(solved, out, plan.gate_transformers[one].part, CROSSED, Ok(false), Grade::Note);
        }
        mutual::judge(solved, out);
        returns::judge(solved, out);
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        tell::told(failure, solved)
    }

    fn keeps_open(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<String> {
        let (variant, plan) = (solved.variant, &solved.variant.plan);
        match (failure.worst.defect, plan.gate_supplies.iter().find(|one| one.part == failure.worst.part)) {
            (DOUBLED, Some(doubled)) => return feeding::keeps_open(solved, doubled),
            (EXCHANGED, Some(supply)) => return exchanged::keeps_open(solved, supply),
            _ => {}
        }
        let stage = stage_of(variant, failure.worst.part);
        let is_told = |of: usize| failure.worst.defect == MISSING && plan.stages[of].part == stage;
        let open = plan.gate_drives.iter().filter(|drive| drive.supply.is_none() && is_told(drive.stage));
        open.map(|drive| variant.tables.input_of(drive.rails.on).path.clone()).collect()
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        propose::changes(failure, solved)
    }
}

pub(crate) use shared::shares_a_transformer;

/// Whether a bootstrap lives on the output of the low side of its leg; how far another one runs down is no question.
pub(crate) fn is_charged(plan: &Plan, output: usize) -> bool {
    let supply = &plan.gate_supplies[output];
    supply.bootstrap_from.is_some_and(|from| {
        plan.gate_supplies[from].exchanged.is_none()
            && fed_alone(supply).iter().all(|&gate| charges(plan, from, gate))
    })
}

/// Whether a gate is without an output, of a unit that says what its outputs feed.
pub(crate) fn lacks_an_output(solved: &Solved<'_>) -> bool {
    let plan = &solved.variant.plan;
    let outputs = Outputs::of(plan);
    plan.gates_fed.is_some_and(|section| is_stated(solved, section))
        && gates(plan).any(|gate| outputs.feeding(gate).is_empty())
}

fn put(
    solved: &Solved<'_>,
    out: &mut Verdicts,
    part: PartId,
    defect: &'static str,
    in_order: Result<bool, Vec<Missing>>,
    grade: Grade,
) {
    let subject = Subject { part, defect, lane: None, kin: None };
    out.put(solved, subject, structural(in_order, grade), Vec::new());
}

/// Whether something that is no number is stated, as a number that is 0 where it is.
fn is_stated(solved: &Solved<'_>, input: InputId) -> bool {
    let values = &solved.variant.tables.input_of(input).values;
    values.first().is_some_and(|stated| stated.value.is_finite())
}

/// Whether a gate is fed; `unknown` are outputs that do not say what they feed, and may feed it.
fn position(solved: &Solved<'_>, gate: Gate, is_unfed: bool, unknown: &[InputId], out: &mut Verdicts) {
    let plan = &solved.variant.plan;
    let part = at(plan, gate).1.part;
    let fed = if is_unfed && !unknown.is_empty() {
        Err(unknown.iter().map(|&named| Missing::Cause(Cause::Input(named))).collect())
    } else {
        Ok(!is_unfed)
    };
    put(solved, out, part, MISSING, fed, Grade::Major);
}

/// Whether nothing says what keeps an output apart from what it takes its power from, of a unit whose other outputs name their
/// transformers. What joins two domains passes a barrier by its own name or is found for that, what does not say which it joins
/// is asked for that, and what doubles another is found for it.
fn is_untied(solved: &Solved<'_>, place: usize, outputs: &Outputs) -> bool {
    let plan = &solved.variant.plan;
    let supply = &plan.gate_supplies[place];
    let is_wound = plan.gate_transformers.iter().any(|one| one.outputs.iter().any(|of| of.0 == place));
    let is_asked_elsewhere = plan.isolation.as_ref().is_some_and(|isolation| {
        isolation.crossings.iter().any(|crossing| crossing.part == supply.part)
            || isolation.unsaid.iter().any(|(part, _)| *part == supply.part)
    });
    let is_tied = supply.rail.is_some() || supply.bootstrap_from.is_some() || is_wound;
    let is_asked = !plan.gate_transformers.is_empty() && !is_tied && is_stated(solved, supply.named);
    is_asked && !is_asked_elsewhere && !outputs.doubling(plan).contains_key(&place)
}

/// Whether an output may feed what it feeds.
fn output(solved: &Solved<'_>, supply: &GateSupply, out: &mut Verdicts) {
    let plan = &solved.variant.plan;
    let fed = fed_alone(supply);
    if !supply.idle.is_empty() {
        put(solved, out, supply.part, IDLE, Ok(false), Grade::Note);
    }
    if fed.is_empty() {
        if is_stated(solved, supply.named) {
            // It feeds nothing but positions without a gate, or what another one feeds as well.
            return;
        }
        let waits = Err(vec![Missing::Cause(Cause::Input(supply.named))]);
        put(solved, out, supply.part, SHARED, waits, Grade::Major);
        return;
    }
    // Of an output that was exchanged it is not known what it charges before that is mended.
    let charger = supply.bootstrap_from.filter(|&from| plan.gate_supplies[from].exchanged.is_none());
    if let Some(from) = charger {
        let is_charged = fed.iter().all(|&gate| charges(plan, from, gate));
        let source = &plan.gate_supplies[from];
        let in_order = match is_charged {
            false if !is_stated(solved, source.named) => {
                Err(vec![Missing::Cause(Cause::Input(source.named))])
            }
            known => Ok(known),
        };
        put(solved, out, supply.part, BOOTSTRAP, in_order, Grade::Major);
    }
    // What is tied to a rail serves that potential and no other, so that it shares with nothing else either.
    let (defect, relations): (_, Vec<Alike>) = match &supply.rail {
        Some(rail) => (TIED, fed.iter().map(|&gate| on_rail(plan, gate, rail)).collect()),
        None => (SHARED, pairs(&fed).map(|(one, other)| alike(plan, one, other)).collect()),
    };
    let is_one = one_potential(&relations);
    if is_one == Ok(true) && spans_stages(&fed) {
        put(solved, out, supply.part, ACROSS_STAGES, Ok(false), Grade::Note);
    }
    put(solved, out, supply.part, defect, is_one, Grade::Major);
}

fn pairs(gates: &[Gate]) -> impl Iterator<Item = (Gate, Gate)> + '_ {
    gates.iter().enumerate().flat_map(move |(k, &one)| gates[k + 1..].iter().map(move |&other| (one, other)))
}

/// Whether all are alike; one that is not decides, whatever is open.
fn one_potential(relations: &[Alike]) -> Result<bool, Vec<Missing>> {
    let mut open: Vec<Missing> = Vec::new();
    for &relation in relations {
        match relation {
            Alike::No => return Ok(false),
            Alike::Open(missing) if !open.contains(&missing) => open.push(missing),
            Alike::Yes | Alike::Open(_) => {}
        }
    }
    if open.is_empty() { Ok(true) } else { Err(open) }
}

fn spans_stages(gates: &[Gate]) -> bool {
    gates.iter().any(|gate| gate.0 != gates[0].0)
}

/// Whether both sides of one leg are among some gates. A main switch and its clamp make none.
fn spans_a_leg(plan: &Plan, gates: &[Gate]) -> bool {
    pairs(gates).any(|(one, other)| {
        let ((stage, a), (_, b)) = (at(plan, one), at(plan, other));
        one.0 == other.0
            && a.leg == b.leg
            && a.role.side() != b.role.side()
            && [a, b]
                .iter()
                .all(|one| is_leg(stage, one.part) && one.role != Role::Main && one.role != Role::Clamp)
    })
}
