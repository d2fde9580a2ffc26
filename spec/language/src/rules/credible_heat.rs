//! What carries heat off and what holds it: a prefix too few and nothing warms, a prefix too many and nothing warms in time.
//!
//! Only the side is held on which a slip lets everything hold. What is too much of a resistance, or too little of a capacity, is
//! found by what fails.

use loadworthy_physics::conductors::warming::of_winding;
use loadworthy_physics::wound_bodies::core_capacity;
use loadworthy_physics::{
    Area, Current, HeatCapacity, Resistance, Temperature, ThermalResistance, Voltage, Volume,
};

use super::{Scope, self_text};
use crate::quantity::{Given, Points};
use crate::sections::capacitors::CapacitorType;
use crate::sections::devices::{OnResistance, RatedCurrent};
use crate::sections::magnetics::{Core, Winding};

/// The largest disc devices have some 5 mK/W to their coolant, modules some ten times as much.
const LEAST_TO_COOLANT: f64 = 5e-4;
/// Chokes of a hundred kilograms have some 10 mK/W from winding to case, contactors for a kiloampere some 0.1 K/W.
const LEAST_OF_BODY: f64 = 1e-3;
/// A hundred kilograms of aluminium hold 90 kJ/K: more stands on no plate of a control unit, and in no contact or choke.
const MOST_HELD: f64 = 200e3;
/// Of the heat that copper or core alone hold: what else is cast about them holds some as well.
const MOST_AROUND: f64 = 5.0;
/// Junctions with a Schottky barrier drop 0.1 V when hot, those of silicon for 10 kV some 6 V, of silicon carbide for as much
/// some 15 V.
const ON_VOLTAGE: (f64, f64) = (0.05, 30.0);
/// What a channel drops at its rated current: those for 25 V some 30 mV, those for 10 kV some 10 V.
const CHANNEL_DROP: (f64, f64) = (5e-3, 50.0);
/// Ripple that a capacitor is rated for warms it by some 3 to 30 K; one that terminals bound by some tenths of a kelvin.
const LEAST_WARMING: f64 = 0.01;
/// Copper in service, where nobody says at what temperature a resistance is.
const WARM: Temperature = Temperature::celsius(100.0);

impl Scope<'_> {
    /// From a case, or from a pad, to the coolant.
    pub(super) fn credible_to_coolant(&mut self, key: &str, resistance: Option<Given<ThermalResistance>>) {
        self.at_least_held(key, resistance, (LEAST_TO_COOLANT, "0.5 mK/W"));
    }

    /// From a winding, a core or contacts to what is about them.
    pub(super) fn credible_of_body(&mut self, key: &str, resistance: Option<Given<ThermalResistance>>) {
        self.at_least_held(key, resistance, (LEAST_OF_BODY, "1 mK/W"));
    }

    fn at_least_held(
        &mut self,
        key: &str,
        resistance: Option<Given<ThermalResistance>>,
        (least, said): (f64, &str),
    ) {
        // What is not above zero is refused for that.
        let Some(given) = resistance.filter(|given| (0.0..least).contains(&given.value.si())) else { return };
        if given.value.si() == 0.0 {
            return;
        }
        let message = || {
            let text = self_text(self.tree, given.at);
            format!("`{key}` expects a thermal resistance of at least {said}, found `{text}`")
        };
        self.refuse(given.at, message, "below any such part", Some("look at the prefix of its unit"));
    }

    pub(super) fn credible_capacity(&mut self, capacity: Option<Given<HeatCapacity>>) {
        let said = "a heat capacity of at most 200 kJ/K";
        self.at_most("heat_capacity", capacity, HeatCapacity::si, (MOST_HELD, said));
    }

    /// What a core holds follows from its volume.
    pub(super) fn credible_core_capacity(&mut self, core: &Core) {
        self.credible_capacity(core.heat_capacity);
        let Some((held, volume)) = core.heat_capacity.zip(core.volume) else { return };
        if volume.value.si() > 0.0
            && held.value.si() > MOST_AROUND * core_capacity(Volume::new(volume.value.si())).si()
        {
            let message = "a core holds no more than some 2.5 to 4 J for each kelvin and cubic centimetre";
            self.contradict((held.at, "`heat_capacity`"), (volume.at, "`volume`"), message);
        }
    }

    /// What a winding holds follows from its copper.
    pub(super) fn credible_winding_capacity(&mut self, winding: &Winding) {
        self.credible_capacity(winding.heat_capacity);
        let (Some(held), Some(area), Some(resistance)) =
            (winding.heat_capacity, winding.area, winding.resistance)
        else {
            return;
        };
        let at = winding.at.map_or(WARM, |at| at.value);
        let copper = of_winding(Area::new(area.value.si()), Resistance::new(resistance.value.si()), at).si();
        if copper > 0.0 && held.value.si() > MOST_AROUND * copper {
            let message = "a winding holds no more than five times the heat of its copper, which its section and resistance say";
            self.contradict((held.at, "`heat_capacity`"), (area.at, "`area` of its copper"), message);
        }
    }

    /// What the ripple that it is rated for warms a capacitor by: with too little resistance nothing ever would.
    pub(super) fn credible_warming(&mut self, kind: &CapacitorType) {
        let (Some(amps), Some(ohms), Some(held)) =
            (kind.ripple_current, kind.series_resistance, kind.thermal_resistance)
        else {
            return;
        };
        let watts = Current::si(amps.value) * Current::si(amps.value) * Resistance::si(ohms.value);
        let kelvin = watts * held.value.si();
        if 0.0 < kelvin && kelvin < LEAST_WARMING {
            let message = "the ripple that it is rated for would warm this capacitor by less than 0.01 K";
            let (at, also) = (held.at, ohms.at);
            self.contradict((at, "`thermal_resistance`"), (also, "`series_resistance`"), message);
        }
    }

    /// What a junction drops at the highest current of a curve.
    pub(super) fn credible_on_state(&mut self, voltage: &Points<Voltage>) {
        let Some(last) = voltage.last().copied() else { return };
        let (least, most) = ON_VOLTAGE;
        self.at_most("voltage", Some(last), Voltage::si, (most, "an on-state voltage of at most 30 V"));
        if (f64::MIN_POSITIVE..least).contains(&last.value.si()) {
            let message = || {
                let text = self_text(self.tree, last.at);
                format!("`voltage` expects an on-state voltage of at least 50 mV, found `{text}`")
            };
            self.refuse(last.at, message, "below any junction", Some("look at the prefix of its unit"));
        }
    }

    /// What a channel drops at the current that it is rated for.
    pub(super) fn credible_channel(&mut self, points: &[OnResistance], rated: Option<&RatedCurrent>) {
        let Some(amps) = rated.and_then(|rated| rated.continuous) else { return };
        let slipped = points.iter().find(|one| {
            let drop = one.resistance.value.si() * Current::si(amps.value);
            drop > 0.0 && !(CHANNEL_DROP.0..=CHANNEL_DROP.1).contains(&drop)
        });
        if let Some(one) = slipped {
            let drop = one.resistance.value.si() * Current::si(amps.value);
            let message = if drop < CHANNEL_DROP.0 {
                "at its rated current no channel drops less than 5 mV"
            } else {
                "at its rated current no channel drops more than 50 V"
            };
            self.contradict(
                (one.resistance.at, "`resistance`"),
                (amps.at, "current that it is rated for"),
                message,
            );
        }
    }
}
