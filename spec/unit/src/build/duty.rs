//! Duty points as lanes.

use loadworthy_language::quantity::{Dimension, TimeOr};
use loadworthy_language::sections::duty::DutyPoint;
use loadworthy_language::sections::missions::{Mission as WrittenMission, MissionStep};
use loadworthy_language::{Description, SectionEntry};
use loadworthy_source::{Located, NodeId};

use crate::build::Build;
use crate::ids::{DutyId, InputId};
use crate::origin::Origin;
use crate::plan::Duration;
use crate::table::Stated;
use crate::variant::{Lane, Mission, MissionCourse};

/// How long a duty point lasts in s; nothing where it goes on for good.
pub(crate) fn lasts(point: &DutyPoint) -> Option<f64> {
    match point.lasts.as_ref()?.value {
        TimeOr::Continuous => None,
        TimeOr::Time(time) => Some(time.si()),
    }
}

/// Whether anything is followed over time: a mission, or a duty point that says how long it lasts and what it starts from.
pub(crate) fn is_followed(description: &Description) -> bool {
    let mut points = description.duty.readable();
    !description.missions.is_empty()
        || points.any(|(_, _, point)| lasts(point).is_some() && point.starts_from.is_some())
}

/// Durations as inputs, where a duty point says how long it lasts and what it starts from.
pub(crate) fn duration(build: &mut Build<'_>) -> Option<Duration> {
    let points = build.points.clone();
    if !is_followed(build.description) {
        return None;
    }
    let mut times = |path: &str, of: &dyn Fn(&DutyPoint) -> Option<(f64, NodeId)>| {
        let stated = |&(_, at, point): &(&str, NodeId, &DutyPoint)| match of(point) {
            Some((value, at)) => Stated { value, origin: build.written(at) },
            None => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } },
        };
        let values = points.iter().map(stated).collect();
        build.tables.input_by_duty(path.to_owned(), Dimension::Time, values, false)
    };
    Some(Duration {
        lasts: times("duty.*.lasts", &|point| Some((lasts(point)?, point.lasts.as_ref()?.at))),
        every: times("duty.*.every", &|point| point.every.as_ref().map(|every| (every.si(), every.at))),
    })
}

/// How long each duty point lasts; the input that temperatures are followed with, where there is one.
pub(crate) fn lasting(build: &mut Build<'_>) -> InputId {
    if let Some(duration) = build.plan.duration {
        return duration.lasts;
    }
    not_followed(build, "duty.*.lasts", |point| Some((lasts(point)?, point.lasts.as_ref()?.at)))
}

/// How long each duty point lasts, and how soon it comes again.
pub(crate) fn cycle(build: &mut Build<'_>) -> [InputId; 2] {
    let every = match build.plan.duration {
        Some(duration) => duration.every,
        None => not_followed(build, "duty.*.every", |point| {
            Some((point.every.as_ref()?.si(), point.every.as_ref()?.at))
        }),
    };
    [lasting(build), every]
}

/// A time of each duty point, with which no temperature is followed.
fn not_followed(
    build: &mut Build<'_>,
    path: &str,
    of: impl Fn(&DutyPoint) -> Option<(f64, NodeId)>,
) -> InputId {
    let key = format!("{path} of what is not followed");
    if let Some(&known) = build.shared.get(&key) {
        return known;
    }
    let points = build.points.clone();
    let stated = |&(_, at, point): &(&str, NodeId, &DutyPoint)| match of(point) {
        Some((value, at)) => Stated { value, origin: build.written(at) },
        None => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } },
    };
    let values = points.iter().map(stated).collect();
    let input = build.tables.input_by_duty(path.to_owned(), Dimension::Time, values, false);
    build.shared.insert(key, input);
    input
}

/// The duty point that another one starts from.
pub(crate) fn starts_from(build: &Build<'_>, point: &DutyPoint) -> Option<DutyId> {
    let from = point.starts_from.as_ref()?;
    build.points.iter().position(|&(name, _, _)| name == from.value).map(DutyId::new)
}

/// Missions whose duty points could all be read.
pub(crate) fn missions(build: &Build<'_>) -> Vec<Mission> {
    let place = |duty: &Located<String>| {
        build.points.iter().position(|&(name, _, _)| name == duty.value).map(DutyId::new)
    };
    let mission = |(name, entry, mission): (&str, &SectionEntry<WrittenMission>, &WrittenMission)| {
        let course = match (&mission.steps, &mission.file) {
            (Some(steps), _) => {
                let step = |step: &MissionStep| Some((place(&step.duty)?, step.lasts.si()));
                MissionCourse::Steps(steps.value.iter().map(step).collect::<Option<Vec<_>>>()?)
            }
            (None, Some(file)) => MissionCourse::File {
                path: file.value.clone(),
                at: file.at,
                duty: mission.duty.as_ref().map(|duty| place(duty).ok_or(())).transpose().ok()?,
            },
            (None, None) => return None,
        };
        let starts_from = mission.starts_from.as_ref().map(|from| place(from).ok_or(())).transpose().ok()?;
        Some(Mission { name: name.to_owned(), at: entry.key, starts_from, course })
    };
    build.description.missions.readable().filter_map(mission).collect()
}

/// The lanes of every duty point. Where a machine stands still its rotor may be held at any angle; each phase at its
/// crest in either direction is the worst for one pair of chips, so a lane is made for each of the six.
pub(crate) fn lanes(build: &Build<'_>) -> Vec<Lane> {
    let mut lanes = Vec::new();
    for (place, &(_, _, point)) in build.points.iter().enumerate() {
        let duty = DutyId::new(place);
        let mut loads = point.loads.iter().flat_map(|loads| loads.values());
        let standing = loads.any(|demand| {
            let stands = demand.frequency.as_ref().is_some_and(|frequency| frequency.si() <= 0.0);
            // A torque without a turn is held as well.
            let held = demand.speed.as_ref().is_some_and(|speed| speed.si().abs() <= 0.0);
            stands || demand.torque.is_some() && held
        });
        if standing {
            lanes.extend([1, 2, 3, -1, -2, -3].map(|crest| Lane { duty, crest }));
        } else {
            lanes.push(Lane { duty, crest: 0 });
        }
    }
    lanes
}
