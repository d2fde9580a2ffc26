//! Conductors and capacitors.

use loadworthy_physics::{
    Area, Capacitance, Current, Energy, HeatCapacity, Inductance, Length, Power, Resistance,
    TemperatureDifference, ThermalResistance, Time, Voltage,
};

use super::credible_between::{OF_BARS, OF_FOILS};
use super::{Rules, Scope};
use crate::quantity::{Given, SquaredCurrentTime};
use crate::sections::capacitors::{Capacitor, CapacitorType};
use crate::sections::conductors::{Conductor, ConductorCurrent, Fuse};

impl Rules for Conductor {
    fn check(&self, scope: &mut Scope<'_>) {
        scope.conductor_current(self.rated());
        scope.bar_surface(self);
        scope.credible_material(self.hottest().copied());
        if let Some(pad) = self.pad() {
            scope.above_zero("resistance", pad.resistance, ThermalResistance::si);
            scope.credible_to_coolant("resistance", pad.resistance);
        }
        match self {
            Self::Fuse(fuse) => scope.fuse(fuse),
            Self::Contactor(contactor) => {
                if let Some(breaks) = &contactor.breaks {
                    scope.above_zero("voltage", breaks.voltage, Voltage::si);
                    scope.above_zero("current", breaks.current, Current::si);
                    scope.credible_volts("voltage", breaks.voltage);
                    scope.credible_switched("current", breaks.current);
                }
                if let Some(opens) = &contactor.opens {
                    scope.above_zero("above", opens.above, Current::si);
                    scope.not_below_zero("after", opens.after, Time::si);
                }
                if let Some(closes) = &contactor.closes {
                    scope.above_zero("below", closes.below, Voltage::si);
                }
                // What its control opens it at it has to break.
                let (above, breaks) = (contactor.opens.as_ref(), contactor.breaks.as_ref());
                scope.not_falling(&[
                    ("opens.above", above.and_then(|opens| opens.above)),
                    ("breaks.current", breaks.and_then(|breaks| breaks.current)),
                ]);
                scope.credible_contacts(contactor);
                scope.credible_contact_drop(contactor.resistance, contactor.current.as_ref());
                scope.above_zero("makes", contactor.makes, Current::si);
                scope.credible_switched("makes", contactor.makes);
                scope.above_zero("thermal_resistance", contactor.thermal_resistance, ThermalResistance::si);
                scope.above_zero("heat_capacity", contactor.heat_capacity, HeatCapacity::si);
                scope.credible_of_body("thermal_resistance", contactor.thermal_resistance);
                scope.credible_capacity(contactor.heat_capacity);
            }
            Self::Connector(connector) => {
                scope.credible_contact_drop(connector.resistance, connector.current.as_ref());
                scope.above_zero("thermal_resistance", connector.thermal_resistance, ThermalResistance::si);
                scope.above_zero("heat_capacity", connector.heat_capacity, HeatCapacity::si);
                scope.credible_of_body("thermal_resistance", connector.thermal_resistance);
                scope.credible_capacity(connector.heat_capacity);
            }
            Self::Sensor(sensor) => {
                scope.above_zero("range", sensor.range, Current::si);
                scope.credible_amps("range", sensor.range);
                scope.above_zero("power", sensor.power, Power::si);
                scope.credible_shunt(sensor);
                scope.credible_contact_drop(sensor.resistance, sensor.current.as_ref());
            }
            Self::Busbar(bar) => {
                scope.section(bar.width, bar.thickness, bar.length);
                scope.credible_sides(bar.width, (bar.thickness, OF_BARS));
                scope.credible_density(bar.width, bar.thickness, bar.current.as_ref());
            }
            Self::LaminatedBusbar(bar) => {
                scope.section(bar.width, bar.thickness, bar.length);
                scope.above_zero("gap", bar.gap, Length::si);
                scope.at_most("gap", bar.gap, Length::si, (20e-3, "a gap of at most 20 mm"));
                scope.credible_sides(bar.width, (bar.thickness, OF_BARS));
                scope.credible_density(bar.width, bar.thickness, bar.current.as_ref());
            }
            Self::Cable(cable) => {
                scope.above_zero("section", cable.section, Area::si);
                scope.credible_section(cable.section, cable.current.as_ref());
                scope.above_zero("length", cable.length, Length::si);
                scope.credible_cable_length(cable.length);
                scope.above_zero("outer_diameter", cable.outer_diameter, Length::si);
                let said = "a diameter of at most 200 mm";
                scope.at_most("outer_diameter", cable.outer_diameter, Length::si, (0.2, said));
            }
            Self::Foil(foil) => {
                scope.section(foil.width, foil.thickness, foil.length);
                scope.credible_sides(foil.width, (foil.thickness, OF_FOILS));
            }
            Self::Resistor(resistor) => {
                scope.above_zero("resistance", resistor.resistance, Resistance::si);
                scope.above_zero("energy", resistor.energy, Energy::si);
                scope.credible_energy(resistor.energy);
            }
            Self::LineChoke(choke) => scope.above_zero("inductance", choke.inductance, Inductance::si),
        }
    }
}

impl Rules for Capacitor {
    fn check(&self, scope: &mut Scope<'_>) {
        match self {
            Self::Bank(bank) => {
                scope.above_zero("life", bank.life, Time::si);
                scope.credible_bank(bank);
            }
            Self::Suppression(suppression) => {
                scope.above_zero("capacitance", suppression.capacitance, Capacitance::si);
            }
        }
    }
}

impl Rules for CapacitorType {
    fn check(&self, scope: &mut Scope<'_>) {
        scope.above_zero("capacitance", self.capacitance, Capacitance::si);
        scope.share("tolerance", self.tolerance, 1.0);
        scope.credible_tolerance("tolerance", self.tolerance, (5e-3, "a share of at least 0.5 %"));
        scope.above_zero("voltage", self.voltage, Voltage::si);
        scope.credible_volts("voltage", self.voltage);
        scope.above_zero("ripple_current", self.ripple_current, Current::si);
        scope.credible_ripple(self.ripple_current);
        scope.credible_material(self.hottest);
        scope.above_zero("thermal_resistance", self.thermal_resistance, ThermalResistance::si);
        scope.credible_of_body("thermal_resistance", self.thermal_resistance);
        scope.credible_warming(self);
        if let Some(endurance) = &self.endurance {
            scope.above_zero("life", endurance.life, Time::si);
            scope.above_zero("voltage", endurance.voltage, Voltage::si);
            scope.above_zero("halved_by", endurance.halved_by, TemperatureDifference::si);
        }
    }
}

impl Scope<'_> {
    pub(super) fn conductor_current(&mut self, current: Option<&ConductorCurrent>) {
        let Some(current) = current else { return };
        self.above_zero("continuous", current.continuous, Current::si);
        self.credible_amps("continuous", current.continuous);
        self.credible_measured("at", current.at);
    }

    fn fuse(&mut self, fuse: &Fuse) {
        self.above_zero("voltage", fuse.voltage, Voltage::si);
        self.credible_volts("voltage", fuse.voltage);
        self.above_zero("current", fuse.current, Current::si);
        self.credible_amps("current", fuse.current);
        self.above_zero("melting", fuse.melting, SquaredCurrentTime::si);
        self.above_zero("clearing", fuse.clearing, SquaredCurrentTime::si);
        self.not_falling(&[("melting", fuse.melting), ("clearing", fuse.clearing)]);
        self.credible_clearing(fuse.melting, fuse.clearing);
        self.credible_melting(fuse);
        self.above_zero("breaking", fuse.breaking, Current::si);
        self.credible_breaking("breaking", fuse.breaking);
        self.not_falling(&[("current", fuse.current), ("breaking", fuse.breaking)]);
        self.above_zero("time_constant", fuse.time_constant, Time::si);
        self.above_zero("least_breaking", fuse.least_breaking, Current::si);
        self.not_falling(&[("least_breaking", fuse.least_breaking), ("breaking", fuse.breaking)]);
        self.credible_least(fuse);
        self.credible_fuse(fuse);
        self.share_above_zero("cyclic_load", fuse.cyclic_load, 1.0);
        self.credible_element(fuse.element);
        if let Some(fusing) = fuse.conventional_fusing.filter(|fusing| fusing.value.value() <= 1.0) {
            let message = || "a fuse carries its rated current for good".to_owned();
            self.refuse(
                fusing.at,
                message,
                "not above 100 %",
                Some("state the current that melts it in the end"),
            );
        }
        let Some(curve) = &fuse.time_current else { return };
        self.at_least(2, "a time-current curve", &curve.load, "too few points");
        if let Some(first) = curve.load.first()
            && first.value.value() <= 1.0
        {
            let message = || "a time-current curve begins above the rated current".to_owned();
            self.refuse(first.at, message, "not above 100 %", Some("state currents that melt the fuse"));
        }
        self.each_above("load", &curve.load, "currents of a curve rise");
        self.each_below("time", &curve.time, "a larger current melts a fuse sooner");
        self.above_zero("time", curve.time.last().copied(), Time::si);
        self.same_length("load", &curve.load, "time", &curve.time);
        self.credible_curve(fuse);
    }

    fn bar_surface(&mut self, conductor: &Conductor) {
        let emissivity = match conductor {
            Conductor::Busbar(bar) => bar.emissivity,
            Conductor::LaminatedBusbar(bar) => bar.emissivity,
            _ => None,
        };
        self.share("emissivity", emissivity, 1.0);
    }

    fn section(
        &mut self,
        width: Option<Given<Length>>,
        thickness: Option<Given<Length>>,
        length: Option<Given<Length>>,
    ) {
        for (key, given) in [("width", width), ("thickness", thickness), ("length", length)] {
            self.above_zero(key, given, Length::si);
        }
        self.credible_bar_length(length);
    }
}
