//! Can each stage make what a duty point asks of it?
//!
//! Of a bridge the modulation index is compared, and of a machine with constants whether its torque can be had at its
//! speed; of a boost or a buck the duty; of a full bridge the phase shift; of a forward converter the duty that its reset
//! allows.

mod bridge;
mod chopper;
mod isolated;
mod propose;
mod shaft;
mod supply;

use loadworthy_unit::plan::{Stage, Topology};
use loadworthy_unit::{LaneId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::Verdicts;
use crate::dead_time;
use crate::figure_text::percent;
use crate::review::Place;
use crate::seats::rests;
use crate::tell::place;
use crate::verdict::Verdict;

/// Share of the linear modulation index that may be used.
pub(crate) static MODULATION_INDEX: PolicyItem = PolicyItem {
    name: "modulation_index",
    help: "Share of the linear modulation index that a duty point may use; the rest is control reserve",
    form: PolicyForm::UseAtMost { default: 1.0, usual: (0.9, 1.0) },
    since: 2026,
};

/// Share of the period that the switch of a boost or a buck may conduct.
pub(crate) static DUTY: PolicyItem = PolicyItem {
    name: "duty",
    help: "Share of the period that the low side of a boost or the high side of a buck may conduct; the rest is control reserve",
    form: PolicyForm::UseAtMost { default: 0.9, usual: (0.8, 0.95) },
    since: 2026,
};

/// Share of half a period that the phase shift of a full bridge may take.
pub(crate) static PHASE_SHIFT: PolicyItem = PolicyItem {
    name: "phase_shift",
    help: "Share of half a period that the phase shift of a full bridge may take; the rest is control reserve",
    form: PolicyForm::UseAtMost { default: 0.95, usual: (0.9, 0.97) },
    since: 2026,
};

pub(crate) const NAME: &str = "output-reach";

const BEYOND_LINEAR: &str = "beyond-linear";
const BEYOND_DUTY: &str = "beyond-duty";
const BEYOND_PHASE_SHIFT: &str = "beyond-phase-shift";
pub(crate) const OUT_OF_REACH: &str = "out-of-reach";

static ABOUT: About = About {
    name: NAME,
    former_names: &[],
    question: "Can each stage make the voltage and the torque that a duty point asks?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (BEYOND_LINEAR, "the modulation index exceeds the linear range, or what the policy leaves of it"),
        (BEYOND_DUTY, "the duty of a boost or a buck exceeds what the policy leaves of the period"),
        (BEYOND_PHASE_SHIFT, "the phase shift exceeds what the policy leaves of half a period"),
        (OUT_OF_REACH, "the voltage or the torque cannot be produced"),
    ],
    policy: &[&MODULATION_INDEX, &DUTY, &PHASE_SHIFT],
    since: 2026,
};

/// Whether a bridge does not reach its output in some duty point.
pub(crate) fn falls_short(stage: &Stage, solved: &Solved<'_>) -> bool {
    let Topology::Bridge(own) = &stage.topology else { return false };
    let mut out = Verdicts::new(ABOUT.name);
    for lane in solved.variant.lane_ids().filter(|&lane| !rests(stage, solved, lane)) {
        if !shaft::judge(stage, own, solved, lane, &mut out) {
            bridge::judge(stage, own, solved, lane, &mut out);
        }
    }
    out.into_list().iter().any(Verdict::fails)
}

/// Whether what a lane asks of a stage lies so far beyond all modulation that it is the reason for whatever becomes of it.
pub(crate) fn is_far_beyond(stage: &Stage, solved: &Solved<'_>, lane: LaneId) -> bool {
    let own = stage.bridge().filter(|_| !rests(stage, solved, lane));
    own.is_some_and(|own| bridge::far_beyond(stage, own, solved, lane).is_some())
}

/// Where a dead time is stated that takes more of the voltage than is usual.
fn taken(stage: &Stage, worst: &Verdict, solved: &Solved<'_>) -> Vec<Place> {
    let at = worst.lane().and_then(|lane| {
        let (share, allowed) = dead_time::excess(stage, solved, lane)?;
        let label =
            format!("takes {} of each carrier period, more than {}", percent(share), percent(allowed));
        place(solved, stage.dead_time, lane, label)
    });
    at.into_iter().collect()
}

/// The check.
pub(crate) struct OutputReach;

impl Check for OutputReach {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    /// A voltage that cannot be produced drives no current that could be reckoned.
    fn leaves_without_values(&self, defect: &str) -> bool {
        defect == OUT_OF_REACH
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        for stage in &solved.variant.plan.stages {
            for lane in solved.variant.lane_ids().filter(|&lane| !rests(stage, solved, lane)) {
                match &stage.topology {
                    Topology::Bridge(own) => {
                        if !shaft::judge(stage, own, solved, lane, out) {
                            bridge::judge(stage, own, solved, lane, out);
                        }
                    }
                    Topology::Chopper(own) => chopper::judge(stage, own, solved, lane, out),
                    Topology::Isolated(own) => isolated::judge(stage, own, solved, lane, out),
                }
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        let worst = failure.worst;
        let stage = solved.variant.plan.stages.iter().find(|stage| stage.part == worst.part)?;
        match &stage.topology {
            Topology::Bridge(own) => {
                let told = match worst.comparison() {
                    Some(compared) => bridge::told(stage, own, worst, compared, solved),
                    None => shaft::told(stage, own, worst, solved)
                        .or_else(|| bridge::told_far(stage, own, worst, solved)),
                };
                told.map(|told| Told {
                    because: [told.because, taken(stage, worst, solved)].concat(),
                    ..told
                })
            }
            Topology::Chopper(own) => chopper::told(stage, own, worst, solved),
            Topology::Isolated(own) => isolated::told(stage, own, worst, solved),
        }
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        propose::families(failure, solved)
    }
}
