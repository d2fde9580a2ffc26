//! What stops together, where stages must not, and where nobody said that they may.

use loadworthy_unit::plan::{ChopperKind, Sensor, Topology};
use loadworthy_unit::{Cause, NodeId, PartId};

use super::{Found, NOT_INDEPENDENT, STOPS_TOGETHER, UNPOWERED, View, is_broken, listed, place};
use crate::check::Told;
use crate::dependence::{Need, Needs};
use crate::free_text::in_line;
use crate::review::Place;
use crate::verdict::{Grade, Missing};

/// Places that are shown beside the first.
const MOST_PLACES: usize = 4;

/// Stages in `strange` are told to obey the wrong controller: what they share with others by it is no news.
pub(super) fn stages(view: &View<'_, '_>, strange: &[usize], all: &mut Vec<Found>) {
    let needs = Needs::of(view.variant);
    let beyond = Needs::through_converters(view.variant);
    for stage in 0..view.plan.stages.len() {
        all.extend(claimed(view, &beyond, stage));
    }
    shared(view, &needs, &beyond, strange, all);
    unpowered(view, all);
}

/// What stops with a controller is known where it says what it lives on. Where nothing of a unit says so, supplies of the
/// controls lie outside the concept.
fn unpowered(view: &View<'_, '_>, all: &mut Vec<Found>) {
    let controllers = &view.control.controllers;
    let is_said = controllers.iter().any(|one| one.from.is_some())
        || view.control.supplied_from.iter().any(Option::is_some);
    let commands =
        |name: &str| (0..view.plan.stages.len()).any(|stage| view.commanders(stage).contains(&name));
    let is_alone = view.plan.stages.len() < 2;
    let silent = controllers.iter().filter(|one| one.from.is_none() && commands(&one.name));
    let silent = silent.filter(|_| is_said && !is_alone).map(|one| (one.part, "from"));
    all.extend(silent.chain(unheld(view)).map(|(part, key)| Found {
        part,
        defect: UNPOWERED,
        in_order: Err(vec![Missing::Key { of: part, key }]),
        grade: Grade::Note,
        names: Vec::new(),
        told: None,
    }));
}

/// Contactors that do not say what their coil lives on, or what commands it, where another does.
pub(super) fn unheld<'v>(view: &'v View<'_, '_>) -> impl Iterator<Item = (PartId, &'static str)> + 'v {
    let coils = &view.control.coils;
    let is_said = coils.iter().any(|coil| coil.from.is_some());
    let is_commanded = coils.iter().any(|coil| coil.controller.is_some());
    view.plan.openings.iter().filter(|one| one.is_contactor).filter_map(move |one| {
        let own = coils.iter().find(|coil| coil.conductor == one.conductor);
        let lacks = match own {
            Some(coil) if coil.from.is_some() => {
                (is_commanded && coil.controller.is_none()).then_some("coil.controller")
            }
            _ => is_said.then_some("coil.from"),
        };
        lacks.map(|key| (view.plan.conductors[one.conductor].part, key))
    })
}

/// Stages that another one says it must not fail with, as places in the plan; each pair is looked at once.
fn others(view: &View<'_, '_>, stage: usize) -> Vec<usize> {
    let names = |of: usize, other: usize| {
        view.control.stages[of].independent_of.iter().any(|name| name.value == view.stage(other))
    };
    let is_first =
        |&other: &usize| other != stage && names(stage, other) && !(other < stage && names(other, stage));
    (0..view.plan.stages.len()).filter(is_first).collect()
}

/// Whether a stage is independent of those that it names.
fn claimed(view: &View<'_, '_>, needs: &Needs<'_>, stage: usize) -> Option<Found> {
    let others = others(view, stage);
    if others.is_empty() {
        return None;
    }
    let part = view.plan.stages[stage].part;
    let pairs: Vec<(usize, Vec<Need<'_>>, Vec<&Sensor>)> = others
        .iter()
        .map(|&other| (other, needs.shared(stage, other), sensors(view, stage, other)))
        .filter(|(_, shared, sensors)| !shared.is_empty() || !sensors.is_empty())
        .collect();
    // Who commands a stage must be known before it can be called independent.
    let unknown = others.iter().chain([&stage]).find(|&&one| view.commanders(one).is_empty());
    let unread = others.iter().chain([&stage]).find_map(|&one| view.waits_for_controller(one));
    let in_order = match (unknown, unread) {
        (Some(&one), _) if pairs.is_empty() => {
            Err(vec![Missing::Key { of: view.plan.stages[one].part, key: "controller" }])
        }
        (None, Some(unread)) if pairs.is_empty() => Err(vec![unread]),
        _ => Ok(pairs.is_empty()),
    };
    let told = pairs.first().map(|(first, shared, read)| {
        let name = view.stage(stage);
        let claims = view.control.stages[stage].independent_of.iter();
        let claim = claims.into_iter().find(|claim| claim.value == view.stage(*first));
        let claimed =
            claim.map_or_else(|| view.at(part, "says so"), |claim| place(claim.at, "must not fail together"));
        let saying = format!(
            "`{name}` must not fail with {}, and they depend on the same: {}",
            listed(&pairs.iter().map(|(other, ..)| view.stage(*other)).collect::<Vec<_>>()),
            listed(&words(view, shared, read))
        );
        let both = [stage, *first];
        // What they share is the cause where one of them says so against all else that it names.
        let odd = shared.iter().find_map(|need| odd_place(needs, *need, both));
        let (at, also) = match odd {
            Some((node, of)) => {
                let label = format!(
                    "{} takes from here what {} does",
                    view.stage(of),
                    view.stage(both[usize::from(of == stage)])
                );
                (Place { node, label }, Some(claimed))
            }
            None => (claimed, None),
        };
        let mut told = Told::new(saying, at);
        let shown = shared.iter().flat_map(|need| {
            let what = format!("{} {}", need.what(), in_line(need.name()));
            needed_at(view, needs, *need, &both, &what)
        });
        let mut because: Vec<Place> = also.into_iter().collect();
        for place in shown.filter(|place| place.node != told.at.node) {
            if !because.iter().any(|known| known.node == place.node) {
                because.push(place);
            }
        }
        because.truncate(MOST_PLACES);
        told.because = because;
        told.facts = pairs
            .iter()
            .map(|(other, shared, read)| {
                format!("shared with {}: {}", view.stage(*other), listed(&words(view, shared, read)))
            })
            .collect();
        told.no_proposal = Some("give each its own, or do not call them independent".to_owned());
        (told, None)
    });
    let names = pairs.iter().map(|(other, ..)| view.plan.stages[*other].part).collect();
    Some(Found { part, defect: NOT_INDEPENDENT, in_order, grade: Grade::Major, names, told })
}

fn words(view: &View<'_, '_>, shared: &[Need<'_>], read: &[&Sensor]) -> Vec<String> {
    let needs = shared.iter().map(|need| format!("{} {}", need.what(), in_line(need.name())));
    needs.chain(read.iter().map(|sensor| format!("sensor {}", view.variant.path(sensor.part)))).collect()
}

/// Where one of two stages says to need a bus that the other lives on, while all else of it lives on another one.
fn odd_place(needs: &Needs<'_>, need: Need<'_>, both: [usize; 2]) -> Option<(NodeId, usize)> {
    let Need::Bus(_) = need else { return None };
    let buses = |stage: usize| {
        let own =
            needs.iter().filter(|(need, stages, _)| matches!(need, Need::Bus(_)) && stages.contains(&stage));
        own.count()
    };
    let [one, other] = both.map(buses);
    let of = match one.cmp(&other) {
        core::cmp::Ordering::Less => both[1],
        core::cmp::Ordering::Greater => both[0],
        core::cmp::Ordering::Equal => return None,
    };
    Some((needs.place(need, of)?, of))
}

/// Sensors that the controllers of two stages both believe, and of which there is but one.
fn sensors<'v>(view: &View<'_, 'v>, one: usize, other: usize) -> Vec<&'v Sensor> {
    let (one, other) = (view.commanders(one), view.commanders(other));
    if one.iter().any(|name| other.contains(name)) {
        // That they share a controller says it all.
        return Vec::new();
    }
    let reads = |sensor: &Sensor, names: &[&str]| {
        sensor.read_by.iter().any(|reader| names.contains(&reader.value.as_str()))
    };
    let sensors = view.control.sensors.iter();
    sensors.filter(|sensor| sensor.redundant < 2 && reads(sensor, &one) && reads(sensor, &other)).collect()
}

/// What stops a boost with a bridge, or two drives, whether or not somebody calls them independent.
fn shared(
    view: &View<'_, '_>,
    needs: &Needs<'_>,
    beyond: &Needs<'_>,
    strange: &[usize],
    all: &mut Vec<Found>,
) {
    let mut known: Vec<Vec<usize>> = Vec::new();
    // What could not be read may stop with it as well.
    let control = view.control;
    let sections = [control.stages_stated, control.drivers_stated, control.controllers_stated];
    let unread: Vec<Missing> = sections
        .into_iter()
        .filter(|&section| is_broken(view.variant, section))
        .map(|section| Missing::Cause(Cause::Input(section)))
        .collect();
    for (need, mut stages, _) in needs.iter() {
        if matches!(need, Need::Controller(_)) {
            stages.retain(|stage| !strange.contains(stage));
        }
        let Some(part) = part(view, need, &stages) else { continue };
        let bridges = stages.iter().filter(|&&stage| view.plan.stages[stage].bridge().is_some()).count();
        let is_boost = |&stage: &usize| match &view.plan.stages[stage].topology {
            Topology::Chopper(chopper) => chopper.kind == ChopperKind::Boost,
            Topology::Bridge(_) | Topology::Isolated(_) => false,
        };
        let is_grave = 2 <= bridges || (bridges == 1 && stages.iter().any(is_boost));
        // What stops the same stages once more is no news.
        let is_told = is_grave && (known.contains(&stages) || is_claimed(view, need, &stages, beyond));
        let told = (is_grave && !is_told).then(|| {
            let names: Vec<&str> = stages.iter().map(|&stage| view.stage(stage)).collect();
            let saying = format!("{} stop together with {} `{}`", listed(&names), need.what(), need.name());
            let mut told = Told::new(saying, view.at(part, "stops them together"));
            told.because = needed_at(view, needs, need, &stages, "it");
            told.facts = vec![format!("stops together: {}", listed(&names))];
            told.no_proposal = Some(
                "decide what the machine does then; where that is right, a permit says so, and where it is not, divide it"
                    .to_owned(),
            );
            (told, None)
        });
        let names = stages.iter().map(|&stage| view.plan.stages[stage].part).collect();
        if is_grave && !is_told {
            known.push(stages);
        }
        all.push(Found {
            part,
            defect: STOPS_TOGETHER,
            in_order: if told.is_none() && !is_told && !unread.is_empty() {
                Err(unread.clone())
            } else {
                Ok(told.is_none())
            },
            grade: Grade::Note,
            names,
            told,
        });
    }
}

/// Whether some of the stages that stop with something say that they must not, which is told of them.
fn is_claimed(view: &View<'_, '_>, need: Need<'_>, stages: &[usize], beyond: &Needs<'_>) -> bool {
    stages.iter().any(|&stage| {
        let mut others = others(view, stage).into_iter().filter(|other| stages.contains(other));
        others.any(|other| beyond.shared(stage, other).contains(&need))
    })
}

/// Where stages come to need something, each place once with all the stages that need it there.
fn needed_at(
    view: &View<'_, '_>,
    needs: &Needs<'_>,
    need: Need<'_>,
    stages: &[usize],
    what: &str,
) -> Vec<Place> {
    let mut places: Vec<(NodeId, Vec<&str>)> = Vec::new();
    for &stage in stages {
        let Some(node) = needs.place(need, stage) else { continue };
        match places.iter_mut().find(|(known, _)| *known == node) {
            Some((_, names)) => names.push(view.stage(stage)),
            None => places.push((node, vec![view.stage(stage)])),
        }
    }
    let place = |(node, names): (NodeId, Vec<&str>)| {
        let verb = if names.len() == 1 { "needs" } else { "need" };
        Place { node, label: format!("{} {verb} {what}", listed(&names)) }
    };
    places.into_iter().take(MOST_PLACES).map(place).collect()
}

/// The part that stands for a controller or a bus. Gate supplies and their transformers are another check's, and a name of
/// its own has no part.
fn part(view: &View<'_, '_>, need: Need<'_>, stages: &[usize]) -> Option<PartId> {
    if stages.len() < 2 {
        return None;
    }
    match need {
        Need::Controller(name) => {
            view.control.controllers.iter().find(|one| one.name == name).map(|one| one.part)
        }
        Need::Bus(name) => {
            let buses = view.plan.buses.iter().map(|bus| bus.part);
            buses.into_iter().find(|&part| view.variant.path(part) == name)
        }
        Need::Named(_) | Need::Transformer(_) | Need::Output(_) => None,
    }
}
