//! Values that no part of its kind has: a prefix or a sign slipped, or two of them were exchanged. The bounds leave room to
//! every part of the trade; what lies beyond them would be reckoned with, and much would seem to hold.

use core::f64::consts::PI;

use loadworthy_physics::{
    Area, Capacitance, Current, Energy, FluxDensity as Flux, Frequency, Inductance, LossDensity, Resistance,
    Temperature, Time, Voltage, Volume, core_loss, switching,
};
use loadworthy_source::{Located, NodeId, Problem, Span};

use super::{Scope, self_text};
use crate::quantity::{Charge, FluxDensity, Given, PerKelvin, Points, Readable, SquaredCurrentTime};
use crate::sections::devices::{FosterElement, Gate, OnResistance};
use crate::sections::magnetics::{Core, Saturation, Steinmetz, Winding};

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
/// Data sheets state energies in a warm room as well: there some are left.
const ROOM: Temperature = Temperature::celsius(25.0);
/// Energies over voltage and current, in seconds: gallium nitride has some 10 ns, transistors of several kilovolts 4 µs.
const EDGE_TIMES: (f64, f64) = (1e-9, 10e-6);
/// Of one of the two energies of an edge over the other at the highest current.
const UNLIKE_EDGES: f64 = 100.0;
/// What power ferrite loses at a frequency and a crest, and the powers that it grows with. Tape of nanocrystalline iron
/// loses a seventh of it, iron powder a hundred times as much.
const FERRITE: (LossDensity, (Frequency, Flux), (f64, f64)) =
    (LossDensity::new(350e3), (Frequency::new(100e3), Flux::new(0.2)), (1.4, 2.5));
/// Energies grow with the voltage that is switched: of transistors with about its 1.2th to 1.4th power, of diodes with some 0.6th.
pub(super) const LEAST_OF_VOLTAGE: (f64, f64) = (0.5, 0.2);
/// An arc adds to what has melted a fuse.
const LEAST_ARC: f64 = 1.01;
/// Of the current that it gives for good, what a generator drives into a short of its terminals.
const LEAST_SHORT: f64 = 0.05;
/// Of what ferrite loses.
const LEAST_CORE_LOSS: f64 = 0.02;
/// Permeability of a core, its gap included, over that of air: of powders at least 14, of nanocrystalline tape 150,000.
const PERMEABILITY: (f64, f64) = (3.0, 300e3);
/// Elements of fuses are some 100 to 200 °C warm when fully loaded.
const HOTTEST_ELEMENT: f64 = 300.0;
/// The best insulation of windings stands some 240 °C, bare contacts and bars little more.
const HOTTEST_MATERIAL: f64 = 350.0;
/// The largest single film capacitors carry some hundred amperes.
const MOST_RIPPLE: f64 = 1000.0;
/// Permeability of air in H/m.
const OF_AIR: f64 = 4e-7 * PI;
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

    /// Energies grow with the voltage that is switched.
    pub(super) fn credible_exponent(&mut self, exponent: Option<&Located<f64>>, least: f64) {
        let Some(exponent) = exponent.filter(|exponent| exponent.value < least) else { return };
        let message = || {
            format!("with a `voltage_exponent` of {} energies hardly grow with the voltage", exponent.value)
        };
        let way_out = "data sheets and application notes give 1.2 to 1.4 of transistors, some 0.6 of diodes";
        self.refuse(exponent.at, message, "no such device", Some(way_out));
    }

    /// What clears a fuse is more than what melts it.
    pub(super) fn credible_clearing(
        &mut self,
        melting: Option<Given<SquaredCurrentTime>>,
        clearing: Option<Given<SquaredCurrentTime>>,
    ) {
        let Some((melting, clearing)) = melting.zip(clearing) else { return };
        let (melts, clears) = (melting.value.si(), clearing.value.si());
        if melts <= clears && clears < LEAST_ARC * melts {
            let message = "no fuse clears with what melts it: its arc adds to that";
            self.contradict((clearing.at, "`clearing`"), (melting.at, "`melting`"), message);
        }
    }

    /// A generator drives some of what it gives for good into a short of its terminals.
    pub(super) fn credible_short(
        &mut self,
        lowest: Option<Given<Current>>,
        continuous: Option<Given<Current>>,
    ) {
        let Some((lowest, continuous)) = lowest.zip(continuous) else { return };
        if lowest.value.si() < LEAST_SHORT * continuous.value.si() {
            let message = "a short of a generator drives more than a twentieth of what it gives for good";
            self.contradict((lowest.at, "into a short"), (continuous.at, "for good"), message);
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

    /// A transistor loses something at each of its edges. A diode without carriers recovers none.
    pub(super) fn not_without(&mut self, key: &str, energies: &Points<Energy>) {
        let Some(last) = energies.last().filter(|last| last.value.si() == 0.0) else { return };
        let message =
            || format!("`{key}` is nothing at the highest current: no transistor switches without loss");
        let way_out = "leave it out until a data sheet gives it; edges that are soft in a circuit lose nothing there whatever is stated";
        self.refuse(last.at, message, "no loss at all", Some(way_out));
    }

    /// Energies over what is switched are a time, that of the edges of a device.
    pub(super) fn credible_edges(
        &mut self,
        (voltage, current): (Given<Voltage>, &Points<Current>),
        energies: &[(&str, &Points<Energy>)],
    ) {
        let Some(switched) = current.last().map(|amps| voltage.value.si() * amps.value.si()) else { return };
        let mut last = Vec::new();
        for (key, points) in energies {
            last.extend(points.get(current.len() - 1).map(|energy| (*key, *energy)));
        }
        let whole: f64 = last.iter().map(|(_, energy)| energy.value.si()).sum();
        let Some((_, first)) = last.first().filter(|_| switched > 0.0 && whole > 0.0) else { return };
        let takes = whole / switched;
        let is_short = takes < EDGE_TIMES.0 && last.len() > 1;
        if is_short || takes > EDGE_TIMES.1 {
            let keys: Vec<_> = last.iter().map(|(key, _)| format!("`{key}`")).collect();
            let (keys, are) = (keys.join(" and "), if last.len() > 1 { "are" } else { "is" });
            let takes =
                if is_short { format!("{:.2} ns", 1e9 * takes) } else { format!("{:.0} us", 1e6 * takes) };
            let message =
                || format!("{keys} {are} what voltage and current of the energies come to in {takes}");
            let label = if is_short { "no device is so fast" } else { "no device is so slow" };
            return self.refuse(first.at, message, label, Some("look at the prefixes of its units"));
        }
        if let [(_, on), (_, off)] = last[..]
            && let (less, more) = (on.value.si().min(off.value.si()), on.value.si().max(off.value.si()))
            && less > 0.0
            && less * UNLIKE_EDGES < more
        {
            let message = "of turn-on and turn-off one does not take more than a hundred times the other";
            self.contradict((off.at, "`turn_off`"), (on.at, "`turn_on`"), message);
        }
    }

    /// Energies that are a straight line over the junction temperature: some are left in a warm room, and when hot.
    pub(super) fn credible_growth(
        &mut self,
        growth: Option<Given<PerKelvin>>,
        stated_at: Given<Temperature>,
        limit: Option<Given<Temperature>>,
    ) {
        let Some(growth) = growth else { return };
        let left =
            |at: Temperature| switching::scale_temperature(at, stated_at.value, growth.value.value()) > 0.0;
        let vanish = |at: Temperature| at < stated_at.value && !left(at);
        let room = Some(ROOM).filter(|&at| vanish(at));
        let Some(at) = room.or(limit.map(|limit| limit.value).filter(|&at| !left(at))) else { return };
        let message = || {
            let (text, at) = (self_text(self.tree, growth.at), at.in_celsius());
            format!("with a growth of `{text}` nothing is left of the energies at {at:.0} degC")
        };
        self.refuse(growth.at, message, "no such device", Some("look at its unit and its decimal point"));
    }

    pub(super) fn credible_core_loss(&mut self, steinmetz: &Steinmetz) {
        let point = (steinmetz.density, steinmetz.frequency, steinmetz.flux_density);
        let (Some(density), Some(frequency), Some(flux)) = point else { return };
        let (loss, (hertz, tesla), exponents) = FERRITE;
        let fit = core_loss::Steinmetz::through(loss, hertz, tesla, exponents);
        let ferrite = fit.sine(frequency.value, Flux::new(flux.value.si())).si();
        let stated = LossDensity::si(density.value);
        if stated > 0.0 && stated < LEAST_CORE_LOSS * ferrite {
            let message = || {
                let (most, found) = (ferrite / 1e3, self_text(self.tree, density.at));
                format!(
                    "`density` is `{found}`: at this frequency and flux density ferrite loses some {most:.0} kW/m^3"
                )
            };
            let way_out = "data sheets state kW/m^3: look at the prefixes of its units";
            self.refuse(density.at, message, "less than a fiftieth, as no material has", Some(way_out));
        }
    }

    /// What turns about a core have of inductance says how well the core leads flux.
    pub(super) fn credible_inductance(
        &mut self,
        (key, inductance): (&'static str, Option<Given<Inductance>>),
        turns: Option<&Located<u32>>,
        core: Option<&Core>,
    ) {
        let own = core.and_then(|core| Some((core.area?, core.volume?)));
        let (Some(inductance), Some(turns), Some((area, volume))) = (inductance, turns, own) else { return };
        let (section, count) = (Area::si(area.value), f64::from(turns.value));
        let path = Volume::si(volume.value) / section;
        let permeability = Inductance::si(inductance.value) * path / (OF_AIR * count * count * section);
        let said = if permeability < PERMEABILITY.0 {
            "hardly better than air"
        } else if permeability > PERMEABILITY.1 {
            "better than any material"
        } else {
            return;
        };
        let (at, also) = (self.tree.span(inductance.at), self.tree.span(turns.at));
        self.ledger.note("conflict", at, key, || {
            let message =
                format!("with so many turns about its core `{key}` says that the core leads flux {said}");
            Problem::new("conflict", at, message, format!("`{key}`")).with_also(also, "turns").with_way_out(
                "look at both, at `area` and `volume` of the core, and at the prefixes of their units",
            )
        });
    }

    /// What insulation, plating, cores and films stand.
    pub(super) fn credible_material(&mut self, hottest: Option<Given<Temperature>>) {
        self.at_most(
            "hottest",
            hottest,
            |hottest| hottest.in_celsius(),
            (HOTTEST_MATERIAL, "a temperature of at most 350 degC"),
        );
    }

    pub(super) fn credible_ripple(&mut self, current: Option<Given<Current>>) {
        let said = "a current of at most 1000 A of one capacitor";
        self.at_most("ripple_current", current, Current::si, (MOST_RIPPLE, said));
    }

    pub(super) fn credible_element(&mut self, element: Option<Given<Temperature>>) {
        self.at_most(
            "element",
            element,
            |element| element.in_celsius(),
            (HOTTEST_ELEMENT, "a temperature of at most 300 degC when fully loaded"),
        );
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
    pub(super) fn contradict(
        &mut self,
        (at, label): (NodeId, &str),
        (also, beside): (NodeId, &str),
        message: &str,
    ) {
        let (at, also): (Span, Span) = (self.tree.span(at), self.tree.span(also));
        self.ledger.note("conflict", at, message, || {
            Problem::new("conflict", at, message, label)
                .with_also(also, beside)
                .with_way_out("look at both, and at the prefixes of their units")
        });
    }

    pub(super) fn at_most<T: Readable + Copy>(
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
