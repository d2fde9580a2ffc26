//! Does a load that holds its power let the swings of its bus fade?
//!
//! What holds its power takes more current the lower the voltage. Behind an inductance that feeds the growing of a swing,
//! unless the resistance of source and banks damps it. The question is asked of each bus with banks that batteries feed of
//! which one states an inductance.

mod telling;

use loadworthy_unit::plan::Damping;
use loadworthy_unit::{Dimension, LaneId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::verdict::Grade;

/// Share of the power at which swings no longer fade.
pub(crate) static HELD_POWER: PolicyItem = PolicyItem {
    name: "held_power",
    help: "Share of the largest power at which swings of a bus against its battery fade that its loads may hold",
    form: PolicyForm::UseAtMost { default: 0.5, usual: (0.3, 0.7) },
    since: 2026,
};

const SWINGS: &str = "growing-swing";

/// Share of a carrier up to which control may hold a power.
const CONTROLLED: f64 = 0.1;

static ABOUT: About = About {
    name: "bus-stability",
    former_names: &[],
    question: "Do the swings of a bus against its battery fade while its loads hold their power?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[(SWINGS, "loads hold more power than the policy leaves of what lets swings of the bus fade")],
    policy: &[&HELD_POWER],
    since: 2026,
};

/// The check.
pub(crate) struct BusStability;

impl Check for BusStability {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        for damping in &solved.variant.plan.damping {
            for lane in solved.variant.lane_ids() {
                judge(damping, solved, lane, out);
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        telling::told(failure.worst, solved)
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        telling::propose(failure, solved)
    }
}

fn judge(damping: &Damping, solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let bus = &solved.variant.plan.buses[damping.bus];
    let carried = (damping.held_power, Dimension::Power);
    let limit = Limit::Figure(damping.largest_power);
    let compared = compare(solved, lane, carried, limit, Some(&HELD_POWER));
    // Only what control follows is held: a swing that is faster meets less than the whole power.
    let grade = if is_followed(damping, solved, lane) { Grade::Major } else { Grade::Minor };
    let subject = Subject { part: bus.part, defect: SWINGS, lane: Some(lane), kin: None };
    out.put(solved, subject, outcome(compared, grade), Vec::new());
}

/// Whether the control of any stage on the bus is fast enough to hold its power through a swing.
fn is_followed(damping: &Damping, solved: &Solved<'_>, lane: LaneId) -> bool {
    let Some(swing) = solved.figure(damping.resonance, lane) else { return false };
    let plan = &solved.variant.plan;
    let mut stages =
        plan.stages.iter().filter(|stage| stage.ports.iter().any(|port| port.bus == Some(damping.bus)));
    stages.any(|stage| solved.input(stage.carrier, lane).is_some_and(|carrier| swing <= CONTROLLED * carrier))
}
