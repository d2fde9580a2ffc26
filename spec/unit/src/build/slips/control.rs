//! Controllers that were exchanged: at two stages, or in the domains that they stand in.

use loadworthy_language::sections::gate_supplies::Controller;
use loadworthy_language::sections::stages::Stage;
use loadworthy_source::Located;

use super::{Draft, MOST_STRANGE, Seen, word};

/// Stages of which each obeys the controller that reads what is measured of the other.
pub(super) fn of_stages(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let stages = seen.description.stages.readable();
    let stages = stages.filter_map(|(name, _, stage)| Some((name, stage.controller()?)));
    let strange = stages.filter(|(name, controller)| is_read_by_others(seen, name, &controller.value));
    let strange: Vec<(&str, &Located<String>)> = strange.collect();
    if strange.len() > MOST_STRANGE {
        return;
    }
    for (place, &(name, own)) in strange.iter().enumerate() {
        for &(far, theirs) in strange[place + 1..].iter().filter(|(_, theirs)| theirs.value != own.value) {
            let pair = [(name, own), (far, theirs)];
            out.push(seen.exchanged(("stages", "controller"), pair, |all, name, named| {
                all.stages.change(name, |stage| command(stage, named));
            }));
        }
    }
}

fn command(stage: &mut Stage, by: &Located<String>) {
    let controller = match stage {
        Stage::ThreePhaseBridge(stage) => &mut stage.controller,
        Stage::Boost(stage) => &mut stage.controller,
        Stage::Buck(stage) => &mut stage.controller,
        Stage::PhaseShiftedFullBridge(stage) => &mut stage.controller,
        Stage::ActiveClampForward(stage) => &mut stage.controller,
    };
    *controller = Some(by.clone());
}

/// Whether sensors stand in a stage, and none of them is read by a controller.
fn is_read_by_others(seen: &Seen<'_>, stage: &str, controller: &str) -> bool {
    let stands_in = |of: &str| of.split('.').next() == Some(stage);
    let sensors = seen.description.sensors.readable().map(|(.., sensor)| sensor);
    let own =
        sensors.filter(|sensor| sensor.of.iter().flat_map(|of| &of.value).any(|of| stands_in(&of.value)));
    let mut readers = own.flat_map(|sensor| &sensor.read_by).flat_map(|by| &by.value).peekable();
    readers.peek().is_some() && readers.all(|by| by.value != controller)
}

/// Controllers in one another's domains: what they command or read passes no barrier.
pub(super) fn of_domains(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let all = seen.description.controllers.readable().map(|(name, _, one)| (name, one));
    let strange: Vec<(&str, &Controller)> = all.filter(|(name, _)| commands_bare(seen, name)).collect();
    if strange.len() > MOST_STRANGE {
        return;
    }
    for (place, &(name, one)) in strange.iter().enumerate() {
        for &(far, other) in &strange[place + 1..] {
            let (Some(own), Some(theirs)) = (&one.domain, &other.domain) else { continue };
            if own.value == theirs.value {
                continue;
            }
            let domains = || {
                vec![
                    word(("controllers", name, "domain"), own, &theirs.value),
                    word(("controllers", far, "domain"), theirs, &own.value),
                ]
            };
            let (here, there) = (own.clone(), theirs.clone());
            out.push(seen.draft(domains(), |all| {
                all.controllers.change(name, |controller| controller.domain = Some(there.clone()));
                all.controllers.change(far, |controller| controller.domain = Some(here.clone()));
            }));
            // Where each lives in its domain, the two entries were exchanged.
            let (Some(from), Some(others)) = (&one.from, &other.from) else { continue };
            if from.value == others.value {
                continue;
            }
            let feeds = [
                word(("controllers", name, "from"), from, &others.value),
                word(("controllers", far, "from"), others, &from.value),
            ];
            let draft = seen.draft(domains().into_iter().chain(feeds).collect(), |all| {
                all.controllers.change(name, |controller| {
                    (controller.domain, controller.from) = (Some(there), Some(others.clone()));
                });
                all.controllers.change(far, |controller| {
                    (controller.domain, controller.from) = (Some(here), Some(from.clone()));
                });
            });
            out.push(Draft { exchanged: Some([name.to_owned(), far.to_owned()]), ..draft });
        }
    }
}

/// Whether a driver of a stage that a controller commands, or a sensor that it reads, passes no barrier where it needs one.
fn commands_bare(seen: &Seen<'_>, name: &str) -> bool {
    let description = seen.description;
    let reads = description.sensors.readable().any(|(sensor, _, one)| {
        let is_read = one.read_by.iter().flat_map(|by| &by.value).any(|by| by.value == name);
        is_read && seen.is_bare(sensor)
    });
    let commands = || {
        description.drivers.readable().any(|(driver, _, one)| {
            let drives = one.drives.iter().flat_map(|drives| &drives.value);
            let mut stages = drives.filter_map(|drives| drives.value.split('.').next());
            let obeys = |stage: &str| {
                let controller = description.stages.entry(stage).and_then(Stage::controller);
                controller.is_some_and(|controller| controller.value == name)
            };
            stages.any(obeys) && seen.is_bare(driver)
        })
    };
    reads || commands()
}
