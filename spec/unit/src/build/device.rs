//! Data-sheet figures of a device as curves and inputs, once for all positions that it is fitted to.

use std::collections::BTreeMap;

use loadworthy_language::SectionEntry;
use loadworthy_language::defaults;
use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_language::sections::devices::{
    Circuit, Device, Diode, FosterElement, OnState, RatedCurrent, Transistor,
};
use loadworthy_physics::{Resistance, ThermalResistance, Time, Voltage};
use loadworthy_source::{Located, NodeId};

use crate::build::energy::{Scale, energy_curve, no_energy, paired, plain, transistor_energy};
use crate::build::{Build, assumed, broken, spread};
use crate::device::{ConductionCurve, ConductionCurves, ConductionForm, EnergyCurve};
use crate::ids::InputId;
use crate::origin::Origin;
use crate::plan::{ChipInputs, ChipKind, Energies, SharingInputs};
use crate::table::Stated;

/// Devices that were resolved already, by name.
#[derive(Default)]
pub(crate) struct Devices(BTreeMap<String, ResolvedDevice>);

/// A device as positions use it.
#[derive(Clone)]
pub(crate) struct ResolvedDevice {
    pub(crate) circuit: Circuit,
    pub(crate) faces: usize,
    /// What switches in it; nothing where that is not known.
    pub(crate) switch: Option<Switch>,
    /// Where that would be stated, and its origin where it is not.
    pub(crate) switch_kind: (String, Origin),
    /// Output capacitance of the transistor and its path; of use where a leg switches softly.
    pub(crate) output_capacitance: (String, Stated),
    /// Blocking voltage of the transistor, of a diode alone that of the diode, and its path.
    pub(crate) blocking: (String, Stated),
    /// The transistor, then the diode beside an IGBT.
    pub(crate) chips: Vec<ResolvedChip>,
    /// The body diode of a MOSFET.
    pub(crate) body: Option<(ConductionCurves, EnergyCurve)>,
}

/// What switches in a device.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Switch {
    Igbt,
    Mosfet,
    /// A diode alone, which nothing switches.
    Diode,
}

impl ResolvedDevice {
    pub(crate) fn is_diode(&self) -> bool {
        self.switch == Some(Switch::Diode)
    }
}

/// A chip as positions use it.
#[derive(Clone)]
pub(crate) struct ResolvedChip {
    pub(crate) kind: ChipKind,
    pub(crate) conduction: ConductionCurves,
    pub(crate) energy: EnergyCurve,
    pub(crate) edges: Option<Energies>,
    pub(crate) foster: Vec<(ThermalResistance, Time)>,
    pub(crate) inputs: ChipInputs,
    pub(crate) sharing: SharingInputs,
}

impl Devices {
    /// The device of that name, resolved at its first use.
    pub(crate) fn get(&mut self, build: &mut Build<'_>, name: &str, fitted_at: NodeId) -> ResolvedDevice {
        if let Some(device) = self.0.get(name) {
            return device.clone();
        }
        let device = match build.description.devices.get(name) {
            Some(entry) => resolve(build, name, entry),
            None => unknown(build, format!("devices.{name}"), fitted_at, Some(fitted_at)),
        };
        self.0.insert(name.to_owned(), device.clone());
        device
    }

    /// Stands at a position where no device is fitted; `path` is where it would be named.
    pub(crate) fn none(build: &mut Build<'_>, path: String, stage_at: NodeId) -> ResolvedDevice {
        unknown(build, path, stage_at, None)
    }
}

/// What is said of one device, or why nothing is.
pub(crate) struct Sheet<'d> {
    pub(crate) path: String,
    pub(crate) at: NodeId,
    /// The node of the broken entry, where it could not be read.
    broken: Option<NodeId>,
    pub(crate) transistor: Option<&'d Transistor>,
    pub(crate) diode: Option<&'d Diode>,
}

impl Sheet<'_> {
    /// The origin of what is not there.
    pub(crate) fn absent(&self) -> Origin {
        self.broken.map_or(Origin::Absent { near: Some(self.at) }, Origin::Broken)
    }

    pub(crate) fn number<T>(
        &self,
        build: &Build<'_>,
        given: Option<&Given<T>>,
        si: impl Fn(&T) -> f64,
    ) -> Stated {
        match (given, self.broken) {
            (None, Some(at)) => broken(at),
            _ => build.stated(given, Some(self.at), si),
        }
    }
}

fn unknown(build: &mut Build<'_>, path: String, at: NodeId, broken: Option<NodeId>) -> ResolvedDevice {
    let sheet = Sheet { path, at, broken, transistor: None, diode: None };
    ResolvedDevice {
        circuit: Circuit::Single,
        faces: 1,
        switch: None,
        switch_kind: (format!("{}.transistor.kind", sheet.path), sheet.absent()),
        output_capacitance: output_capacitance(build, &sheet),
        blocking: blocking(build, &sheet),
        chips: igbt_chips(build, &sheet),
        body: None,
    }
}

fn resolve(build: &mut Build<'_>, name: &str, entry: &SectionEntry<Device>) -> ResolvedDevice {
    let Some(device) = entry.read() else {
        return unknown(build, format!("devices.{name}"), entry.value, Some(entry.value));
    };
    let sheet = Sheet {
        path: format!("devices.{name}"),
        at: entry.key,
        broken: None,
        transistor: device.transistor.as_ref(),
        diode: device.diode.as_ref(),
    };
    let package = device.package.as_ref();
    let circuit = package.and_then(|package| package.circuit.as_ref()).map(|circuit| circuit.value);
    let faces = package.and_then(|package| package.cooled_faces.as_ref()).map(|faces| faces.value);
    let mut takes = |key: &str, assumption| {
        let stated = assumed(assumption, entry.key);
        build.tables.input(format!("devices.{name}.package.{key}"), Dimension::Ratio, stated);
    };
    // Both shape the plan; what nobody states is an input all the same, so that it is told.
    if circuit.is_none() {
        takes("circuit", &defaults::PACKAGE_CIRCUIT);
    }
    if faces.is_none() {
        takes("cooled_faces", &defaults::COOLED_FACES);
    }
    let circuit = circuit.unwrap_or(Circuit::Single);
    let faces = usize::from(faces.unwrap_or(1));
    let switch = match (sheet.transistor, sheet.diode) {
        (Some(Transistor::Mosfet(_)), _) => Some(Switch::Mosfet),
        (Some(Transistor::Igbt(_)), _) => Some(Switch::Igbt),
        (None, Some(_)) => Some(Switch::Diode),
        (None, None) => None,
    };
    let (chips, body) = if switch == Some(Switch::Mosfet) {
        let chip = mosfet_chip(build, &sheet);
        let (mut conduction, energy, curves) = diode_parts(build, &sheet);
        if let Some(Transistor::Mosfet(mosfet)) = sheet.transistor {
            let limit = mosfet.junction_limit.as_ref().map_or(f64::NAN, |limit| limit.in_celsius());
            conduction.at_limit = at_limit(&curves, limit, mosfet.current.as_ref());
        }
        (vec![chip], Some((conduction, energy)))
    } else if switch == Some(Switch::Diode) {
        (vec![diode_chip(build, &sheet, f64::NAN)], None)
    } else {
        (igbt_chips(build, &sheet), None)
    };
    let output_capacitance = output_capacitance(build, &sheet);
    let blocking = blocking(build, &sheet);
    let faces = faces.clamp(1, 2);
    let switch_kind = (format!("{}.transistor.kind", sheet.path), sheet.absent());
    ResolvedDevice { circuit, faces, switch, switch_kind, output_capacitance, blocking, chips, body }
}

/// What a device blocks; the diode of a package blocks what its transistor does.
fn blocking(build: &Build<'_>, sheet: &Sheet<'_>) -> (String, Stated) {
    let (chip, given) = match sheet.transistor {
        Some(Transistor::Igbt(igbt)) => ("transistor", igbt.blocking_voltage.as_ref()),
        Some(Transistor::Mosfet(mosfet)) => ("transistor", mosfet.blocking_voltage.as_ref()),
        None if sheet.diode.is_some() => {
            ("diode", sheet.diode.and_then(|diode| diode.blocking_voltage.as_ref()))
        }
        None => ("transistor", None),
    };
    (format!("{}.{chip}.blocking_voltage", sheet.path), sheet.number(build, given, |volts| volts.si()))
}

/// Output capacitance of a device; one that states none is taken to switch softly.
fn output_capacitance(build: &Build<'_>, sheet: &Sheet<'_>) -> (String, Stated) {
    let given = match sheet.transistor {
        Some(Transistor::Mosfet(mosfet)) => mosfet.output_capacitance.as_ref(),
        _ => None,
    };
    let stated = match sheet.transistor {
        Some(_) => build.stated_or(given, sheet.at, &defaults::OUTPUT_CAPACITANCE, |c| c.si()),
        None => Stated { value: f64::NAN, origin: sheet.absent() },
    };
    (format!("{}.transistor.output_capacitance", sheet.path), stated)
}

fn igbt_chips(build: &mut Build<'_>, sheet: &Sheet<'_>) -> Vec<ResolvedChip> {
    let igbt = match sheet.transistor {
        Some(Transistor::Igbt(igbt)) => Some(igbt),
        _ => None,
    };
    let path = format!("{}.transistor", sheet.path);
    let limit = sheet.number(build, igbt.and_then(|igbt| igbt.junction_limit.as_ref()), |t| t.in_celsius());
    let rated = igbt.and_then(|igbt| igbt.current.as_ref());
    let impedance = igbt.and_then(|igbt| igbt.thermal_impedance.as_ref());
    let (foster, inputs) = chip_inputs(build, sheet, &path, limit, rated, impedance);
    let (energy, edges) =
        transistor_energy(build, sheet, igbt.and_then(|igbt| igbt.energies.as_ref()), false);
    let written = igbt.and_then(|igbt| igbt.on_state.as_deref());
    let at = written.and_then(|curves| curves.first()).map(|curve| curve.junction.at);
    let conduction =
        conduction(build, sheet, format!("{path}.on_state"), (curves_of(written), at), limit.value, rated);
    let sharing = spread::sharing(build, sheet, false);
    let kind = ChipKind::Igbt;
    let transistor = ResolvedChip { kind, conduction, energy, edges: Some(edges), foster, inputs, sharing };
    vec![transistor, diode_chip(build, sheet, limit.value)]
}

/// The diode beside an IGBT, or one alone.
fn diode_chip(build: &mut Build<'_>, sheet: &Sheet<'_>, beside: f64) -> ResolvedChip {
    let path = format!("{}.diode", sheet.path);
    let given = sheet.diode.and_then(|diode| diode.junction_limit.as_ref());
    // A diode that states no limit of its own may get as hot as the transistor beside it.
    let diode_limit = match given {
        None if beside.is_finite() => Stated {
            value: beside,
            origin: Origin::Assumed { assumption: &defaults::DIODE_JUNCTION_LIMIT, near: sheet.at },
        },
        _ => sheet.number(build, given, |t| t.in_celsius()),
    };
    let rated = sheet.diode.and_then(|diode| diode.current.as_ref());
    let impedance = sheet.diode.and_then(|diode| diode.thermal_impedance.as_ref());
    let (foster, inputs) = chip_inputs(build, sheet, &path, diode_limit, rated, impedance);
    let (mut conduction, energy, curves) = diode_parts(build, sheet);
    conduction.at_limit = at_limit(&curves, diode_limit.value, rated);
    let sharing = spread::sharing(build, sheet, true);
    ResolvedChip { kind: ChipKind::Diode, conduction, energy, edges: None, foster, inputs, sharing }
}

fn mosfet_chip(build: &mut Build<'_>, sheet: &Sheet<'_>) -> ResolvedChip {
    let mosfet = match sheet.transistor {
        Some(Transistor::Mosfet(mosfet)) => Some(mosfet),
        _ => None,
    };
    let path = format!("{}.transistor", sheet.path);
    let limit = sheet.number(build, mosfet.and_then(|m| m.junction_limit.as_ref()), |t| t.in_celsius());
    let rated = mosfet.and_then(|m| m.current.as_ref());
    let impedance = mosfet.and_then(|m| m.thermal_impedance.as_ref());
    let (foster, inputs) = chip_inputs(build, sheet, &path, limit, rated, impedance);
    let (energy, edges) = transistor_energy(build, sheet, mosfet.and_then(|m| m.energies.as_ref()), true);
    let resistances = mosfet.and_then(|m| m.on_resistance.as_deref()).unwrap_or_default();
    let curves = resistances
        .iter()
        .map(|one| ConductionCurve {
            junction: one.junction.in_celsius(),
            form: ConductionForm::Resistance(one.resistance.si()),
        })
        .collect();
    let at = resistances.first().map(|one| one.junction.at);
    let path = format!("{path}.on_resistance");
    let conduction = conduction(build, sheet, path, (curves, at), limit.value, rated);
    let sharing = spread::sharing(build, sheet, false);
    ResolvedChip { kind: ChipKind::Mosfet, conduction, energy, edges: Some(edges), foster, inputs, sharing }
}

fn diode_parts(
    build: &mut Build<'_>,
    sheet: &Sheet<'_>,
) -> (ConductionCurves, EnergyCurve, Vec<ConductionCurve>) {
    let path = format!("{}.diode", sheet.path);
    let written = sheet.diode.and_then(|diode| diode.on_state.as_deref());
    let at = written.and_then(|curves| curves.first()).map(|curve| curve.junction.at);
    let curves = curves_of(written);
    let conduction =
        conduction(build, sheet, format!("{path}.on_state"), (curves.clone(), at), f64::NAN, None);
    let written = sheet.diode.and_then(|diode| diode.energies.as_ref());
    let path = format!("{path}.energies");
    let energy = match written {
        None => no_energy(build, sheet, path),
        Some(energies) => {
            let voltage_exponent =
                plain(build, energies.voltage_exponent.as_ref(), sheet.at, &defaults::VOLTAGE_EXPONENT_DIODE);
            let current_exponent =
                plain(build, energies.current_exponent.as_ref(), sheet.at, &defaults::CURRENT_EXPONENT_DIODE);
            let growth = build.stated_or(
                energies.temperature_coefficient.as_ref(),
                sheet.at,
                &defaults::TEMPERATURE_COEFFICIENT_DIODE,
                |c| c.value(),
            );
            let events = paired(&energies.current, &energies.recovery, None);
            let scale = Scale {
                voltage: energies.voltage.si(),
                junction: energies.junction.in_celsius(),
                voltage_exponent,
                current_exponent,
                growth,
            };
            energy_curve(build, path, energies.recovery.at, events, scale)
        }
    };
    (conduction, energy, curves)
}

/// Inputs of a chip and the elements of its thermal impedance.
fn chip_inputs(
    build: &mut Build<'_>,
    sheet: &Sheet<'_>,
    path: &str,
    limit: Stated,
    rated: Option<&RatedCurrent>,
    impedance: Option<&Located<Vec<FosterElement>>>,
) -> (Vec<(ThermalResistance, Time)>, ChipInputs) {
    let foster: Vec<_> = impedance
        .iter()
        .flat_map(|list| &list.value)
        .map(|FosterElement(r, tau)| (r.value, tau.value))
        .collect();
    let junction_to_case = match impedance {
        Some(list) if !foster.is_empty() => {
            Stated { value: foster.iter().map(|(r, _)| r.si()).sum(), origin: build.written(list.at) }
        }
        _ => Stated { value: f64::NAN, origin: sheet.absent() },
    };
    let continuous = sheet.number(build, rated.and_then(|r| r.continuous.as_ref()), |a| a.si());
    let at_case = sheet.number(build, rated.and_then(|r| r.at_case.as_ref()), |t| t.in_celsius());
    let peak = sheet.number(build, rated.and_then(|r| r.repetitive_peak.as_ref()), |a| a.si());
    let mut input = |name: &str, dimension, stated| -> InputId {
        build.tables.input(format!("{path}.{name}"), dimension, stated)
    };
    let inputs = ChipInputs {
        junction_to_case: input("thermal_impedance", Dimension::ThermalResistance, junction_to_case),
        junction_limit: input("junction_limit", Dimension::Temperature, limit),
        continuous: input("current.continuous", Dimension::Current, continuous),
        at_case: input("current.at_case", Dimension::Temperature, at_case),
        repetitive_peak: input("current.repetitive_peak", Dimension::Current, peak),
    };
    (foster, inputs)
}

fn curves_of(written: Option<&[OnState]>) -> Vec<ConductionCurve> {
    let curve = |one: &OnState| ConductionCurve {
        junction: one.junction.in_celsius(),
        form: ConductionForm::Points(
            one.current.iter().zip(one.voltage.iter()).map(|(i, v)| (i.si(), v.si())).collect(),
        ),
    };
    written.unwrap_or_default().iter().map(curve).collect()
}

fn conduction(
    build: &mut Build<'_>,
    sheet: &Sheet<'_>,
    path: String,
    (mut curves, at): (Vec<ConductionCurve>, Option<NodeId>),
    limit: f64,
    rated: Option<&RatedCurrent>,
) -> ConductionCurves {
    curves.sort_by(|a, b| a.junction.total_cmp(&b.junction));
    let origin = at.map_or(sheet.absent(), |at| build.written(at));
    let at_limit = at_limit(&curves, limit, rated);
    if curves.len() == 1 {
        let constant = assumed(&defaults::ON_STATE_SLOPE, sheet.at);
        build.tables.input(format!("{path}.per_kelvin"), Dimension::PerKelvin, constant);
    }
    ConductionCurves { id: build.tables.curve(path, origin), curves, at_limit }
}

/// The on-state line at the junction limit around the rated current.
fn at_limit(curves: &[ConductionCurve], limit: f64, rated: Option<&RatedCurrent>) -> (Voltage, Resistance) {
    let rated = rated.and_then(|rated| rated.continuous.as_ref()).map_or(f64::NAN, |current| current.si());
    let at = |curve: &ConductionCurve| curve.line(rated);
    let (knee, slope) = match curves {
        [] => (f64::NAN, f64::NAN),
        [only] => at(only),
        [.., cool, hot] => {
            let (cold_line, hot_line) = (at(cool), at(hot));
            let share = (limit - cool.junction) / (hot.junction - cool.junction);
            let between = |cold: f64, warm: f64| cold + share * (warm - cold);
            (between(cold_line.0, hot_line.0), between(cold_line.1, hot_line.1))
        }
    };
    (Voltage::new(knee), Resistance::new(slope))
}
