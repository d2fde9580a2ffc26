//! Is the side of the chassis safe from what leaks, from what its capacitors hold, and by its bonding?

mod dividers;
mod tell;
mod unequal;

use loadworthy_physics::insulation::{isolation_resistance, pole_capacitors};
use loadworthy_unit::plan::{Isolation, Pole};
use loadworthy_unit::{Cause, Dimension, InputId, LaneId, Lanes, PartId, Solved};

use crate::cause::missing_text;
use crate::check::{About, Check, Failure, Family, Told, With};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome, structural};
use crate::isolation::{Classes, is_read, stated};
use crate::remarks::Remark;
use crate::verdict::{Comparison, Grade, Missing, Outcome, Verdict};

const RESISTANCE: &str = "isolation-resistance";
const ENERGY: &str = "pole-energy";
const BONDING: &str = "bonding";
const UNWATCHED: &str = "unwatched";
const DIVIDER: &str = "divider";
const UNEQUAL: &str = "unequal-poles";

/// Which texts limit the energy of a pole.
const FORMS: &str =
    "ISO 6469-3 counts all of C·V²/2; UN Regulations No. 94 and 95 after a crash count what is above 60 V";

static ABOUT: About = About {
    name: "leakage-paths",
    former_names: &[],
    question: "Is the side of the chassis safe from what leaks, from what its capacitors hold, and by its bonding?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (RESISTANCE, "all isolation resistances side by side are less than the working voltage asks for"),
        (ENERGY, "the capacitors of a pole to the chassis hold more than 0.2 J"),
        (BONDING, "the bonding of touchable metal has more than 0.1 ohm"),
        (UNWATCHED, "no sensor watches the isolation of a circuit that floats"),
        (
            UNEQUAL,
            "capacitors lead from one pole of a circuit that floats to the chassis, and less or none from the other",
        ),
        (
            DIVIDER,
            "a divider insulates by one resistor, or lets more through with one shorted than is allowed",
        ),
    ],
    policy: &[],
    since: 2026,
};

/// The check.
pub(crate) struct LeakagePaths;

impl Check for LeakagePaths {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn adds_up(&self, defect: &str) -> &'static [&'static str] {
        if defect == RESISTANCE { &["stages", "sensors", "capacitors"] } else { &[] }
    }

    fn judges_each_duty_point(&self) -> bool {
        false
    }

    fn is_of_the_entry(&self, defect: &str) -> bool {
        // What a domain is said to have beside it hangs on both its poles.
        defect == ENERGY
    }

    fn asks_at_least(&self, defect: &str) -> bool {
        defect == RESISTANCE
    }

    fn is_of_the_unit(&self, defect: &str) -> bool {
        defect == BONDING
    }

    fn told_with(&self, failing: &Verdict, solved: &Solved<'_>) -> Vec<With> {
        let is_resistance = failing.defect == RESISTANCE;
        is_resistance.then(|| dividers::alone(failing, solved)).into_iter().flatten().collect()
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        let Some(isolation) = &solved.variant.plan.isolation else { return };
        if !is_read(isolation, solved) {
            let waits = Outcome::NotJudged(vec![Missing::Cause(Cause::Input(isolation.read))]);
            put((isolation.part, None), RESISTANCE, waits, solved, None, out);
            return;
        }
        for lanes in solved.variant.together() {
            judge_in(isolation, lanes, solved, out);
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        if failure.worst.defect == UNEQUAL {
            return unequal::told(failure.worst, solved);
        }
        if failure.worst.defect == DIVIDER {
            return dividers::told(failure.worst, solved);
        }
        tell::told(failure.worst, solved)
    }

    fn keeps_open(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<String> {
        // A sensor that does not say what it measures may be the one that lacks.
        let control = solved.variant.plan.control.iter().filter(|_| failure.worst.defect == UNWATCHED);
        let sensors = control.flat_map(|control| &control.sensors).filter(|one| one.measures.is_none());
        let keys = sensors.map(|one| Missing::Key { of: one.part, key: "measures" });
        keys.map(|missing| missing_text(solved.variant, None, missing).subject).collect()
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        tell::propose(failure.worst, solved)
    }
}

fn judge_in(isolation: &Isolation, lanes: Lanes, solved: &Solved<'_>, out: &mut Verdicts) {
    let classes = Classes::within(solved, isolation, lanes);
    for (place, domain) in isolation.domains() {
        if let Some((_, figure)) = domain.bonding_resistance {
            let most = Limit::Law(isolation_resistance::MOST_OF_BONDING.si());
            if let Some(lane) = solved.speaks_for(lanes) {
                let compared = compare(solved, lane, (figure, Dimension::Resistance), most, None);
                put((domain.part, None), BONDING, outcome(compared, Grade::Major), solved, Some(lane), out);
            }
        }
        let Some(leakage) = domain.leakage.as_ref().filter(|_| classes.hurts(place)) else { continue };
        for lane in lanes.ids() {
            let least = (leakage.least, Dimension::Resistance);
            let compared = compare(solved, lane, least, Limit::Figure(leakage.together), None);
            put((domain.part, None), RESISTANCE, outcome(compared, Grade::Major), solved, Some(lane), out);
        }
        // What is one with another domain by mistake may be watched there, and that is told.
        if isolation.merged.iter().any(|merged| [merged.between.0, merged.between.1].contains(&place)) {
            continue;
        }
        // Where control is described and no sensor at all, that section lacks and not this one.
        let sensors = solved.variant.plan.control.as_ref().map(|control| control.sensors_stated);
        let lacks = sensors.filter(|&section| !leakage.is_watched && stated(solved, section).is_none());
        let watched = match lacks {
            Some(section) => Err(vec![Missing::Cause(Cause::Input(section))]),
            None => Ok(leakage.is_watched),
        };
        put((domain.part, None), UNWATCHED, structural(watched, Grade::Minor), solved, None, out);
    }
    dividers::judge(isolation, (&classes, lanes), solved, out);
    balance(isolation, (&classes, lanes), solved, out);
    for pole in isolation.poles.iter().filter(|pole| classes.hurts(pole.domain)) {
        for lane in lanes.ids() {
            let of = (pole.part, largest(pole, solved, lane));
            put(of, ENERGY, energy(pole, solved, lane), solved, Some(lane), out);
        }
    }
}

/// Capacitors of both poles of each circuit that floats, against one another.
fn balance(
    isolation: &Isolation,
    (classes, lanes): (&Classes, Lanes),
    solved: &Solved<'_>,
    out: &mut Verdicts,
) {
    // What could not be read, or does not say where it leads, may be the other one of a pair.
    let is_supply = |part: &PartId| solved.variant.plan.gate_supplies.iter().any(|one| one.part == *part);
    let is_adrift = |(part, key): &(PartId, &'static str)| ["from", "to"].contains(key) && !is_supply(part);
    if !isolation.is_whole || isolation.unsaid.iter().any(is_adrift) {
        return;
    }
    for (place, domain) in isolation.domains() {
        if domain.is_earthed || !classes.hurts(place) {
            continue;
        }
        let Some(lane) = lanes.ids().next() else { continue };
        let Some((more, is_equal)) = unequal::poles(isolation, place, solved, lane) else { continue };
        put((more, None), UNEQUAL, structural(Ok(is_equal), Grade::Minor), solved, None, out);
    }
}

/// All energy of a pole is held against the limit; where only what is above 60 V keeps it, the form of the regulations on
/// crashes does, and that of ISO 6469-3 does not.
fn energy(pole: &Pole, solved: &Solved<'_>, lane: LaneId) -> Outcome {
    let against = |figure| {
        let most = Limit::Law(pole_capacitors::MOST.si());
        compare(solved, lane, (figure, Dimension::Energy), most, None)
    };
    let by_regulation = against(pole.above).is_ok_and(|compared: Comparison| compared.holds());
    outcome(against(pole.energy), if by_regulation { Grade::Minor } else { Grade::Major })
}

/// The largest capacitance of a pole: where one entry is it at both poles, they hold too much for one cause.
fn largest(pole: &Pole, solved: &Solved<'_>, lane: LaneId) -> Option<InputId> {
    let known = pole.capacitances.iter().filter_map(|&one| Some((one, solved.input(one, lane)?)));
    known.reduce(|most, one| if one.1 > most.1 { one } else { most }).map(|(input, _)| input)
}

fn put(
    (part, kin): (PartId, Option<InputId>),
    defect: &'static str,
    outcome: Outcome,
    solved: &Solved<'_>,
    lane: Option<LaneId>,
    out: &mut Verdicts,
) {
    let mut remarks = Vec::new();
    if matches!(outcome, Outcome::Fails { .. }) {
        let isolation = solved.variant.plan.isolation.as_ref();
        let asked = isolation.filter(|_| defect == RESISTANCE).map(sentence);
        remarks.extend(asked.map(|text| Remark::AskedBy { text }));
        remarks.extend((defect == ENERGY).then_some(Remark::AskedBy { text: FORMS }));
        remarks.push(Remark::IsolationUnseen);
    }
    out.put(solved, Subject { part, defect, lane, kin }, outcome, remarks);
}

/// Which sentence asks for the isolation resistance, by what the unit is built into.
fn sentence(isolation: &Isolation) -> &'static str {
    use loadworthy_unit::plan::BuiltInto;
    match isolation.built_into {
        Some(BuiltInto::Road) => "asked by UN Regulation No. 100 and ISO 6469-3, for road vehicles",
        Some(BuiltInto::Machinery) => {
            "asked as UN Regulation No. 100 and ISO 6469-3 do of road vehicles, taken over for machinery"
        }
        Some(BuiltInto::Other) => {
            "the figures for road vehicles (UN Regulation No. 100, ISO 6469-3), the strictest that are known here; another standard applies to this unit"
        }
        None => {
            "no `application` is stated: the strictest that is known here, UN Regulation No. 100 and ISO 6469-3 for road vehicles"
        }
    }
}
