//! Two drivers of which each suits the gates of the other, and not its own.
//!
//! What does not suit is told by other entries: the barrier that lists a driver, what the devices at its gates are stated for and
//! stand, and what the outputs give that feed them.

use std::collections::BTreeMap;

use loadworthy_language::quantity::Given;
use loadworthy_language::sections::devices::{Gate as Sheet, Transistor};
use loadworthy_language::sections::drivers::Driver;
use loadworthy_language::sections::gate_supplies::GateSupply;
use loadworthy_language::sections::stages::Stage;
use loadworthy_physics::gates::{other_resistor, supply_power};
use loadworthy_physics::{Resistance, Voltage};

use crate::build::Build;
use crate::build::gates::gates;
use crate::build::isolation::{bus_of, domain_of};
use crate::plan::{DriverMisfit, ExchangedDrivers};

/// A position with a gate: its stage in the plan, and its place in the stage.
type Gate = (usize, usize);

/// Notes drivers that were exchanged; each with one other at most.
pub(crate) fn note(build: &mut Build<'_>) {
    let beside = Beside::of(build);
    // What suits its own gates was not exchanged, whatever else it would suit.
    let strange: Vec<usize> =
        beside.gates.keys().copied().filter(|&one| !beside.misfits(one, one).is_empty()).collect();
    let mut found: Vec<ExchangedDrivers> = Vec::new();
    for (place, &one) in strange.iter().enumerate() {
        let is_free = |other: &usize| !found.iter().any(|known| known.places.contains(other));
        let suits = |other: &&usize| {
            beside.misfits(one, **other).is_empty() && beside.misfits(**other, one).is_empty()
        };
        let other = strange[place + 1..].iter().filter(|other| is_free(other)).find(suits);
        if let Some(&other) = other.filter(|_| is_free(&one)) {
            let misfits = [beside.misfits(one, one), beside.misfits(other, other)];
            let names = [one, other].map(|one| beside.name(one).to_owned());
            found.push(ExchangedDrivers { places: [one, other], names, misfits });
        }
    }
    build.plan.exchanged_drivers = found;
}

/// What else is stated of drivers.
struct Beside<'b, 'd> {
    build: &'b Build<'d>,
    /// The gates of each driver that drives some alone, by its place in the section.
    gates: BTreeMap<usize, Vec<Gate>>,
    /// The output that alone feeds each gate.
    fed: BTreeMap<Gate, usize>,
}

impl<'b, 'd> Beside<'b, 'd> {
    fn of(build: &'b Build<'d>) -> Self {
        let named = gates(build);
        let mut all: BTreeMap<usize, Vec<Gate>> = BTreeMap::new();
        for (place, (_, entry)) in build.description.drivers.iter().enumerate() {
            let drives = entry.read().and_then(|driver| driver.drives.as_ref());
            let names = drives.iter().flat_map(|drives| &drives.value);
            let own: Vec<Gate> =
                names.filter_map(|name| named.get(name.value.as_str())).flatten().copied().collect();
            if !own.is_empty() {
                all.insert(place, own);
            }
        }
        let mut drives: BTreeMap<Gate, usize> = BTreeMap::new();
        all.values().flatten().for_each(|&gate| *drives.entry(gate).or_default() += 1);
        all.retain(|_, own| own.iter().all(|gate| drives[gate] == 1));
        let mut fed = BTreeMap::new();
        for (output, supply) in build.plan.gate_supplies.iter().enumerate() {
            fed.extend(supply.alone().map(|gate| (gate, output)));
        }
        Self { build, gates: all, fed }
    }

    fn written(&self, driver: usize) -> Option<(&'b str, &'b Driver)> {
        let (name, entry) = self.build.description.drivers.get_index(driver)?;
        Some((name.as_str(), entry.read()?))
    }

    fn name(&self, driver: usize) -> &'b str {
        self.written(driver).map_or("", |(name, _)| name)
    }

    /// What speaks against a driver at the gates of another one, or at its own.
    fn misfits(&self, driver: usize, at: usize) -> Vec<DriverMisfit> {
        let (Some((name, written)), Some(gates)) = (self.written(driver), self.gates.get(&at)) else {
            return Vec::new();
        };
        let mut found = Vec::new();
        if self.passes_another_barrier(name, written, gates) {
            found.push(DriverMisfit::Barrier);
        }
        let mut note = |misfit, is_it: &dyn Fn(&Driven<'_>) -> Option<bool>| {
            let is_any = gates.iter().any(|&gate| is_it(&self.driven(gate)) == Some(true));
            found.extend(is_any.then_some(misfit));
        };
        note(DriverMisfit::LockOut, &|gate| gate.is_locked_out_by(written));
        note(DriverMisfit::Resistors, &|gate| gate.is_behind_others(written));
        note(DriverMisfit::Current, &|gate| gate.takes_more_than(written));
        note(DriverMisfit::Response, &|gate| gate.outlasts(written));
        found
    }

    /// What is known of a gate.
    fn driven(&self, (stage, place): Gate) -> Driven<'b> {
        let of = &self.build.plan.stages[stage];
        let seat = &of.seats[of.positions[place].seat];
        let device = seat.fitted.as_ref().and_then(|name| self.build.description.devices.entry(name));
        let (sheet, energies, withstand) = match device.and_then(|device| device.transistor.as_ref()) {
            Some(Transistor::Igbt(one)) => {
                (one.gate.as_ref(), one.energies.as_ref(), one.short_circuit_withstand.as_ref())
            }
            Some(Transistor::Mosfet(one)) => {
                (one.gate.as_ref(), one.energies.as_ref(), one.short_circuit_withstand.as_ref())
            }
            None => (None, None, None),
        };
        let parallel = self.build.tables.input_of(seat.parallel).values.first();
        let output = self.fed.get(&(stage, place)).copied();
        let output = output.and_then(|output| self.build.description.gate_supplies.get_index(output));
        Driven {
            sheet,
            measured_with: energies.and_then(|energies| energies.gate_resistor.as_ref()),
            withstand: withstand.map(|given| given.si()),
            parallel: parallel.map_or(1.0, |stated| stated.value),
            output: output.and_then(|(_, entry)| entry.read()),
        }
    }

    /// Whether gates of a driver stand in another domain than their controller and none of the barriers that it passes stands
    /// between the two, or it passes some and none of its gates stands so.
    fn passes_another_barrier(&self, name: &str, written: &Driver, gates: &[Gate]) -> bool {
        let description = self.build.description;
        let barriers = description.isolation.read().and_then(|section| section.barriers.as_ref());
        let Some(barriers) = barriers else { return false };
        let passes = barriers.iter().filter(|(barrier, of)| {
            let mut listed = of.spanned_by.iter().flat_map(|names| &names.value);
            written.crosses.as_ref().is_some_and(|crosses| crosses.value == **barrier)
                || listed.any(|listed| listed.value == name)
        });
        let ends = passes.map(|(_, of)| {
            let ends = of.between.iter().flat_map(|ends| &ends.value);
            ends.map(|end| end.value.as_str()).collect::<Vec<_>>()
        });
        let ends: Vec<Vec<&str>> = ends.collect();
        let pairs: Option<Vec<(&str, &str)>> = gates
            .iter()
            .map(|&gate| Some((self.domain(gate)?, self.commanded_from(written, gate)?)))
            .collect();
        let Some(pairs) = pairs else { return false };
        let mut across = pairs.iter().filter(|(gate, from)| gate != from).peekable();
        if across.peek().is_none() {
            return !ends.is_empty();
        }
        across.any(|(gate, from)| !ends.iter().any(|ends| ends.contains(gate) && ends.contains(from)))
    }

    /// The domain that a gate stands in.
    fn domain(&self, gate: Gate) -> Option<&'b str> {
        let bus = self.build.plan.buses[bus_of(self.build, gate)?].part;
        domain_of(self.build, &self.build.tables.part_of(bus).path)
    }

    /// The domain of what commands a gate by a driver.
    fn commanded_from(&self, written: &'b Driver, (stage, _): Gate) -> Option<&'b str> {
        let description = self.build.description;
        let stage = &self.build.tables.part_of(self.build.plan.stages[stage].part).path;
        let of_stage = || description.stages.entry(stage).and_then(Stage::controller);
        let controller = written.controller.as_ref().or_else(of_stage)?;
        Some(description.controllers.entry(&controller.value)?.domain.as_ref()?.value.as_str())
    }
}

/// A gate with what feeds it.
struct Driven<'b> {
    sheet: Option<&'b Sheet>,
    measured_with: Option<&'b Given<Resistance>>,
    withstand: Option<f64>,
    parallel: f64,
    output: Option<&'b GateSupply>,
}

impl Driven<'_> {
    /// Whether the driver blocks the gate at what its output gives.
    fn is_locked_out_by(&self, driver: &Driver) -> Option<bool> {
        let (on, share) = (self.output?.on.as_ref()?.si(), self.output?.tolerance.as_ref());
        let lowest = on - share.map_or(0.0, |share| share.value()) * on.abs();
        Some(lowest < driver.undervoltage.as_ref()?.si())
    }

    /// Resistance outside of one device, as far as it counts for that.
    fn outside(&self, driver: &Driver, of: &Given<Resistance>) -> f64 {
        let is_shared = driver.resistor_for_each.as_ref().is_some_and(|each| !each.value);
        of.si() * if is_shared { self.parallel } else { 1.0 }
    }

    /// Whether the resistors are others than those that the data sheet holds at.
    fn is_behind_others(&self, driver: &Driver) -> Option<bool> {
        let (sheet, ohm) = (self.sheet?, Resistance::new);
        let inside = sheet.internal_resistance.as_ref()?.si();
        let stated = match self.measured_with {
            Some(outside) => inside + outside.si(),
            None => sheet.resistance.as_ref()?.si(),
        };
        let fitted = [&driver.turn_on_resistor, &driver.turn_off_resistor];
        let apart = fitted
            .into_iter()
            .flatten()
            .map(|of| other_resistor::apart(ohm(inside + self.outside(driver, of)), ohm(stated)));
        Some(apart.fold(1.0, f64::max) > other_resistor::NEAR)
    }

    /// Whether the gate takes a larger current than the driver gives.
    fn takes_more_than(&self, driver: &Driver) -> Option<bool> {
        let (ohm, volt) = (Resistance::new, Voltage::new);
        let swing = self.output?.on.as_ref()?.si() - self.output?.off.as_ref()?.si();
        let inside = self.sheet?.internal_resistance.as_ref()?.si();
        let fitted = [driver.turn_on_resistor.as_ref()?, driver.turn_off_resistor.as_ref()?];
        let outside = fitted.map(|of| self.outside(driver, of)).into_iter().fold(f64::INFINITY, f64::min);
        let crest = supply_power::peak_current(volt(swing), ohm(outside), ohm(inside)).si() * self.parallel;
        Some(driver.peak_current.as_ref()?.si() < crest)
    }

    /// Whether a short circuit that the driver notices lasts longer than the device stands one.
    fn outlasts(&self, driver: &Driver) -> Option<bool> {
        let (stands, short) = (self.withstand?, driver.short_circuit.as_ref()?);
        let times = [&short.blanking, &short.filter, &short.delay, &short.turn_off];
        let total = times.into_iter().map(|time| Some(time.as_ref()?.si())).sum::<Option<f64>>()?;
        Some(stands < total)
    }
}
