//! Does every bus and every load get the voltage that it works at, also for the moment in which a load comes?
//!
//! Asked of each bus and each load that states its `lowest`. A load is held against what its bus leaves less what the
//! conductors on the way drop; a bus against its own voltage, and against the dip as all that a duty point asks of it comes at
//! once.

mod telling;

use loadworthy_unit::plan::Arriving;
use loadworthy_unit::{Cause, Dimension, FigureId, LaneId, Solved};

use crate::check::{About, Check, Failure, Family, Told, With};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::verdict::{Grade, Missing, Outcome, Verdict};

const LOW: &str = "low-voltage";
const DIP: &str = "dip";
const SHORT: &str = "held-short";

static ABOUT: About = About {
    name: "supply-voltage",
    former_names: &[],
    question: "Does every bus and every load get the voltage that it works at, also as a load comes?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (LOW, "less voltage arrives at a bus or a load than the lowest at which it works"),
        (
            DIP,
            "as its load comes at once a bus dips below the lowest voltage at which what hangs on it works, or a load on it does",
        ),
        (SHORT, "what holds a bus trips at less than all of its load takes as it comes at once"),
    ],
    policy: &[],
    since: 2026,
};

/// The check.
pub(crate) struct SupplyVoltage;

impl Check for SupplyVoltage {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        for arriving in &solved.variant.plan.arriving {
            for lane in solved.variant.lane_ids() {
                held(arriving, (LOW, arriving.voltage), Grade::Major, solved, lane, out);
                dips(arriving, solved, lane, out);
            }
        }
    }

    /// What is too little for good is so in a dip as well; and what a bus dips to, all loads on it meet.
    fn told_with(&self, failing: &Verdict, solved: &Solved<'_>) -> Vec<With> {
        if failing.defect == LOW {
            return Vec::new();
        }
        let plan = &solved.variant.plan;
        let own = plan.arriving.iter().position(|one| one.part == failing.part);
        let bus = own.and_then(|own| plan.arriving[own].bus);
        let before = plan.arriving.iter().take(own.unwrap_or(0)).filter(|one| one.bus == bus);
        let before =
            before.flat_map(|one| [LOW, DIP, SHORT].map(|defect| With::of(ABOUT.name, defect, one.part)));
        let own = if failing.defect == SHORT { &[LOW, DIP][..] } else { &[LOW] };
        before.chain(own.iter().map(|&defect| With::of(ABOUT.name, defect, failing.part))).collect()
    }

    /// What the part asks for is carried, and what it gets is the limit.
    fn asks_at_least(&self, _: &str) -> bool {
        true
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        telling::told(failure.worst, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        telling::propose(failure, solved)
    }
}

fn dips(arriving: &Arriving, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let Some(dip) = &arriving.dip else { return };
    if let Some(bank) = dip.no_bank {
        let missing = Outcome::NotJudged(vec![Missing::Cause(Cause::Input(bank))]);
        out.put(solved, subject(arriving, DIP, lane), missing, Vec::new());
        return;
    }
    // Where nothing is asked of a bus nothing comes.
    if solved.figure(dip.step, lane).is_some_and(|amps| amps <= 0.0) {
        return;
    }
    // A step that comes slower than at once dips less: what control of the loads makes of it is not described.
    held(arriving, (DIP, dip.bottom), Grade::Minor, solved, lane, out);
    if let Some(gives) = &dip.gives {
        let step = (dip.step, Dimension::Current);
        let compared = compare(solved, lane, step, Limit::Figure(gives.most), None);
        out.put(solved, subject(arriving, SHORT, lane), outcome(compared, Grade::Minor), Vec::new());
    }
}

fn held(
    arriving: &Arriving,
    (defect, gets): (&'static str, FigureId),
    grade: Grade,
    solved: &Solved<'_>,
    lane: LaneId,
    out: &mut Verdicts,
) {
    let needs = (arriving.needed, Dimension::Voltage);
    let compared = compare(solved, lane, needs, Limit::Figure(gets), None);
    out.put(solved, subject(arriving, defect, lane), outcome(compared, grade), Vec::new());
}

const fn subject(arriving: &Arriving, defect: &'static str, lane: LaneId) -> Subject {
    Subject { part: arriving.part, defect, lane: Some(lane), kin: None }
}
