//! Switching energies of a device, as its sheet states them.

use loadworthy_language::defaults::{self, Default as Assumption};
use loadworthy_language::quantity::{Dimension, Points};
use loadworthy_language::sections::devices::TransistorEnergies;
use loadworthy_physics::{Current, Energy, energy_curve as curve};
use loadworthy_source::{Located, NodeId};

use crate::build::device::Sheet;
use crate::build::{Build, assumed};
use crate::device::{EnergyCurve, EnergyScale};
use crate::plan::Energies;
use crate::table::Stated;

/// Energies of a transistor's two edges together, and each by itself.
pub(crate) fn transistor_energy(
    build: &mut Build<'_>,
    sheet: &Sheet<'_>,
    written: Option<&TransistorEnergies>,
    is_mosfet: bool,
) -> (EnergyCurve, Energies) {
    let path = format!("{}.transistor.energies", sheet.path);
    let Some(energies) = written else {
        let none = no_energy(build, sheet, path);
        return (none.clone(), Energies { turn_on: none.clone(), turn_off: none });
    };
    let (of_voltage, of_temperature) = if is_mosfet {
        (&defaults::VOLTAGE_EXPONENT_MOSFET, &defaults::TEMPERATURE_COEFFICIENT_MOSFET)
    } else {
        (&defaults::VOLTAGE_EXPONENT_IGBT, &defaults::TEMPERATURE_COEFFICIENT_IGBT)
    };
    let scale = Scale {
        voltage: energies.voltage.si(),
        junction: energies.junction.in_celsius(),
        voltage_exponent: plain(build, energies.voltage_exponent.as_ref(), sheet.at, of_voltage),
        current_exponent: plain(
            build,
            energies.current_exponent.as_ref(),
            sheet.at,
            &defaults::CURRENT_EXPONENT_TRANSISTOR,
        ),
        growth: build
            .stated_or(energies.temperature_coefficient.as_ref(), sheet.at, of_temperature, |c| c.value()),
    };
    let mut events = paired(&energies.current, &energies.turn_on, Some(&energies.turn_off));
    let [on, off] =
        [&energies.turn_on, &energies.turn_off].map(|energy| paired(&energies.current, energy, None));
    if let [first, _, ..] = events.as_slice()
        && first.0 > Current::ZERO
    {
        // Below its first point each curve goes on in its own way, and so does their sum.
        let at_zero = |points: &[_]| curve::polyline_at(points, Current::ZERO);
        events.insert(0, (Current::ZERO, at_zero(&on) + at_zero(&off)));
    }
    let both = energy_curve(build, path, energies.turn_on.at, events, scale);
    let alone = |points| EnergyCurve { points, ..both.clone() };
    let edges = Energies { turn_on: alone(on), turn_off: alone(off) };
    (both, edges)
}

/// How energies scale from where they were measured.
pub(crate) struct Scale {
    pub(crate) voltage: f64,
    pub(crate) junction: f64,
    pub(crate) voltage_exponent: Stated,
    pub(crate) current_exponent: Stated,
    pub(crate) growth: Stated,
}

/// A plain number that is written, or a default.
pub(crate) fn plain(
    build: &Build<'_>,
    written: Option<&Located<f64>>,
    near: NodeId,
    assumption: &'static Assumption,
) -> Stated {
    match written {
        Some(written) => Stated { value: written.value, origin: build.written(written.at) },
        None => assumed(assumption, near),
    }
}

/// Currents with the energy of one event of each kind, added up.
pub(crate) fn paired(
    current: &Points<Current>,
    energy: &Points<Energy>,
    more: Option<&Points<Energy>>,
) -> Vec<(Current, Energy)> {
    let more = |k: usize| more.and_then(|more| more.get(k)).map_or(Energy::ZERO, |energy| energy.value);
    current.iter().zip(energy.iter()).enumerate().map(|(k, (i, e))| (i.value, e.value + more(k))).collect()
}

/// Energies over current, with how they scale.
pub(crate) fn energy_curve(
    build: &mut Build<'_>,
    path: String,
    at: NodeId,
    events: Vec<(Current, Energy)>,
    scale: Scale,
) -> EnergyCurve {
    let origin = build.written(at);
    let mut number =
        |name: &str, dimension, stated| build.tables.input(format!("{path}.{name}"), dimension, stated);
    let scaled_by = EnergyScale {
        voltage_exponent: number("voltage_exponent", Dimension::Ratio, scale.voltage_exponent),
        per_kelvin: number("temperature_coefficient", Dimension::PerKelvin, scale.growth),
        // A curve of several currents needs no exponent.
        current_exponent: (events.len() == 1)
            .then(|| number("current_exponent", Dimension::Ratio, scale.current_exponent)),
    };
    EnergyCurve {
        id: build.tables.curve(path, origin),
        voltage: scale.voltage,
        junction: scale.junction,
        points: events,
        scale: Some(scaled_by),
    }
}

/// In place of energies that are not stated.
pub(crate) fn no_energy(build: &mut Build<'_>, sheet: &Sheet<'_>, path: String) -> EnergyCurve {
    EnergyCurve {
        id: build.tables.curve(path, sheet.absent()),
        voltage: f64::NAN,
        junction: f64::NAN,
        points: Vec::new(),
        scale: None,
    }
}
