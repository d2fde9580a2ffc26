//! Two drivers that were exchanged: each suits the gates of the other, and what hangs on either is told with that.

use loadworthy_unit::plan::{Driver, DriverMisfit, ExchangedDrivers};

use super::{Addition, EXCHANGED_DRIVERS, Found, View, listed, place};
use crate::check::Told;
use crate::review::Place;
use crate::verdict::Grade;

/// One finding for each two.
pub(super) fn drivers(view: &View<'_, '_>, all: &mut Vec<Found>) {
    for pair in &view.plan.exchanged_drivers {
        let both = pair.names.each_ref().map(|name| driver(view, name));
        if let [Some(one), Some(other)] = both {
            all.push(found(view, pair, [one, other]));
        }
    }
}

fn driver<'v>(view: &'v View<'_, '_>, name: &str) -> Option<&'v Driver> {
    view.control.drivers.iter().find(|driver| view.variant.path(driver.part) == name)
}

fn found(view: &View<'_, '_>, pair: &ExchangedDrivers, both: [&Driver; 2]) -> Found {
    let gates = both.map(|driver| driven(view, driver));
    let saying = format!(
        "`{}` drives {} and `{}` {}: each suits the gates of the other",
        pair.names[0], gates[0], pair.names[1], gates[1]
    );
    let named = |place: usize| {
        let at = both[place].drives.first().map(|drives| drives.2)?;
        Some(Place { node: at, label: format!("driven by {}", pair.names[place]) })
    };
    let at = named(0).unwrap_or_else(|| place(view.variant.tables.part_of(both[0].part).at, "drives them"));
    let mut told = Told::new(saying, at);
    told.because = named(1).into_iter().collect();
    told.facts = (0..2).map(|k| against(&pair.names[k], &gates[k], &pair.misfits[k])).collect();
    let say = format!("exchange `drives` of {} and {}", pair.names[0], pair.names[1]);
    Found {
        part: both[0].part,
        defect: EXCHANGED_DRIVERS,
        in_order: Ok(false),
        grade: Grade::Major,
        names: both.map(|driver| driver.part).to_vec(),
        told: Some((told, Some(Addition { say, leaves: "each driver at gates that it suits" }))),
    }
}

/// What a driver drives, as the description names it.
fn driven(view: &View<'_, '_>, driver: &Driver) -> String {
    let mut names: Vec<String> = Vec::new();
    for &(stage, position, _) in &driver.drives {
        let of = &view.plan.stages[stage];
        let name = format!("{}.{}", view.stage(stage), of.seats[of.positions[position].seat].key);
        if !names.contains(&name) {
            names.push(name);
        }
    }
    listed(&names)
}

/// What speaks against a driver where it is named.
fn against(name: &str, gates: &str, misfits: &[DriverMisfit]) -> String {
    let words: Vec<&str> = misfits
        .iter()
        .map(|misfit| match misfit {
            DriverMisfit::Barrier => "the barriers that it passes are others than its gates need",
            DriverMisfit::LockOut => "it blocks a gate at what its output gives",
            DriverMisfit::Resistors => {
                "its resistors are far from those that the energies of a device hold at"
            }
            DriverMisfit::Current => "a gate takes more current than it gives",
            DriverMisfit::Response => "it lets a short circuit last longer than a device stands",
        })
        .collect();
    format!("against `{name}` at {gates}: {}", words.join("; "))
}

/// What waits for either.
pub(super) fn keeps_open(view: &View<'_, '_>) -> Vec<String> {
    let open = view.plan.gate_drives.iter().filter(|drive| drive.driver.is_none());
    let mut paths: Vec<String> =
        open.map(|drive| view.variant.tables.input_of(drive.channel.own_power).path.clone()).collect();
    paths.dedup();
    paths
}
