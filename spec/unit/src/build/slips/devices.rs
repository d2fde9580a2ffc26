//! Devices that were exchanged between two kinds of position.

use loadworthy_language::sections::devices::Transistor;
use loadworthy_language::sections::stages::{Stage, SwitchPosition};
use loadworthy_source::Located;

use super::{Draft, MOST_STRANGE, Seen, word};
use crate::slip::Move;

/// A kind of position: its stage, its key, the device that is named there, and the highest voltage of its bus.
struct Place<'s> {
    stage: &'s str,
    key: &'static str,
    fitted: &'s Located<String>,
    highest: Option<f64>,
}

/// Devices that block less than the bus that they stand on: exchanged at two kinds of position, or in two stages.
pub(super) fn exchanged(seen: &Seen<'_>, out: &mut Vec<Draft>) {
    let places = places(seen);
    let is_low = |device: &str, at: &Place<'_>| {
        blocks(seen, device).zip(at.highest).is_some_and(|(blocks, highest)| blocks < highest)
    };
    let strange: Vec<usize> =
        (0..places.len()).filter(|&k| is_low(&places[k].fitted.value, &places[k])).collect();
    if strange.len() > MOST_STRANGE {
        return;
    }
    let mut seen_pairs: Vec<[&str; 4]> = Vec::new();
    for &k in &strange {
        let own = &places[k];
        for far in places.iter().filter(|far| far.fitted.value != own.fitted.value) {
            if is_low(&far.fitted.value, own) {
                continue;
            }
            if !is_low(&own.fitted.value, far) {
                let both = [(own, &far.fitted.value), (far, &own.fitted.value)];
                out.push(fitted(seen, &both));
            }
            // All of one stage with all of another.
            let pair = [own.stage, far.stage, own.fitted.value.as_str(), far.fitted.value.as_str()];
            if own.stage == far.stage || seen_pairs.contains(&pair) {
                continue;
            }
            seen_pairs.push(pair);
            let within = places.iter().filter(|one| one.stage == own.stage || one.stage == far.stage);
            let all: Vec<(&Place<'_>, &String)> = within
                .filter_map(|one| match one.fitted.value.as_str() {
                    name if name == own.fitted.value => Some((one, &far.fitted.value)),
                    name if name == far.fitted.value => Some((one, &own.fitted.value)),
                    _ => None,
                })
                .collect();
            if 2 < all.len() && all.iter().all(|(one, device)| !is_low(device, one)) {
                let draft = fitted(seen, &all);
                let exchanged = Some([own.fitted.value.clone(), far.fitted.value.clone()]);
                out.push(Draft { exchanged, ..draft });
            }
        }
    }
}

fn places<'s>(seen: &Seen<'s>) -> Vec<Place<'s>> {
    let mut all = Vec::new();
    for (stage, _, written) in seen.description.stages.readable() {
        let buses = written.buses();
        for (key, position) in written.positions() {
            let Some(fitted) = position.and_then(|position| position.fitted.as_ref()) else { continue };
            let is_behind = ["rectifier", "forward", "freewheel"].contains(&key);
            // Both sides of a leg of a boost or a buck stand below its high bus.
            let bus = match written {
                Stage::Boost(_) => buses.get(1),
                Stage::PhaseShiftedFullBridge(_) | Stage::ActiveClampForward(_) if is_behind => buses.get(1),
                _ => buses.first(),
            };
            let highest = bus.and_then(|(_, bus)| *bus).and_then(|bus| seen.highest(&bus.value));
            all.push(Place { stage, key, fitted, highest });
        }
    }
    all
}

fn blocks(seen: &Seen<'_>, device: &str) -> Option<f64> {
    let device = seen.description.devices.entry(device)?;
    let volts = match &device.transistor {
        Some(Transistor::Igbt(one)) => one.blocking_voltage.as_ref(),
        Some(Transistor::Mosfet(one)) => one.blocking_voltage.as_ref(),
        None => device.diode.as_ref()?.blocking_voltage.as_ref(),
    };
    volts.map(|volts| volts.si())
}

/// A description with other devices at some places.
fn fitted(seen: &Seen<'_>, all: &[(&Place<'_>, &String)]) -> Draft {
    let written = |(place, device): &(&Place<'_>, &String)| -> Move {
        let entry = format!("{}.switches.{}", place.stage, place.key);
        word(("stages", &entry, "fitted"), place.fitted, device)
    };
    let changes: Vec<(&Place<'_>, &String)> = all.to_vec();
    seen.draft(all.iter().map(written).collect(), |description| {
        for (place, device) in changes {
            description.stages.change(place.stage, |stage| {
                if let Some(position) = position_of(stage, place.key) {
                    position.fitted = Some(Located { value: device.clone(), at: place.fitted.at });
                }
            });
        }
    })
}

fn position_of<'s>(stage: &'s mut Stage, key: &str) -> Option<&'s mut SwitchPosition> {
    match stage {
        Stage::ThreePhaseBridge(stage) => of_leg(stage.switches.as_mut()?, key),
        Stage::Boost(stage) => of_leg(stage.switches.as_mut()?, key),
        Stage::Buck(stage) => of_leg(stage.switches.as_mut()?, key),
        Stage::PhaseShiftedFullBridge(stage) => {
            let switches = stage.switches.as_mut()?;
            match key {
                "bridge_high" => switches.bridge_high.as_mut(),
                "bridge_low" => switches.bridge_low.as_mut(),
                _ => switches.rectifier.as_mut(),
            }
        }
        Stage::ActiveClampForward(stage) => {
            let switches = stage.switches.as_mut()?;
            match key {
                "main" => switches.main.as_mut(),
                "clamp" => switches.clamp.as_mut(),
                "forward" => switches.forward.as_mut(),
                _ => switches.freewheel.as_mut(),
            }
        }
    }
}

fn of_leg<'s>(
    legs: &'s mut loadworthy_language::sections::stages::LegSwitches,
    key: &str,
) -> Option<&'s mut SwitchPosition> {
    if key == "high_side" { legs.high_side.as_mut() } else { legs.low_side.as_mut() }
}
