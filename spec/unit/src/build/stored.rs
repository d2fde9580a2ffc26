//! The charge of each bus: what takes it away at switch-off, and which other charge follows through diodes.

use loadworthy_language::Description;
use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::devices::Transistor;

use crate::build::{Build, assumed, broken};
use crate::ids::InputId;
use crate::origin::Origin;
use crate::plan::{ActiveDischarge, Role, Stage, Stored, StoredFigures, Topology};
use crate::table::Stated;

/// Every bus with a bank or a discharge.
pub(crate) fn charges(build: &mut Build<'_>) {
    for bus in 0..build.plan.buses.len() {
        if let Some(stored) = stored(build, bus) {
            build.plan.stored.push(stored);
        }
    }
    follow(build);
}

fn stored(build: &mut Build<'_>, bus: usize) -> Option<Stored> {
    let part = build.plan.buses[bus].part;
    let (name, at) = {
        let part = build.tables.part_of(part);
        (part.path.clone(), part.at)
    };
    let discharge = build.description.buses.entry(&name).and_then(|bus| bus.discharge.as_ref());
    if discharge.is_none() && build.plan.buses[bus].ripple.banks.is_empty() {
        return None;
    }
    let said = format!("buses.{name}.discharge");
    let resistor = discharge.and_then(|discharge| discharge.resistor.as_ref()).map(|ohms| {
        let power = discharge.and_then(|discharge| discharge.resistor_power.as_ref());
        let power = build.stated(power, Some(at), |watts| watts.si());
        let ohms = build.stated(Some(ohms), None, |ohms| ohms.si());
        (
            build.tables.input(format!("{said}.resistor"), Dimension::Resistance, ohms),
            build.tables.input(format!("{said}.resistor_power"), Dimension::Power, power),
        )
    });
    let active = discharge.and_then(|discharge| discharge.active.as_ref()).map(|active| {
        match (&active.power, &active.resistor) {
            (None, Some(ohms)) => {
                let ohms = build.stated(Some(ohms), None, |ohms| ohms.si());
                let path = format!("{said}.active.resistor");
                ActiveDischarge::Resistance(build.tables.input(path, Dimension::Resistance, ohms))
            }
            (watts, _) => {
                let watts = build.stated(watts.as_ref(), Some(at), |watts| watts.si());
                let path = format!("{said}.active.power");
                ActiveDischarge::Power(build.tables.input(path, Dimension::Power, watts))
            }
        }
    });
    let within = discharge.and_then(|discharge| discharge.within.as_ref());
    if resistor.is_some() && active.is_none() {
        let none = assumed(&defaults::ACTIVE_DISCHARGE, at);
        build.tables.input(format!("{said}.active"), Dimension::Power, none);
    }
    // Who has a resistor and nothing that is switched on is asked for no shorter time.
    let within = if resistor.is_some() && active.is_none() {
        build.stated(within, Some(at), |seconds| seconds.si())
    } else {
        build.stated_or(within, at, &defaults::DISCHARGED_WITHIN, |seconds| seconds.si())
    };
    let passively = discharge.and_then(|discharge| discharge.passively_within.as_ref());
    let passively =
        build.stated_or(passively, at, &defaults::DISCHARGED_PASSIVELY_WITHIN, |seconds| seconds.si());
    let within = build.tables.limit(format!("{said}.within"), Dimension::Time, within);
    let passively_within = build.tables.limit(format!("{said}.passively_within"), Dimension::Time, passively);
    let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
    let figures = StoredFigures {
        energy: figure("stored_energy", Dimension::Energy),
        passive_time: figure("passive_discharge_time", Dimension::Time),
        active_time: figure("active_discharge_time", Dimension::Time),
        resistor_loss: figure("discharge_resistor_loss", Dimension::Power),
    };
    let (followers, follows) = (Vec::new(), None);
    // What could not be read of it may be its discharge.
    let own = build.description.buses.get(&name).filter(|bus| bus.read().is_none()).map(|bus| bus.value);
    let unread = own.map(|at| build.tables.input(said.clone(), Dimension::Power, broken(at)));
    let is_stated = discharge.is_some();
    Some(Stored {
        bus,
        is_stated,
        resistor,
        active,
        within,
        passively_within,
        followers,
        follows,
        unread,
        figures,
    })
}

/// The low bus of a chopper follows its high one down: the diode of the high side leads from the one to the other.
fn follow(build: &mut Build<'_>) {
    let lacking: Vec<Option<String>> =
        build.plan.stages.iter().map(|stage| lacks_diode(build.description, stage)).collect();
    let mut undescribed = Vec::new();
    let plan = &mut build.plan;
    let place = |stored: &[Stored], bus: Option<usize>| {
        bus.and_then(|bus| stored.iter().position(|one| one.bus == bus))
    };
    for (stage, lacking) in plan.stages.iter().zip(lacking) {
        let (Topology::Chopper(_), [low, high]) = (&stage.topology, stage.ports.as_slice()) else { continue };
        let (Some(low), Some(high)) = (place(&plan.stored, low.bus), place(&plan.stored, high.bus)) else {
            continue;
        };
        if let Some(device) = lacking {
            undescribed.push((low, device));
            continue;
        }
        if !plan.stored[high].followers.contains(&low) {
            plan.stored[high].followers.push(low);
        }
        let has_own = plan.stored[low].resistor.is_some() || plan.stored[low].active.is_some();
        if !has_own && plan.stored[low].follows.is_none() {
            plan.stored[low].follows = Some(high);
        }
    }
    for (low, device) in undescribed {
        let stored = &build.plan.stored[low];
        if stored.resistor.is_none() && stored.active.is_none() && stored.follows.is_none() {
            let near = build.description.devices.get(&device).map(|entry| entry.key);
            let absent = Stated { value: f64::NAN, origin: Origin::Absent { near } };
            let diode = build.tables.input(format!("devices.{device}.diode"), Dimension::Voltage, absent);
            build.plan.stored[low].unread = Some(diode);
        }
    }
    for own in 0..build.plan.stored.len() {
        let stored = &build.plan.stored[own];
        let is_open = stored.follows.is_none() && stored.unread.is_none();
        if stored.resistor.is_none() && stored.active.is_none() && is_open {
            build.plan.stored[own].unread = unread_above(build, build.plan.stored[own].bus);
        }
    }
}

/// The device on the high side of a chopper, where it is an IGBT of which no diode is described: nothing is known to lead back.
fn lacks_diode(description: &Description, stage: &Stage) -> Option<String> {
    let high = stage.positions.iter().find(|position| position.role == Role::HighSide)?;
    let name = stage.seats[high.seat].fitted.as_ref()?;
    let device = description.devices.entry(name)?;
    let is_bare = matches!(device.transistor, Some(Transistor::Igbt(_))) && device.diode.is_none();
    is_bare.then(|| name.clone())
}

/// The high bus of a chopper on a bus, or a stage that may be one, that could not be read.
fn unread_above(build: &mut Build<'_>, low: usize) -> Option<InputId> {
    let description = build.description;
    let high = |stage: &crate::plan::Stage| {
        let (Topology::Chopper(_), [own, high]) = (&stage.topology, stage.ports.as_slice()) else {
            return None;
        };
        let part = build.plan.buses[high.bus.filter(|_| own.bus == Some(low))?].part;
        let name = &build.tables.part_of(part).path;
        let entry = description.buses.get(name).filter(|bus| bus.read().is_none())?;
        Some((format!("buses.{name}"), entry.value))
    };
    let mut stages = description.stages.unread().map(|(name, entry)| (format!("stages.{name}"), entry.value));
    let gone = description.stages.unfound.first().zip(description.stages.at);
    let (path, at) = build
        .plan
        .stages
        .iter()
        .find_map(high)
        .or_else(|| stages.next())
        .or_else(|| gone.map(|(name, at)| (format!("stages.{name}"), at)))?;
    Some(build.tables.input(path, Dimension::Power, broken(at)))
}
