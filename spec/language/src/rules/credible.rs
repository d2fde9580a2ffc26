//! Values that no part of its kind has: a prefix or a sign slipped, or two of them were exchanged. The bounds leave room to
//! every part of the trade; what lies beyond them would be reckoned with, and much would seem to hold.

use core::f64::consts::PI;

use loadworthy_physics::{Area, Capacitance, Energy, Resistance, Temperature, Time, Voltage};
use loadworthy_source::{Located, NodeId, Problem, Span};

use super::{Scope, self_text};
use crate::quantity::{Charge, FluxDensity, Given, PerKelvin, Points, Readable};
use crate::sections::devices::{FosterElement, Gate, OnResistance};
use crate::sections::magnetics::{Core, Saturation, Winding};

/// Junctions of wide-bandgap devices stand some 250 °C.
const HOTTEST_JUNCTION: f64 = 350.0;
/// Transistors stand a short for some microseconds, slow ones for a few tens.
const LONGEST_SHORT: f64 = 200e-6;
/// Heat needs less than seconds from a junction to its case.
const SLOWEST_CASE: f64 = 5.0;
/// The largest modules have some millikelvin per watt.
const LEAST_TO_CASE: f64 = 2e-4;
/// Cobalt iron carries 2.4 T.
const MOST_FLUX: f64 = 2.6;
/// An on-state resistance grows with heat, or stays.
const LEAST_GROWTH: f64 = 0.9;
/// Of the charge that its input capacitance alone takes: that is measured where it is least, so that a gate takes more.
const LEAST_CHARGE: f64 = 0.5;
/// Of the resistance of copper on the shortest way round its core.
const LEAST_COPPER: f64 = 0.5;
/// Resistivity of copper at 20 °C in ohm metres, IEC 60028.
const COPPER: f64 = 1.724e-8;

impl Scope<'_> {
    pub(super) fn credible_limit(&mut self, junction: Option<Given<Temperature>>) {
        self.at_most(
            "junction_limit",
            junction,
            |limit| limit.in_celsius(),
            (HOTTEST_JUNCTION, "a temperature of at most 350 degC"),
        );
    }

    pub(super) fn credible_withstand(&mut self, short: Option<Given<Time>>) {
        let said = "a time of at most 200 us";
        self.at_most("short_circuit_withstand", short, Time::si, (LONGEST_SHORT, said));
    }

    /// A device blocks less in the cold, never more.
    pub(super) fn credible_blocking(&mut self, grows: Option<Given<PerKelvin>>) {
        self.not_below_zero("blocking_temperature_coefficient", grows, PerKelvin::value);
    }

    pub(super) fn credible_saturation(&mut self, saturation: &Saturation) {
        let first = saturation.flux_density.as_ref().and_then(|curve| curve.first().copied());
        let said = "a flux density of at most 2.6 T";
        self.at_most("flux_density", first, FluxDensity::si, (MOST_FLUX, said));
    }

    pub(super) fn credible_impedance(&mut self, elements: &Located<Vec<FosterElement>>) {
        for FosterElement(_, time) in &elements.value {
            let said = "a time constant of at most 5 s from junction to case";
            self.at_most("thermal_impedance", Some(*time), Time::si, (SLOWEST_CASE, said));
        }
        let sum: f64 = elements.value.iter().map(|FosterElement(one, _)| one.value.si()).sum();
        if sum > 0.0 && sum < LEAST_TO_CASE {
            let message = || {
                format!("`thermal_impedance` expects at least 0.2 mK/W in all, found {:.4} mK/W", 1e3 * sum)
            };
            self.refuse(elements.at, message, "no such device", Some("look at the prefixes of its units"));
        }
    }

    /// Energies that a device was measured at: below what it blocks, no hotter than it may get, and more at more current.
    pub(super) fn credible_energies(
        &mut self,
        (voltage, junction): (Given<Voltage>, Given<Temperature>),
        blocks: Option<Given<Voltage>>,
        limit: Option<Given<Temperature>>,
    ) {
        if let Some(blocks) = blocks.filter(|blocks| blocks.value < voltage.value) {
            let message = "energies were not measured at more than a device blocks";
            self.contradict(
                (voltage.at, "voltage of the energies"),
                (blocks.at, "`blocking_voltage`"),
                message,
            );
        }
        if let Some(limit) = limit.filter(|limit| limit.value < junction.value) {
            let message = "energies were not measured at a junction hotter than it may get";
            self.contradict(
                (junction.at, "junction of the energies"),
                (limit.at, "highest junction temperature"),
                message,
            );
        }
    }

    /// Energies that do not fall as the current rises.
    pub(super) fn growing(&mut self, key: &str, energies: &Points<Energy>) {
        if let Some(pair) = energies.windows(2).find(|pair| pair[1].value < pair[0].value) {
            let message = || format!("`{key}` falls as the current rises");
            self.refuse(
                pair[1].at,
                message,
                "below the one before",
                Some("state energies in the order of their currents"),
            );
        }
    }

    pub(super) fn credible_resistances(&mut self, points: &[OnResistance]) {
        let warmth = |one: &&OnResistance| one.junction.value.in_celsius();
        let by_warmth = |one: &&OnResistance, other: &&OnResistance| warmth(one).total_cmp(&warmth(other));
        // Far below freezing a channel of silicon carbide may have more than in warmth.
        let warm = || points.iter().filter(|one| warmth(one) >= 20.0);
        let (Some(coldest), Some(hottest)) = (warm().min_by(by_warmth), warm().max_by(by_warmth)) else {
            return;
        };
        if hottest.resistance.value.si() < LEAST_GROWTH * coldest.resistance.value.si() {
            let message = "an on-state resistance does not fall as the junction warms";
            let (at, also) = (hottest.resistance.at, coldest.resistance.at);
            self.contradict((at, "when hot"), (also, "when colder"), message);
        }
    }

    pub(super) fn credible_gate(&mut self, gate: &Gate) {
        let (Some(charge), Some(input), Some(on)) = (gate.charge, gate.input_capacitance, gate.on) else {
            return;
        };
        let swing = on.value.si() - gate.off.map_or(0.0, |off| off.value.si());
        if Charge::si(charge.value) < LEAST_CHARGE * Capacitance::si(input.value) * swing {
            let message = "the charge of a gate is less than half of what its input capacitance alone takes";
            self.contradict((charge.at, "`charge`"), (input.at, "`input_capacitance`"), message);
        }
    }

    /// A turn is no shorter than a circle round the core.
    pub(super) fn credible_winding(
        &mut self,
        winding: Option<&Winding>,
        turns: Option<&Located<u32>>,
        core: Option<&Core>,
    ) {
        let core = core.and_then(|core| core.area);
        let own = winding.and_then(|winding| Some((winding.area?, winding.resistance?)));
        let (Some((copper, resistance)), Some(turns), Some(core)) = (own, turns, core) else { return };
        let of_turns = LEAST_COPPER * COPPER * f64::from(turns.value) / Area::si(copper.value);
        let turn = Resistance::si(resistance.value) / of_turns;
        // A circle of that length would have less than the area of the core.
        if turn * turn < 4.0 * PI * Area::si(core.value) {
            let message =
                "a winding has less than half the resistance of so many turns of such copper round its core";
            self.contradict((resistance.at, "`resistance`"), (copper.at, "`area` of its copper"), message);
        }
    }

    /// Two values that no part has both of.
    fn contradict(&mut self, (at, label): (NodeId, &str), (also, beside): (NodeId, &str), message: &str) {
        let (at, also): (Span, Span) = (self.tree.span(at), self.tree.span(also));
        self.ledger.note("conflict", at, message, || {
            Problem::new("conflict", at, message, label)
                .with_also(also, beside)
                .with_way_out("look at both, and at the prefixes of their units")
        });
    }

    fn at_most<T: Readable + Copy>(
        &mut self,
        key: &str,
        given: Option<Given<T>>,
        si: impl Fn(T) -> f64,
        (most, expected): (f64, &str),
    ) {
        if let Some(given) = given.filter(|given| si(given.value) > most) {
            let said = || format!("`{key}` expects {expected}, found `{}`", self_text(self.tree, given.at));
            self.refuse(given.at, said, "beyond any such part", Some("look at the prefix of its unit"));
        }
    }
}
