//! Duty points as lanes.

use loadworthy_language::quantity::TimeOr;
use loadworthy_language::sections::duty::DutyPoint;

use crate::build::Build;
use crate::ids::DutyId;
use crate::variant::Lane;

/// How long a duty point lasts in s; nothing where it goes on for good.
pub(crate) fn lasts(point: &DutyPoint) -> Option<f64> {
    match point.lasts.as_ref()?.value {
        TimeOr::Continuous => None,
        TimeOr::Time(time) => Some(time.si()),
    }
}

/// The lanes of every duty point. Where a machine stands still its rotor may be held at any angle; each phase at its
/// crest in either direction is the worst for one pair of chips, so a lane is made for each of the six.
pub(crate) fn lanes(build: &Build<'_>) -> Vec<Lane> {
    let mut lanes = Vec::new();
    for (place, &(_, _, point)) in build.points.iter().enumerate() {
        let duty = DutyId::new(place);
        let loads = point.loads.iter().flat_map(|loads| loads.values());
        let mut frequencies = loads.filter_map(|demand| demand.frequency.as_ref());
        let standing = frequencies.any(|frequency| frequency.si() <= 0.0);
        if standing {
            lanes.extend([1, 2, 3, -1, -2, -3].map(|crest| Lane { duty, crest }));
        } else {
            lanes.push(Lane { duty, crest: 0 });
        }
    }
    lanes
}
