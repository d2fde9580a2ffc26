//! Has each gate a driver and a controller, is what must be known measured, and what stops together?
//!
//! Everything follows from names: nothing is solved for it. A description that states no controllers leaves its control out
//! of the concept, and this check is silent about it.

mod commanded;
mod exchanged;
mod held;
mod measured;
mod rotors;
mod starting;
mod strange;
mod surviving;
mod together;
mod voltages;

use std::sync::Arc;

use loadworthy_unit::plan::{Control, Plan};
use loadworthy_unit::{Cause, InputId, NodeId, Origin, PartId, Solved, Variant};

use crate::check::{About, Change, Check, Failure, Family, Proof, Proposal, Told};
use crate::collect::{Subject, Verdicts, structural};
use crate::dependence::commanders;
use crate::review::Place;
use crate::verdict::{Grade, Missing};

const NO_DRIVER: &str = "no-driver";
const TWO_DRIVERS: &str = "two-drivers";
const EXCHANGED_DRIVERS: &str = "exchanged-drivers";
const NO_CONTROLLER: &str = "no-controller";
const OTHER_CONTROLLER: &str = "other-controller";
const STRANGE_CONTROLLER: &str = "strange-controller";
const UNMEASURED: &str = "unmeasured";
const BLIND_TRIP: &str = "blind-trip";
const UNREAD: &str = "unread";
const BLIND_CONTACTOR: &str = "blind-contactor";
const NOT_INDEPENDENT: &str = "not-independent";
const STOPS_TOGETHER: &str = "stops-together";
const UNPOWERED: &str = "unpowered";
const NO_START: &str = "no-start";
const SOFTWARE_ONLY: &str = "software-only";
const SHORT_WITHOUT_POWER: &str = "short-without-power";
const DISCHARGE_WITHOUT_POWER: &str = "discharge-without-power";
const SURROUNDINGS: &str = "surroundings";

static ABOUT: About = About {
    name: "control-cover",
    former_names: &[],
    question: "Has each gate a driver and a controller, is what must be known measured, and what stops together?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (NO_DRIVER, "no driver drives a gate"),
        (TWO_DRIVERS, "two drivers drive one gate"),
        (
            EXCHANGED_DRIVERS,
            "each of two drivers suits the gates of the other, and not those that it is named at",
        ),
        (NO_CONTROLLER, "nothing commands a stage"),
        (OTHER_CONTROLLER, "a driver obeys another controller than its stage"),
        (STRANGE_CONTROLLER, "a stage obeys one controller, and another reads all that is measured of it"),
        (UNMEASURED, "currents, voltages, temperatures or rotors that control needs are measured by nothing"),
        (BLIND_TRIP, "a trip is stated, and what it watches is measured by nothing, so that it never acts"),
        (
            UNREAD,
            "a voltage is measured, and not read by the controller of a bridge that works from it or a stage that holds it",
        ),
        (
            BLIND_CONTACTOR,
            "a contactor of a source is held by a controller that does not read the voltage behind it, which others read",
        ),
        (NOT_INDEPENDENT, "stages that must not fail together depend on the same"),
        (
            STOPS_TOGETHER,
            "a controller, a supply or what it depends on stops a boost with a bridge, or two drives",
        ),
        (UNPOWERED, "what a controller lives on is not stated, where others of the unit say so"),
        (NO_START, "a bus is fed by a converter that lives on that bus alone, so that nothing starts it"),
        (SOFTWARE_ONLY, "torque cannot be taken off on a way without software"),
        (
            SHORT_WITHOUT_POWER,
            "a short of the phases needs gate power or a controller that is lost with another bus",
        ),
        (DISCHARGE_WITHOUT_POWER, "a discharge that is switched on is lost with another bus"),
        (SURROUNDINGS, "surroundings that everything is judged by are not declared"),
    ],
    policy: &[],
    since: 2026,
};

/// The check.
pub(crate) struct ControlCover;

/// What the check finds of one part, in order or not.
struct Found {
    part: PartId,
    defect: &'static str,
    in_order: Result<bool, Vec<Missing>>,
    grade: Grade,
    /// Other parts that it is about, where it names some.
    names: Vec<PartId>,
    /// Words and what would be in order, where it is not.
    told: Option<(Told, Option<Addition>)>,
}

/// Something to add to the description, with which the rule is met.
struct Addition {
    say: String,
    leaves: &'static str,
}

impl Check for ControlCover {
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
        for found in all(solved) {
            let subject = Subject { part: found.part, defect: found.defect, lane: None, kin: None };
            let names =
                (found.in_order == Ok(false) && !found.names.is_empty()).then(|| Arc::new(found.names));
            out.put_naming(solved, subject, structural(found.in_order, found.grade), Vec::new(), names);
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        told(failure, solved).map(|(told, _)| told)
    }

    fn keeps_open(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<String> {
        View::of(solved).map_or_else(Vec::new, |view| match failure.worst.defect {
            NO_DRIVER | TWO_DRIVERS => commanded::undriven(&view, failure.worst.part),
            EXCHANGED_DRIVERS => exchanged::keeps_open(&view),
            NO_CONTROLLER => commanded::uncommanded(&view),
            UNMEASURED | BLIND_TRIP => measured::adrift(&view),
            SURROUNDINGS => view.control.undeclared.iter().map(|key| format!("surroundings.{key}")).collect(),
            _ => Vec::new(),
        })
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        let Some((_, Some(addition))) = told(failure, solved) else { return Vec::new() };
        let change = Change::Reviewed {
            proof: Proof::ExactRule,
            leaves: addition.leaves.to_owned(),
            side_effects: Vec::new(),
        };
        vec![Family { tried: String::new(), ladder: vec![Proposal { say: addition.say, change }] }]
    }
}

fn told(failure: &Failure<'_>, solved: &Solved<'_>) -> Option<(Told, Option<Addition>)> {
    let worst = failure.worst;
    let mut all = all(solved).into_iter();
    all.find(|found| (found.part, found.defect) == (worst.part, worst.defect))?.told
}

/// Everything that the check has to say of a variant.
fn all(solved: &Solved<'_>) -> Vec<Found> {
    let Some(view) = View::of(solved) else { return Vec::new() };
    let mut all = Vec::new();
    commanded::stages(&view, &mut all);
    exchanged::drivers(&view, &mut all);
    // What else follows from a controller that a stage names by mistake is no news.
    let strange = measured::stages(&view, &mut all);
    held::contactors(&view, &mut all);
    together::stages(&view, &strange, &mut all);
    starting::buses(&view, &mut all);
    surviving::faults(&view, &strange, &mut all);
    all.push(surroundings(&view));
    all
}

/// Whether a driver or a sensor lacks that the rest of the unit asks for.
pub(crate) fn lacks_an_entry(solved: &Solved<'_>) -> bool {
    let is_entry = |found: &Found| matches!(found.defect, NO_DRIVER | UNMEASURED | BLIND_TRIP | UNREAD);
    all(solved).iter().any(|found| is_entry(found) && found.in_order == Ok(false))
}

/// Whether a contactor does not say what its coil lives on, which is asked for where others do.
pub(crate) fn lacks_its_coil(solved: &Solved<'_>, name: &str) -> bool {
    View::of(solved).is_some_and(|view| {
        let part = |of: &PartId| view.variant.path(*of) == name;
        together::unheld(&view).any(|(of, _)| part(&of))
    })
}

/// A variant whose control is described.
struct View<'s, 'u> {
    solved: &'s Solved<'u>,
    variant: &'u Variant,
    plan: &'u Plan,
    control: &'u Control,
}

impl<'s, 'u> View<'s, 'u> {
    fn of(solved: &'s Solved<'u>) -> Option<Self> {
        let variant = solved.variant;
        let control = variant.plan.control.as_ref()?;
        let view = Self { solved, variant, plan: &variant.plan, control };
        (!control.controllers.is_empty() || is_broken(variant, control.controllers_stated)).then_some(view)
    }

    /// The name of a stage of the plan.
    fn stage(&self, stage: usize) -> &'u str {
        self.variant.path(self.plan.stages[stage].part)
    }

    /// What a verdict waits for where a section is not stated, or a part of it could not be read.
    fn waits_for(&self, section: InputId) -> Option<Missing> {
        let stated = self.variant.tables.input_of(section).values.first();
        stated.is_none_or(|stated| !stated.value.is_finite()).then_some(Missing::Cause(Cause::Input(section)))
    }

    /// Names of the controllers that a stage obeys.
    fn commanders(&self, stage: usize) -> Vec<&'u str> {
        commanders(self.plan, stage).into_iter().map(|(name, _)| name).collect()
    }

    /// Whether a name leads to a controller that could be read.
    fn is_controller(&self, name: &str) -> bool {
        self.control.controllers.iter().any(|one| one.name == name)
    }

    /// What a verdict on a stage waits for where a controller that it obeys could not be read, or is not there.
    fn waits_for_controller(&self, stage: usize) -> Option<Missing> {
        let is_known = self.commanders(stage).into_iter().all(|name| self.is_controller(name));
        if is_known { None } else { self.waits_for(self.control.controllers_stated) }
    }

    fn at(&self, part: PartId, label: &str) -> Place {
        place(self.variant.tables.part_of(part).at, label)
    }
}

/// Whether a section was written and a part of it could not be read.
pub(crate) fn is_broken(variant: &Variant, section: InputId) -> bool {
    let stated = variant.tables.input_of(section).values.first();
    stated.is_some_and(|stated| matches!(stated.origin, Origin::Broken(_)))
}

fn place(node: NodeId, label: &str) -> Place {
    Place { node, label: label.to_owned() }
}

/// Names with commas between them.
fn listed<T: AsRef<str>>(names: &[T]) -> String {
    names.iter().map(AsRef::as_ref).collect::<Vec<_>>().join(", ")
}

/// Everything is judged by the coldest surroundings, the altitude and the pollution degree.
fn surroundings(view: &View<'_, '_>) -> Found {
    let Control { surroundings: part, ref undeclared, .. } = *view.control;
    let told = (!undeclared.is_empty()).then(|| {
        let keys = listed(undeclared);
        let saying = format!(
            "the surroundings do not say {keys}: what depends on them rests on defaults, or is not judged"
        );
        let mut told = Told::new(saying, view.at(part, "says less than findings rest on"));
        told.facts = vec![format!("not declared: {keys}")];
        let words = undeclared.iter().map(|key| match *key {
            "coldest" => "coldest: -30 degC",
            "altitude" => "altitude: 2000 m",
            _ => "pollution_degree: 2",
        });
        let say = format!(
            "state what holds, such as `surroundings: {{ {} }}`",
            words.collect::<Vec<_>>().join(", ")
        );
        (told, Some(Addition { say, leaves: "every finding on declared surroundings" }))
    });
    Found {
        part,
        defect: SURROUNDINGS,
        in_order: Ok(undeclared.is_empty()),
        grade: Grade::Note,
        names: Vec::new(),
        told,
    }
}
