//! Does everything that states a rated current carry no more than that permits and the policy leaves?
//!
//! The RMS current of a chip stands against the continuous rating at the case temperature that was solved, its crest
//! against the repetitive peak. At standstill a crest above the continuous rating is worth a note: the rating is one for
//! direct current, and the junction decides what the share of time at that current does. Conductors and windings stand
//! against the current that they are rated for; what recurs is weighed over its cycle. A contactor opens in service what its
//! branch carries, against the highest voltage of its bus; a fault is the fuse's.

mod chips;
mod conductors;
mod contacts;

use loadworthy_unit::Solved;

use crate::check::{About, Check, Failure, Family, Told, With};
use crate::collect::Verdicts;
use crate::deratings::{CONDUCTOR_CURRENT, DEVICE_CURRENT, DEVICE_PEAK_CURRENT};
use crate::thin_air::{self, THIN_AIR};
use crate::verdict::Verdict;

const CONTINUOUS: &str = "continuous-current";
const PEAK: &str = "repetitive-peak";
const STANDING: &str = "standing-current";
const RATED: &str = "rated-current";
const BREAKS_CURRENT: &str = "breaking-current";
const BREAKS_VOLTAGE: &str = "breaking-voltage";
const OPENS: &str = "opens-in-service";
const BEYOND_RANGE: &str = "beyond-range";
const SHUNT: &str = "shunt-loss";

static ABOUT: About = About {
    name: "current-headroom",
    former_names: &[],
    question: "Does everything that states a rated current carry no more than that permits and the policy leaves?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (
            CONTINUOUS,
            "the RMS current exceeds what the continuous rating leaves at the solved case temperature",
        ),
        (PEAK, "the crest of the current exceeds what the policy leaves of the repetitive peak"),
        (STANDING, "at standstill the crest stands above the continuous rating; the junction decides"),
        (RATED, "a conductor or winding carries more than it is rated for"),
        (BREAKS_CURRENT, "a contactor carries more in service than it breaks"),
        (BREAKS_VOLTAGE, "a contactor may have to open against more voltage than it breaks"),
        (OPENS, "a contactor carries more in service than its control opens it above"),
        (BEYOND_RANGE, "more passes a sensor in a branch than it measures"),
        (SHUNT, "a shunt burns more than the power that it stands"),
        (THIN_AIR, thin_air::MEANS),
    ],
    policy: &[&DEVICE_CURRENT, &DEVICE_PEAK_CURRENT, &CONDUCTOR_CURRENT],
    since: 2026,
};

/// The check.
pub(crate) struct CurrentHeadroom;

impl Check for CurrentHeadroom {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn feels_the_coolant(&self) -> bool {
        true
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        chips::judge(solved, out);
        conductors::judge(solved, out);
        contacts::judge(solved, out);
        for contactor in solved.variant.plan.conductors.iter().filter(|one| one.is_contact) {
            thin_air::judge(contactor, solved, out);
        }
    }

    fn is_of_the_entry(&self, defect: &str) -> bool {
        defect == THIN_AIR
    }

    fn told_with(&self, failing: &Verdict, solved: &Solved<'_>) -> Vec<With> {
        match failing.defect {
            // A contactor that is too small for what it carries is too small for what it opens.
            BREAKS_CURRENT | SHUNT => vec![With::of(ABOUT.name, RATED, failing.part)],
            THIN_AIR => thin_air::told_with(failing, solved),
            _ => Vec::new(),
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        match failure.worst.defect {
            RATED => conductors::told(failure.worst, solved),
            THIN_AIR => thin_air::told(failure.worst, solved),
            BREAKS_CURRENT | BREAKS_VOLTAGE | OPENS | BEYOND_RANGE | SHUNT => {
                contacts::told(failure.worst, solved)
            }
            _ => chips::told(failure.worst, solved),
        }
    }

    fn outruns(&self, defect: &str) -> &'static [&'static str] {
        if defect == PEAK { &["current"] } else { &[] }
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        match failure.worst.defect {
            RATED => conductors::propose(failure, solved),
            THIN_AIR => Vec::new(),
            BREAKS_CURRENT | BREAKS_VOLTAGE | OPENS | BEYOND_RANGE | SHUNT => {
                contacts::propose(failure, solved)
            }
            _ => chips::propose(failure, solved),
        }
    }
}
