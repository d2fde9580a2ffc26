//! What feeds the unit.

use loadworthy_physics::{Current, Energy, Inductance, Power, Resistance, Time, Voltage};

use super::{Rules, Scope};
use crate::sections::sources::{Battery, CurrentLimit, Polarisation, PowerLimit, Source};

impl Rules for Source {
    fn check(&self, scope: &mut Scope<'_>) {
        scope.above_zero("inductance", self.inductance().copied(), Inductance::si);
        scope.above_zero("memory", self.memory().copied(), Time::si);
        if let Some(precharge) = self.precharge() {
            scope.above_zero("resistor", precharge.resistor, Resistance::si);
            scope.credible_precharge(precharge.resistor);
            scope.above_zero("energy", precharge.energy, Energy::si);
            scope.credible_energy(precharge.energy);
            scope.share_above_zero("rest", precharge.rest, 1.0);
            scope.above_zero("within", precharge.within, Time::si);
        }
        match self {
            Self::Battery(battery) => scope.battery(battery),
            Self::FuelCell(cell) => {
                if let Some(polarisation) = &cell.polarisation {
                    scope.polarisation(polarisation);
                }
                scope.current_limit(cell.discharge.as_ref());
                scope.power_limit(cell.power.as_ref());
            }
            Self::Generator(generator) => {
                scope.current_limit(generator.discharge.as_ref());
                scope.power_limit(generator.power.as_ref());
                let lowest = generator.short_circuit.as_ref().and_then(|short| short.lowest);
                let continuous = generator.discharge.as_ref().and_then(|limit| limit.continuous);
                scope.credible_short(lowest, continuous);
            }
        }
    }
}

impl Scope<'_> {
    fn battery(&mut self, battery: &Battery) {
        if let Some(span) = &battery.open_circuit {
            let stated = [("lowest", span.lowest), ("nominal", span.nominal), ("highest", span.highest)];
            for (key, given) in stated {
                self.above_zero(key, given, Voltage::si);
            }
            self.not_falling(&stated);
        }
        if let Some(span) = &battery.internal_resistance {
            self.not_falling(&[("lowest", span.lowest), ("highest", span.highest)]);
            self.above_zero("highest", span.highest, Resistance::si);
        }
        self.current_limit(battery.discharge.as_ref());
        self.current_limit(battery.charge.as_ref());
        if let (Some(charge), Some(absorbs)) = (&battery.charge, &battery.absorbs)
            && let Some(continuous) = charge.continuous
            && !absorbs.value
        {
            let (first, second) = (("absorbs", absorbs.at), ("charge", continuous.at));
            self.only_one(first, second, "what takes no power back is not charged");
        }
    }

    /// The voltage of a cell falls as its current grows; the first point may be that without current.
    fn polarisation(&mut self, curve: &Polarisation) {
        self.at_least(2, "a polarisation curve", &curve.current, "one current");
        self.not_negative("current", &curve.current, Current::si);
        self.each_above("current", &curve.current, "currents of a curve rise");
        self.none_above("voltage", &curve.voltage, "the voltage of a cell falls as its current grows");
        self.same_length("current", &curve.current, "voltage", &curve.voltage);
        if let Some(last) = curve.voltage.last() {
            self.above_zero("voltage", Some(*last), Voltage::si);
        }
    }

    fn current_limit(&mut self, limit: Option<&CurrentLimit>) {
        let Some(limit) = limit else { return };
        self.above_zero("continuous", limit.continuous, Current::si);
        for peak in limit.peaks.iter().flatten() {
            self.above_zero("current", Some(peak.current), Current::si);
            self.not_falling(&[("continuous", limit.continuous), ("current", Some(peak.current))]);
            self.not_falling(&[("lasts", Some(peak.lasts)), ("every", peak.every)]);
        }
    }

    fn power_limit(&mut self, limit: Option<&PowerLimit>) {
        let Some(limit) = limit else { return };
        self.above_zero("continuous", limit.continuous, Power::si);
        for peak in limit.peaks.iter().flatten() {
            self.above_zero("power", Some(peak.power), Power::si);
            self.not_falling(&[("continuous", limit.continuous), ("power", Some(peak.power))]);
            self.not_falling(&[("lasts", Some(peak.lasts)), ("every", peak.every)]);
        }
    }
}
