//! Values of one part that speak against one another: first points of its curves, delays of its gate, the time constant of a
//! machine, the copper of a conductor.

use loadworthy_physics::{Area, Current, Energy, Inductance, Length, Resistance};
use loadworthy_source::NodeId;

use super::Scope;
use crate::quantity::{Given, Points};
use crate::sections::conductors::ConductorCurrent;
use crate::sections::devices::{Gate, OnState};

/// Energies of an edge grow with the current, at most with its square or a little more: of that square the least at the first point.
const LEAST_OF_SQUARE: f64 = 0.3;
/// A junction drops more of its voltage at a small current than a resistance would: of that straight line the least at the first point.
const LEAST_OF_LINE: f64 = 0.5;
/// What junctions drop at most, in V.
const MOST_DROPPED: f64 = 30.0;
/// Turning off, at its longest, takes longer than turning on at its shortest: twice to four times as long.
const LEAST_TURN_OFF: f64 = 0.5;
/// Windings of machines that a control unit feeds have some 1 to 100 ms, in s.
const OF_WINDINGS: (f64, f64) = (100e-6, 5.0);
/// Of flux that magnetises the part that leaks: windings one within the other leave some ten-thousandths.
const LEAST_LEAKAGE: f64 = 1e-5;
/// Bars and cables carry some 1 to 15 A/mm² for good, thick ones in hot air half an ampere; in A/m². What is too thin is found by what fails.
const LEAST_DENSITY: f64 = 0.1e6;
/// Bars of a unit are some centimetres wide, foils no wider than their board, in m.
const MOST_WIDE: f64 = 1.0;
/// Thickness of bars and of foils, in m.
pub(super) const OF_BARS: (f64, &str) = (0.1, "a thickness of at most 100 mm");
pub(super) const OF_FOILS: (f64, &str) = (3e-3, "a thickness of at most 3 mm");
/// Coolant elements of a unit stand within a few metres of one another.
const MOST_HIGH: f64 = 5.0;

impl Scope<'_> {
    /// The first point of an energy, against the second.
    pub(super) fn credible_first_energy(
        &mut self,
        key: &str,
        current: &Points<Current>,
        energies: &Points<Energy>,
    ) {
        let [Some(first), Some(second)] = [0, 1].map(|k| current.get(k).zip(energies.get(k))) else { return };
        // Currents that fall are told of themselves.
        let share = (first.0.value.si() / second.0.value.si()).min(1.0);
        let (own, next) = (first.1.value.si(), second.1.value.si());
        if own > 0.0 && own < LEAST_OF_SQUARE * share * share * next {
            let message =
                format!("`{key}` falls far faster than the square of the current towards its first point");
            self.contradict((first.1.at, "first point"), (second.1.at, "second point"), &message);
        }
    }

    /// The first point of an on-state curve, against the second.
    pub(super) fn credible_first_voltage(&mut self, curve: &OnState) {
        let [Some(first), Some(second)] = [0, 1].map(|k| curve.current.get(k).zip(curve.voltage.get(k)))
        else {
            return;
        };
        // Currents that fall are told of themselves.
        let line = second.1.value.si() * (first.0.value.si() / second.0.value.si()).min(1.0);
        // What no junction drops is told of itself.
        let own = first.1.value.si();
        if second.1.value.si() < MOST_DROPPED && 0.0 < own && own < LEAST_OF_LINE * line {
            let message = "a junction drops more at a small current than in proportion to it";
            self.contradict((first.1.at, "first point"), (second.1.at, "second point"), message);
        }
    }

    pub(super) fn credible_turn_off(&mut self, gate: &Gate) {
        let (Some(off), Some(on)) = (gate.turn_off_delay, gate.turn_on_delay) else { return };
        if 0.0 < off.value.si() && off.value.si() < LEAST_TURN_OFF * on.value.si() {
            let message = "no device turns off in half the time in which it turns on: `turn_off_delay` is the longest, `turn_on_delay` the shortest";
            self.contradict((off.at, "`turn_off_delay`"), (on.at, "`turn_on_delay`"), message);
        }
    }

    /// What the inductance and the resistance of a winding come to together.
    pub(super) fn credible_time_constant(
        &mut self,
        (key, inductance): (&'static str, Option<Given<Inductance>>),
        resistance: Option<Given<Resistance>>,
    ) {
        let (Some(inductance), Some(resistance)) = (inductance, resistance) else { return };
        let seconds = inductance.value.si() / resistance.value.si();
        let said = if 0.0 < seconds && seconds < OF_WINDINGS.0 {
            "less than 0.1 ms"
        } else if OF_WINDINGS.1 < seconds && seconds.is_finite() {
            "more than 5 s"
        } else {
            return;
        };
        let message = format!("a current of this machine would take {said} to fade, as in no winding");
        self.contradict((resistance.at, "`phase_resistance`"), (inductance.at, key), &message);
    }

    pub(super) fn credible_leakage(
        &mut self,
        leakage: Option<Given<Inductance>>,
        magnetising: Option<Given<Inductance>>,
    ) {
        let (Some(leakage), Some(magnetising)) = (leakage, magnetising) else { return };
        let share = leakage.value.si() / magnetising.value.si();
        if 0.0 < share && share < LEAST_LEAKAGE {
            let message = "a transformer leaks more than a hundred-thousandth of what it magnetises";
            let (at, also) = (leakage.at, magnetising.at);
            self.contradict((at, "`leakage_inductance`"), (also, "`magnetising_inductance`"), message);
        }
    }

    /// A bar, against the current that it is said to carry for good.
    pub(super) fn credible_density(
        &mut self,
        width: Option<Given<Length>>,
        thickness: Option<Given<Length>>,
        current: Option<&ConductorCurrent>,
    ) {
        let rated = current.and_then(|current| current.continuous);
        let (Some(width), Some(thickness), Some(rated)) = (width, thickness, rated) else { return };
        // A side that no bar has is told of itself.
        if width.value.si() > MOST_WIDE || thickness.value.si() > OF_BARS.0 {
            return;
        }
        self.density((width.at, "`width`"), width.value.si() * thickness.value.si(), rated);
    }

    pub(super) fn credible_section(&mut self, area: Option<Given<Area>>, current: Option<&ConductorCurrent>) {
        let rated = current.and_then(|current| current.continuous);
        let (Some(area), Some(rated)) = (area, rated) else { return };
        self.density((area.at, "`section`"), area.value.si(), rated);
    }

    fn density(&mut self, stated: (NodeId, &str), section: f64, rated: Given<Current>) {
        let density = Current::si(rated.value) / section;
        if !(0.0 < density && density < LEAST_DENSITY) {
            return;
        }
        let message = "the current that it carries for good is less than 0.1 A/mm² of its section";
        self.contradict(stated, (rated.at, "`continuous`"), message);
    }

    pub(super) fn credible_height(&mut self, key: &str, height: Option<Given<Length>>) {
        self.at_most(key, height, |height| height.si().abs(), (MOST_HIGH, "a height of at most 5 m"));
    }

    /// Sides of a bar or a foil.
    pub(super) fn credible_sides(
        &mut self,
        width: Option<Given<Length>>,
        (thickness, most): (Option<Given<Length>>, (f64, &str)),
    ) {
        self.at_most("width", width, Length::si, (MOST_WIDE, "a width of at most 1 m"));
        self.at_most("thickness", thickness, Length::si, most);
    }
}
