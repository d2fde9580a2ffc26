//! Contactors that do not open: what stays live, and which pre-charge no longer comes first.

use loadworthy_physics::stored_energy::{HARMLESS, held_up};
use loadworthy_physics::{Power, Resistance, Voltage};
use loadworthy_unit::plan::{ActiveDischarge, Circuit, Opening, Stored};
use loadworthy_unit::{Dimension, InputId, LaneId, PartId};

use super::cut::{bare, highest};
use super::found::fault;
use super::left::Bench;
use super::{Effect, Fault, Kind};
use crate::figure_text::value;

/// Every contactor between a source and its bus, and of what leads around one.
pub(super) fn all(bench: &Bench<'_>, faults: &mut Vec<Fault>) {
    let variant = bench.solved.variant;
    let plan = &variant.plan;
    for opening in plan.openings.iter().filter(|opening| opening.is_contactor) {
        let Circuit::Source(source) = opening.of else { continue };
        let Some(bus) = plan.sources[source].bus else { continue };
        let part = variant.tables.part_of(plan.conductors[opening.conductor].part);
        let effect = Welded { bench, opening, source, bus }.effect();
        faults.push(fault(Kind::ContactorWelded, &part.path, part.at, effect));
    }
}

/// A contactor that does not open, with the source and the bus that it joins.
struct Welded<'a, 'u> {
    bench: &'a Bench<'u>,
    opening: &'a Opening,
    source: usize,
    bus: usize,
}

impl Welded<'_, '_> {
    fn effect(&self) -> Effect {
        let mut effect = Effect::default();
        let plan = &self.bench.solved.variant.plan;
        let [source, bus] = self.names();
        match self.other() {
            Some(other) => {
                let other = self.conductor(other);
                effect.says.push(format!("{other} alone still parts {source} from {bus}"));
                if self.opening.around.is_some() {
                    effect.says.push(format!("{other} closing charges {bus} before anything asks for it"));
                } else if plan.openings.iter().any(|one| one.around == Some(self.opening.conductor)) {
                    let amps = bare(self.bench, self.source, self.bus);
                    let amps = amps.map_or_else(String::new, |amps| format!(", up to {amps}"));
                    effect.says.push(format!(
                        "its pre-charge is bypassed: {other} closing charges the bank of {bus} through nothing but {source} and its line{amps}"
                    ));
                }
            }
            None if self.opening.around.is_some() => self.through_precharge(&mut effect),
            None => {
                let volts = highest(self.bench, self.source);
                let volts = volts.map_or_else(String::new, |volts| {
                    format!(", up to {}", value(volts, Dimension::Voltage))
                });
                effect.says.push(format!(
                    "nothing else is described that parts {source} from {bus}: it stays live{volts}"
                ));
                effect.is_hazard = self.hurts();
                for stored in self.discharges() {
                    let name = self.bus_name(stored.bus);
                    effect
                        .discharge
                        .push(format!("{name}: {source} keeps it up; its discharge works against {source}"));
                }
            }
        }
        effect
    }

    fn hurts(&self) -> bool {
        highest(self.bench, self.source).is_none_or(|volts| HARMLESS.si() < volts)
    }

    fn names(&self) -> [&str; 2] {
        let plan = &self.bench.solved.variant.plan;
        [plan.sources[self.source].part, plan.buses[self.bus].part]
            .map(|part| self.bench.solved.variant.path(part))
    }

    fn bus_name(&self, bus: usize) -> &str {
        self.bench.solved.variant.path(self.bench.solved.variant.plan.buses[bus].part)
    }

    fn conductor(&self, conductor: usize) -> &str {
        self.bench.solved.variant.path(self.bench.solved.variant.plan.conductors[conductor].part)
    }

    /// Another contactor in series that still opens the circuit.
    fn other(&self) -> Option<usize> {
        let main = self.opening.around.unwrap_or(self.opening.conductor);
        let mut all = self.bench.solved.variant.plan.openings.iter();
        let is_other = |one: &&Opening| {
            one.is_contactor && one.around.is_none() && one.of == self.opening.of && one.conductor != main
        };
        all.find(is_other).map(|one| one.conductor)
    }

    /// Discharges of the bus, and of those that it feeds through the diodes of a boost.
    fn discharges(&self) -> impl Iterator<Item = &Stored> {
        let all = &self.bench.solved.variant.plan.stored;
        let feeds = |stored: &&Stored| {
            stored.bus == self.bus || stored.followers.iter().any(|&one| all[one].bus == self.bus)
        };
        all.iter().filter(|stored| stored.resistor.is_some() || stored.active.is_some()).filter(feeds)
    }

    /// What stays on the bus through the resistor of the pre-charge.
    fn through_precharge(&self, effect: &mut Effect) {
        let [source, bus] = self.names();
        let plan = &self.bench.solved.variant.plan;
        let branch = plan.conductors[self.opening.conductor].branch;
        effect.says.push(format!(
            "nothing else is described that parts {source} from {bus}: it stays live through {}",
            self.bench.solved.variant.path(branch)
        ));
        effect.is_hazard = self.hurts();
        let input = |input: InputId| self.bench.solved.input(input, LaneId::new(0));
        let on_branch = plan.conductors.iter().filter(|one| one.branch == branch);
        let ohms = on_branch.map(|one| input(one.resistance)).sum::<Option<f64>>();
        let (Some(volts), Some(ohms)) = (highest(self.bench, self.source), ohms) else { return };
        for stored in self.discharges() {
            let left = |siemens: Option<f64>, watts: Option<f64>| {
                let held =
                    held_up(Voltage::new(volts), Resistance::new(ohms), siemens?, Power::new(watts?)).si();
                held.is_finite().then_some(held)
            };
            let said = |held: f64| value(held, Dimension::Voltage);
            let resistor = stored.resistor.map_or(Some(0.0), |(ohms, _)| Some(1.0 / input(ohms)?));
            let name = self.bus_name(stored.bus);
            let passive = left(resistor, Some(0.0)).filter(|_| stored.resistor.is_some());
            effect
                .discharge
                .extend(passive.map(|held| format!("{name}: its resistor alone leaves {}", said(held))));
            let Some(active) = stored.active else { continue };
            let held = match active {
                ActiveDischarge::Power(watts) => left(resistor, input(watts)),
                ActiveDischarge::Resistance(ohms) => {
                    left(resistor.and_then(|siemens| Some(siemens + 1.0 / input(ohms)?)), Some(0.0))
                }
            };
            let Some(held) = held else { continue };
            let watts = (volts - held) * (volts - held) / ohms;
            let leaves = if held <= HARMLESS.si() {
                "brings it down".to_owned()
            } else {
                format!("leaves {}", said(held))
            };
            effect.discharge.push(format!(
                "{name}: its active discharge {leaves} for as long as it acts, and {} in that branch{}",
                value(watts, Dimension::Power),
                burdened(self.bench, branch, watts)
            ));
            effect.is_open |= rated(self.bench, branch).is_none();
        }
    }
}

/// Energy that the resistor of a pre-charge stands in one pulse.
fn rated(bench: &Bench<'_>, branch: PartId) -> Option<f64> {
    let all = &bench.solved.variant.plan.precharges;
    let own = all.iter().find(|one| one.part == branch)?;
    bench.solved.input(own.rated_energy, LaneId::new(0))
}

/// How long the resistor of a pre-charge stands a power, in words. What it stands for good it does not state.
pub(super) fn burdened(bench: &Bench<'_>, branch: PartId, watts: f64) -> String {
    match rated(bench, branch) {
        Some(joules) => format!(
            ": in {} its resistor takes the {} that it stands in one pulse",
            value(joules / watts, Dimension::Time),
            value(joules, Dimension::Energy)
        ),
        None => {
            ": how hot that makes its resistor is not reckoned, since the energy that it stands is not stated"
                .to_owned()
        }
    }
}
