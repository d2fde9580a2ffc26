//! Data-sheet figures that must agree with one another.

use loadworthy_physics::{
    Capacitance, Current, Inductance, Resistance, SlewRate, Temperature, TemperatureDifference,
    ThermalResistance, Time, Voltage,
};
use loadworthy_source::{Located, Problem};

use super::credible::LEAST_OF_VOLTAGE;
use super::{Rules, Scope};
use crate::quantity::{Charge, Conductance, Given};
use crate::sections::devices::{
    Device, Diode, FosterElement, Gate, OnState, PowerCycling, RatedCurrent, RecoveryEnergy, ShortCircuitAt,
    Transistor, TransistorEnergies, TransistorSpread,
};

impl Rules for Device {
    fn check(&self, scope: &mut Scope<'_>) {
        if let Some(package) = &self.package {
            scope.above_zero("inductance", package.inductance, Inductance::si);
            scope.credible_package(package.inductance);
            if let Some(cycling) = &package.power_cycling {
                scope.at_least(2, "a power-cycling curve", &cycling.swing, "too few points");
                scope.above_zero("swing", cycling.swing.first().copied(), TemperatureDifference::si);
                scope.each_above("swing", &cycling.swing, "swings of a curve rise");
                scope.cycles(cycling);
            }
        }
        let (mut limit, mut blocks) = (None, None);
        match &self.transistor {
            Some(Transistor::Igbt(igbt)) => {
                (limit, blocks) = (igbt.junction_limit, igbt.blocking_voltage);
                scope.above_zero("blocking_voltage", igbt.blocking_voltage, Voltage::si);
                scope.credible_volts("blocking_voltage", igbt.blocking_voltage);
                scope.above_zero("current_fall_time", igbt.current_fall_time, Time::si);
                scope.above_zero("short_circuit_withstand", igbt.short_circuit_withstand, Time::si);
                scope.credible_withstand(igbt.short_circuit_withstand);
                scope.credible_limit(igbt.junction_limit);
                scope.credible_blocking(igbt.blocking_temperature_coefficient);
                scope.short_circuit_at(igbt.short_circuit_at.as_ref());
                scope.gate(igbt.gate.as_ref());
                scope.credible_gate_of(igbt.gate.as_ref(), false);
                scope.edges(igbt.gate.as_ref(), igbt.energies.as_ref());
                scope.gate_resistor(igbt.gate.as_ref(), igbt.energies.as_ref());
                scope.spread(igbt.spread.as_ref());
                scope.rated(igbt.current.as_ref(), igbt.junction_limit);
                scope.on_state(igbt.on_state.as_deref());
                scope.energies(igbt.energies.as_ref(), igbt.blocking_voltage, igbt.junction_limit);
                scope.impedance(igbt.thermal_impedance.as_ref());
            }
            Some(Transistor::Mosfet(mosfet)) => {
                (limit, blocks) = (mosfet.junction_limit, mosfet.blocking_voltage);
                scope.above_zero("blocking_voltage", mosfet.blocking_voltage, Voltage::si);
                scope.credible_volts("blocking_voltage", mosfet.blocking_voltage);
                scope.above_zero("current_fall_time", mosfet.current_fall_time, Time::si);
                scope.above_zero("short_circuit_withstand", mosfet.short_circuit_withstand, Time::si);
                scope.credible_withstand(mosfet.short_circuit_withstand);
                scope.credible_limit(mosfet.junction_limit);
                scope.credible_blocking(mosfet.blocking_temperature_coefficient);
                scope.short_circuit_at(mosfet.short_circuit_at.as_ref());
                scope.gate(mosfet.gate.as_ref());
                scope.credible_gate_of(mosfet.gate.as_ref(), true);
                scope.edges(mosfet.gate.as_ref(), mosfet.energies.as_ref());
                scope.gate_resistor(mosfet.gate.as_ref(), mosfet.energies.as_ref());
                scope.spread(mosfet.spread.as_ref());
                scope.rated(mosfet.current.as_ref(), mosfet.junction_limit);
                let points = mosfet.on_resistance.iter().flatten();
                let junctions = points.map(|point| point.junction).collect::<Vec<_>>();
                scope.distinct(&junctions);
                junctions.iter().for_each(|&junction| scope.credible_measured("junction", Some(junction)));
                scope.credible_resistances(mosfet.on_resistance.as_deref().unwrap_or_default());
                scope.credible_channel(
                    mosfet.on_resistance.as_deref().unwrap_or_default(),
                    mosfet.current.as_ref(),
                );
                scope.energies(mosfet.energies.as_ref(), mosfet.blocking_voltage, mosfet.junction_limit);
                scope.impedance(mosfet.thermal_impedance.as_ref());
            }
            None => {}
        }
        if let Some(diode) = &self.diode {
            scope.diode(diode, diode.blocking_voltage.or(blocks), diode.junction_limit.or(limit));
        }
    }
}

impl Scope<'_> {
    fn cycles(&mut self, cycling: &PowerCycling) {
        let cycles = &cycling.cycles.value;
        if cycles.len() != cycling.swing.len() {
            let (swings, found) = (cycling.swing.len(), cycles.len());
            let message = || format!("`swing` has {swings} points, and `cycles` has {found}");
            self.refuse(cycling.cycles.at, message, "one for each swing", Some("state as many of both"));
        }
        for pair in cycles.windows(2).filter(|pair| pair[1].value >= pair[0].value) {
            let message = || "fewer of a larger swing are stood".to_owned();
            self.refuse(
                pair[1].at,
                message,
                "not below the one before",
                Some("state swings from the smallest up"),
            );
        }
        if let Some(last) = cycles.last().filter(|last| last.value <= 0.0) {
            let message = || "a package stands some cycles of any swing".to_owned();
            self.refuse(last.at, message, "not above zero", Some("state how many it stands"));
        }
    }

    fn diode(&mut self, diode: &Diode, blocks: Option<Given<Voltage>>, limit: Option<Given<Temperature>>) {
        self.credible_limit(diode.junction_limit);
        self.above_zero("blocking_voltage", diode.blocking_voltage, Voltage::si);
        self.credible_volts("blocking_voltage", diode.blocking_voltage);
        self.share("on_voltage", diode.spread.as_ref().and_then(|spread| spread.on_voltage), 1.0);
        self.rated(diode.current.as_ref(), limit);
        self.on_state(diode.on_state.as_deref());
        if let Some(energies) = &diode.energies {
            self.recovery(energies, blocks, limit);
        }
        self.impedance(diode.thermal_impedance.as_ref());
    }

    fn gate(&mut self, gate: Option<&Gate>) {
        let Some(gate) = gate else { return };
        self.above_zero("charge", gate.charge, Charge::si);
        self.above_zero("threshold", gate.threshold, Voltage::si);
        self.credible_gate_volts("lowest", gate.lowest);
        self.credible_gate_volts("highest", gate.highest);
        self.not_falling(&[("drive_off", gate.off), ("threshold", gate.threshold), ("drive_on", gate.on)]);
        self.above_zero("input_capacitance", gate.input_capacitance, Capacitance::si);
        // The input capacitance holds the reverse one.
        self.not_falling(&[
            ("reverse_capacitance", gate.reverse_capacitance),
            ("input_capacitance", gate.input_capacitance),
        ]);
        self.above_zero("transconductance", gate.transconductance, Conductance::si);
        self.above_zero("edge", gate.edge, SlewRate::si);
        self.not_below_zero("internal_resistance", gate.internal_resistance, Resistance::si);
        self.not_below_zero("reverse_capacitance", gate.reverse_capacitance, Capacitance::si);
        self.not_below_zero("turn_off_delay", gate.turn_off_delay, Time::si);
        self.not_below_zero("turn_on_delay", gate.turn_on_delay, Time::si);
        self.above_zero("least_threshold", gate.least_threshold, Voltage::si);
        self.not_falling(&[("lowest", gate.lowest), ("drive_off", gate.off)]);
        self.not_falling(&[("drive_on", gate.on), ("highest", gate.highest)]);
        self.not_falling(&[("least_threshold", gate.least_threshold), ("threshold", gate.threshold)]);
        self.not_falling(&[("turn_on_delay", gate.turn_on_delay), ("turn_on_time", gate.turn_on_time)]);
        self.credible_turn_off(gate);
        self.credible_gate(gate);
    }

    /// What stands outside of a device is part of the whole resistance of its gate.
    fn gate_resistor(&mut self, gate: Option<&Gate>, energies: Option<&TransistorEnergies>) {
        let outside = energies.and_then(|energies| energies.gate_resistor);
        self.not_falling(&[
            ("gate_resistor", outside),
            ("resistance", gate.and_then(|gate| gate.resistance)),
        ]);
    }

    /// How long the steepest edge takes over the voltage of the energies: no longer than a whole turn-on, and without more
    /// loss than that.
    fn edges(&mut self, gate: Option<&Gate>, energies: Option<&TransistorEnergies>) {
        let Some((gate, energies)) = gate.zip(energies) else { return };
        let (Some(edge), volts) = (gate.edge, energies.voltage.value.si()) else { return };
        let takes = volts / edge.value.si();
        if !takes.is_finite() || takes <= 0.0 {
            return;
        }
        let said =
            || format!("the steepest `edge` takes {:.0} ns over the {volts:.0} V of `energies`", takes * 1e9);
        let (at, way_out) =
            (self.tree.span(edge.at), "`edge` is the steepest of all: correct the one or the other");
        if let Some(whole) = gate.turn_on_time.filter(|whole| whole.value.si() < takes) {
            let also = self.tree.span(whole.at);
            self.ledger.note("conflict", at, "turn_on_time", || {
                let message = format!("{}, and `turn_on_time` is over before that", said());
                Problem::new("conflict", at, message, "`edge`")
                    .with_also(also, "`turn_on_time`")
                    .with_way_out(way_out)
            });
            return;
        }
        // While the voltage falls in a straight line half of V·I is lost.
        let pairs = energies.current.iter().zip(energies.turn_on.iter());
        let mut less =
            pairs.filter(|(amps, joules)| joules.value.si() < 0.5 * volts * amps.value.si() * takes);
        if let Some((_, energy)) = less.next() {
            let also = self.tree.span(energy.at);
            self.ledger.note("conflict", at, "turn_on", || {
                let message = format!("{}, which alone loses more than `turn_on`", said());
                Problem::new("conflict", at, message, "`edge`")
                    .with_also(also, "`turn_on`, below half of voltage, current and this time")
                    .with_way_out(way_out)
            });
        }
    }

    fn short_circuit_at(&mut self, at: Option<&ShortCircuitAt>) {
        let Some(at) = at else { return };
        self.above_zero("voltage", at.voltage, Voltage::si);
        self.above_zero("drive_on", at.drive_on, Voltage::si);
        self.credible_volts("voltage", at.voltage);
        self.credible_gate_volts("drive_on", at.drive_on);
        self.credible_measured("junction", at.junction);
    }

    fn spread(&mut self, spread: Option<&TransistorSpread>) {
        let Some(spread) = spread else { return };
        self.share("on_voltage", spread.on_voltage, 1.0);
        if let Some(threshold) = spread.gate_threshold
            && threshold.value < Voltage::ZERO
        {
            let message = || "`gate_threshold` of a spread is a distance to either side".to_owned();
            self.refuse(threshold.at, message, "negative", None);
        }
    }

    fn rated(&mut self, current: Option<&RatedCurrent>, limit: Option<Given<Temperature>>) {
        let Some(current) = current else { return };
        self.above_zero("continuous", current.continuous, Current::si);
        self.above_zero("repetitive_peak", current.repetitive_peak, Current::si);
        self.credible_amps("repetitive_peak", current.repetitive_peak);
        if let (Some(case), Some(limit)) = (current.at_case, limit)
            && limit.value <= case.value
        {
            let (at, also) = (self.tree.span(case.at), self.tree.span(limit.at));
            self.ledger.note("conflict", at, "at_case", || {
                let message = "the case cannot be as hot as the junction may get while a current flows";
                Problem::new("conflict", at, message, "case temperature of the rating")
                    .with_also(also, "highest junction temperature")
            });
        }
    }

    fn on_state(&mut self, curves: Option<&[OnState]>) {
        let curves = curves.unwrap_or_default();
        for curve in curves {
            self.same_length("current", &curve.current, "voltage", &curve.voltage);
            self.rising(&curve.current);
            self.forward_voltages(&curve.voltage);
            self.credible_on_state(&curve.voltage);
            self.credible_first_voltage(curve);
            self.credible_measured("junction", Some(curve.junction));
        }
        let junctions = curves.iter().map(|curve| curve.junction).collect::<Vec<_>>();
        self.distinct(&junctions);
    }

    fn energies(
        &mut self,
        energies: Option<&TransistorEnergies>,
        blocks: Option<Given<Voltage>>,
        limit: Option<Given<Temperature>>,
    ) {
        let Some(energies) = energies else { return };
        self.above_zero("voltage", Some(energies.voltage), Voltage::si);
        self.above_zero("gate_resistor", energies.gate_resistor, Resistance::si);
        self.rising(&energies.current);
        self.same_length("current", &energies.current, "turn_on", &energies.turn_on);
        self.same_length("current", &energies.current, "turn_off", &energies.turn_off);
        self.growing("turn_on", &energies.turn_on);
        self.growing("turn_off", &energies.turn_off);
        self.credible_energies((energies.voltage, energies.junction), blocks, limit);
        let both = [("turn_on", &energies.turn_on), ("turn_off", &energies.turn_off)];
        self.credible_edges((energies.voltage, &energies.current), &both);
        both.iter().for_each(|(key, joules)| self.credible_first_energy(key, &energies.current, joules));
        both.iter().for_each(|(key, energies)| self.not_without(key, energies));
        self.credible_exponent(energies.voltage_exponent.as_ref(), LEAST_OF_VOLTAGE.0);
        self.credible_growth(energies.temperature_coefficient, energies.junction, limit);
    }

    fn recovery(
        &mut self,
        energies: &RecoveryEnergy,
        blocks: Option<Given<Voltage>>,
        limit: Option<Given<Temperature>>,
    ) {
        self.above_zero("voltage", Some(energies.voltage), Voltage::si);
        self.rising(&energies.current);
        self.same_length("current", &energies.current, "recovery", &energies.recovery);
        self.growing("recovery", &energies.recovery);
        self.credible_energies((energies.voltage, energies.junction), blocks, limit);
        self.credible_edges((energies.voltage, &energies.current), &[("recovery", &energies.recovery)]);
        self.credible_first_energy("recovery", &energies.current, &energies.recovery);
        self.credible_exponent(energies.voltage_exponent.as_ref(), LEAST_OF_VOLTAGE.1);
        self.credible_growth(energies.temperature_coefficient, energies.junction, limit);
    }

    fn impedance(&mut self, elements: Option<&Located<Vec<FosterElement>>>) {
        if let Some(elements) = elements {
            self.credible_impedance(elements);
        }
        for FosterElement(resistance, time) in elements.iter().flat_map(|elements| &elements.value) {
            self.above_zero("thermal_impedance", Some(*resistance), ThermalResistance::si);
            self.above_zero("thermal_impedance", Some(*time), Time::si);
        }
    }
}
