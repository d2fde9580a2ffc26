//! Currents, voltages and power at the terminals of a bridge, from what the duty point asks of its shaft, its phases or its power.

use loadworthy_physics::{Current, Power, Voltage, machine, phase_current};

use crate::plan::{Bridge, MachineConstants, Stage};
use crate::solver::laws;
use crate::solver::pass::Pass;
use crate::solver::shaft::{self, Shaft};
use crate::trace::{Operand, Trace};

/// What is asked of a bridge, and the voltage of its bus.
pub(super) struct Asked<const L: usize> {
    pub(super) crest: [i8; L],
    pub(super) active: [f64; L],
    pub(super) frequency: [f64; L],
    pub(super) voltage: [f64; L],
    shaft: Option<Shaft<L>>,
    power: [f64; L],
    phase_current: [f64; L],
    line_voltage: [f64; L],
    power_factor: [f64; L],
    resistance: [f64; L],
}

/// What is at the terminals of a bridge.
pub(super) struct Terminals<const L: usize> {
    pub(super) cos_phi: [f64; L],
    pub(super) line_voltage: [f64; L],
    pub(super) current: [f64; L],
    pub(super) peak: [f64; L],
}

/// In what words the first lane is asked, by which laws and operands are chosen: lanes of a block are asked alike.
enum Way<'b> {
    Rests,
    Shaft(&'b MachineConstants),
    Stands,
    Turns,
}

impl<const L: usize> Asked<L> {
    pub(super) fn of<T: Trace>(
        stage: &Stage,
        bridge: &Bridge,
        crest: &[i8; L],
        pass: &mut Pass<'_, L, T>,
    ) -> Self {
        let inputs = &bridge.inputs;
        // A lane holds the rotors of the machines that stand still; the others turn on.
        let frequency = shaft::frequency(bridge, pass);
        let voltage = pass.figure(stage.ports[0].voltage);
        Self {
            crest: core::array::from_fn(|l| if frequency[l] <= 0.0 { crest[l] } else { 0 }),
            active: pass.input(inputs.active),
            frequency,
            voltage,
            power: pass.input(inputs.power),
            phase_current: pass.input(inputs.phase_current),
            line_voltage: pass.input(inputs.line_voltage),
            power_factor: pass.input(inputs.power_factor),
            resistance: pass.input(inputs.phase_resistance),
            shaft: shaft::terminals(stage, bridge, &voltage, pass),
        }
    }

    pub(super) fn terminals<T: Trace>(&self, bridge: &Bridge, pass: &mut Pass<'_, L, T>) -> Terminals<L> {
        let figures = &bridge.figures;
        let cos_phi = self.power_factor(bridge, pass);
        let line_voltage = self.line_voltage(bridge, pass);
        let current = self.current(bridge, (&cos_phi, &line_voltage), pass);
        let from: &[Operand] = &[figures.phase_current.into()];
        let peak = pass.put(figures.phase_current_peak, &laws::CREST, from, |l| 2f64.sqrt() * current[l]);
        let from: &[Operand] =
            &[figures.line_voltage.into(), figures.phase_current.into(), figures.power_factor.into()];
        pass.put(figures.output_power, &phase_current::ACTIVE_POWER, from, |l| {
            let (volts, amps) = (Voltage::new(line_voltage[l]), Current::new(current[l]));
            phase_current::active_power(volts, amps, cos_phi[l]).si()
        });
        Terminals { cos_phi, line_voltage, current, peak }
    }

    fn way<'b>(&self, bridge: &'b Bridge) -> Way<'b> {
        let by_shaft = self.shaft.as_ref().is_some_and(|shaft| shaft.is_asked[0]);
        match &bridge.inputs.constants {
            _ if self.active[0] < 0.5 => Way::Rests,
            Some(constants) if by_shaft => Way::Shaft(constants),
            _ if self.crest[0] != 0 => Way::Stands,
            _ => Way::Turns,
        }
    }

    /// What the shaft of a lane asks, where a shaft is asked in it.
    fn shaft(&self, l: usize) -> Option<&Shaft<L>> {
        self.shaft.as_ref().filter(|shaft| shaft.is_asked[l])
    }

    /// Zero; not a number in a lane that neither turns nor stands, of which no frequency is known.
    fn known(&self, l: usize) -> f64 {
        0.0 * self.frequency[l]
    }

    fn power_factor<T: Trace>(&self, bridge: &Bridge, pass: &mut Pass<'_, L, T>) -> [f64; L] {
        let (inputs, figures) = (&bridge.inputs, &bridge.figures);
        let by_power = self.phase_current[0].is_nan();
        let (law, from): (_, &[Operand]) = match self.way(bridge) {
            Way::Rests => (&laws::RESTING, &[]),
            Way::Shaft(constants) => {
                (&laws::SHAFT_POWER_FACTOR, &[constants.d_current.into(), constants.q_current.into()])
            }
            Way::Stands => (&laws::STANDING_POWER_FACTOR, &[]),
            Way::Turns if by_power => {
                (&laws::SIGNED_POWER_FACTOR, &[inputs.power_factor.into(), inputs.power.into()])
            }
            Way::Turns => (&laws::STATED, &[inputs.power_factor.into()]),
        };
        pass.put(figures.power_factor, law, from, |l| {
            if self.active[l] < 0.5 {
                0.0
            } else if let Some(shaft) = self.shaft(l) {
                shaft.power_factor[l]
            } else if self.crest[l] != 0 {
                1.0
            } else if self.phase_current[l].is_nan() {
                self.power_factor[l].abs().copysign(self.power[l]) + 0.0 * self.power[l]
            } else {
                self.power_factor[l]
            }
        })
    }

    fn line_voltage<T: Trace>(&self, bridge: &Bridge, pass: &mut Pass<'_, L, T>) -> [f64; L] {
        let (inputs, figures) = (&bridge.inputs, &bridge.figures);
        let is_unmeasured = self.line_voltage[0].is_nan();
        let (law, from): (_, &[Operand]) = match self.way(bridge) {
            Way::Rests => (&laws::RESTING, &[]),
            Way::Shaft(constants) => (
                &machine::VOLTAGE,
                &[constants.d_current.into(), constants.q_current.into(), figures.frequency.into()],
            ),
            Way::Stands if is_unmeasured => {
                (&laws::STANDING_VOLTAGE, &[inputs.phase_resistance.into(), inputs.phase_current.into()])
            }
            Way::Stands | Way::Turns => (&laws::STATED, &[inputs.line_voltage.into()]),
        };
        pass.put(figures.line_voltage, law, from, |l| {
            if self.active[l] < 0.5 {
                0.0
            } else if let Some(shaft) = self.shaft(l) {
                shaft.line_voltage[l]
            } else if self.crest[l] != 0 && self.line_voltage[l].is_nan() {
                3f64.sqrt() * self.resistance[l] * self.phase_current[l]
            } else {
                self.line_voltage[l]
            }
        })
    }

    fn current<T: Trace>(
        &self,
        bridge: &Bridge,
        (cos_phi, line_voltage): (&[f64; L], &[f64; L]),
        pass: &mut Pass<'_, L, T>,
    ) -> [f64; L] {
        let (inputs, figures) = (&bridge.inputs, &bridge.figures);
        let by_power = self.phase_current[0].is_nan();
        let (law, from): (_, &[Operand]) = match self.way(bridge) {
            Way::Rests => (&laws::RESTING, &[]),
            Way::Shaft(constants) => {
                (&laws::SHAFT_CURRENT, &[constants.d_current.into(), constants.q_current.into()])
            }
            Way::Stands | Way::Turns if by_power => (
                &phase_current::PHASE_CURRENT,
                &[
                    inputs.power.into(),
                    figures.line_voltage.into(),
                    figures.power_factor.into(),
                    figures.frequency.into(),
                ],
            ),
            Way::Stands | Way::Turns => {
                (&laws::STATED, &[inputs.phase_current.into(), figures.frequency.into()])
            }
        };
        pass.put(figures.phase_current, law, from, |l| {
            if self.active[l] < 0.5 {
                0.0
            } else if let Some(shaft) = self.shaft(l) {
                shaft.phase_current[l] + self.known(l)
            } else if self.phase_current[l].is_nan() {
                let (watts, volts) = (Power::new(self.power[l]), Voltage::new(line_voltage[l]));
                phase_current::phase_current(watts, volts, cos_phi[l]).si() + self.known(l)
            } else {
                self.phase_current[l] + self.known(l)
            }
        })
    }
}
