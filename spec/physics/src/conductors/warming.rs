//! How far a conductor warms in a limited time.
//!
//! Its copper is one body: what flows in and does not leave warms it. On the way to where it settles the distance that is
//! left fades at a rate that follows from the balance at either end of a step, so that a step of any length stays on this
//! side of it.

use crate::conductors::{copper, free_air};
use crate::{Area, HeatCapacity, Law, Length, Power, Resistance, Temperature, Time};

/// Law of [`after`].
pub static WARMING: Law = Law {
    name: "temperature of a conductor while a current flows",
    formula: "C·dT/dt = I²·R(T) − P(T), P what leaves it at T as where it settles",
    validity: "copper as one body, its surroundings as they are; short steps, within 0.2 K of shorter ones",
    source: "balance of energy",
};

/// Heat that a cubic metre of copper holds for each kelvin, in J/(m³·K).
const COPPER: f64 = 3.45e6;
/// Temperature that resistances of cables are stated at.
const COLD: Temperature = Temperature::celsius(20.0);
/// Share of the way that one step may go, as an exponent.
const STEP: f64 = 0.35;
/// Rates at both ends of a step differ by no more than this share, or the step is halved, so many times at most.
const ALIKE: f64 = 0.06;
const HALVES: usize = 8;
/// What is left after so many time constants is nothing.
const SETTLED_AFTER: f64 = 25.0;
/// Nearer than this, in K, it has settled.
const NEAR: f64 = 1e-7;
/// Steps after which it counts as settled.
const MOST_STEPS: usize = 4000;

/// Heat capacity of a solid copper conductor.
///
/// `C = 3.45 MJ/(m³·K)·S·l; of a cable S = ρ_20·l/R_20, the copper that its resistance leaves`. Valid: copper alone:
/// insulation, laminate and supports hold heat as well, so that it warms no faster than this. Source: IEC 60949:
/// volumetric heat capacity of copper.
#[inline]
pub fn heat_capacity(section: Area, length: Length) -> HeatCapacity {
    HeatCapacity::new(COPPER * section.si() * length.si())
}

/// Heat capacity of the copper of a cable or a winding of this resistance at 20 °C.
#[inline]
pub fn of_resistance(length: Length, at_20: Resistance) -> HeatCapacity {
    HeatCapacity::new(COPPER * copper::resistivity(COLD) * length.si() * length.si() / at_20.si())
}

/// Heat capacity of a winding of this section and resistance, which is stated at a temperature: its length follows from
/// both.
#[inline]
pub fn of_winding(section: Area, resistance: Resistance, at: Temperature) -> HeatCapacity {
    let length = Length::new(resistance.si() * section.si() / copper::resistivity(at));
    heat_capacity(section, length)
}

/// Temperature after a time in which it moves from `start` towards `settles`, where `net`, what flows in less what leaves
/// at a temperature, is zero; never beyond it. `settles` may be a temperature that it only would come to if more went in.
///
/// Not a number where something is not known. See [`WARMING`].
pub fn after(
    start: Temperature,
    settles: Temperature,
    lasts: Time,
    capacity: HeatCapacity,
    net: impl Fn(Temperature) -> Power,
) -> Temperature {
    let (mut now, end, capacity) = (start.in_celsius(), settles.in_celsius(), capacity.si());
    let mut left = lasts.si();
    let unknown = |value: f64| !value.is_finite();
    if [now, end, capacity, left].into_iter().any(unknown) {
        return Temperature::celsius(f64::NAN);
    }
    // Share of the distance that fades in a second.
    let fades = |now: f64| net(Temperature::celsius(now)).si() / ((end - now) * capacity);
    for _ in 0..MOST_STEPS {
        if left <= 0.0 {
            return Temperature::celsius(now);
        }
        let gap = end - now;
        if gap.abs() < NEAR {
            return settles;
        }
        let begins = fades(now);
        if begins.is_nan() {
            return Temperature::celsius(f64::NAN);
        }
        // What would move away from where it settles has no way there, and counts as there already.
        if begins <= 0.0 || begins * left > SETTLED_AFTER {
            return settles;
        }
        let mut step = if begins * left > STEP { STEP / begins } else { left };
        let mut ends = fades(end - gap * libm::exp(-begins * step));
        // Where the rate itself moves, half the step and half again.
        for _ in 0..HALVES {
            if (ends - begins).abs() <= ALIKE * begins {
                break;
            }
            step *= 0.5;
            ends = fades(end - gap * libm::exp(-begins * step));
        }
        let both = if ends > 0.0 { 0.5 * (begins + ends) } else { begins };
        now = end - gap * libm::exp(-both * step);
        left -= step;
    }
    settles
}

/// The temperature in which a cycle begins that returns to where it began: `cycle` gives what it ends with. `least` is
/// the coldest that it may be.
pub fn returning(least: Temperature, cycle: impl Fn(Temperature) -> Temperature) -> Temperature {
    free_air::balanced(least, |begins| cycle(begins).in_celsius() - begins.in_celsius())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fuse;

    /// A body of 100 J/K with 0.5 W/K to air of 40 °C and 20 W: settles at 80 °C with 200 s.
    fn linear(lasts: f64, start: f64) -> f64 {
        let net = |now: Temperature| Power::new(20.0 - 0.5 * (now.in_celsius() - 40.0));
        let (start, end) = (Temperature::celsius(start), Temperature::celsius(80.0));
        after(start, end, Time::new(lasts), HeatCapacity::new(100.0), net).in_celsius()
    }

    #[test]
    fn a_straight_line_fades_as_an_exponential() {
        for (lasts, start) in [(1.0, 40.0), (50.0, 40.0), (200.0, 40.0), (200.0, 120.0), (1e6, 40.0)] {
            let by_hand = 80.0 + (start - 80.0) * libm::exp(-lasts / 200.0);
            assert!((linear(lasts, start) - by_hand).abs() < 1e-6, "{lasts} s from {start}");
        }
    }

    #[test]
    fn without_a_way_out_it_ends_where_the_integral_of_the_current_says() {
        // IEC 60949 takes 226 A·√s/mm² for copper; so much I²t warms it from 70 to 160 °C.
        let section = Area::new(16e-6);
        let (cold, hot) = (Temperature::celsius(70.0), Temperature::celsius(160.0));
        let amps = (fuse::withstood(section, cold, hot) / 2.0).sqrt();
        let ohms = |now| copper::section_resistance(section, Length::new(1.0), now).si();
        let melts = Temperature::celsius(1084.0);
        let capacity = heat_capacity(section, Length::new(1.0));
        let end = after(cold, melts, Time::new(2.0), capacity, |now| Power::new(amps * amps * ohms(now)))
            .in_celsius();
        assert!((end - 160.0).abs() < 0.3, "{end}");
    }

    #[test]
    fn a_cycle_returns_to_where_it_began() {
        let rest = |now: Temperature| Power::new(-0.5 * (now.in_celsius() - 40.0));
        let cycle = |begins: Temperature| {
            let hot = Temperature::celsius(linear(30.0, begins.in_celsius()));
            after(hot, Temperature::celsius(40.0), Time::new(70.0), HeatCapacity::new(100.0), rest)
        };
        let begins = returning(Temperature::celsius(40.0), cycle).in_celsius();
        // Peak of a settled train of pulses, less what fades until the next.
        let fades = |seconds: f64| libm::exp(-seconds / 200.0);
        let by_hand = 40.0 + 40.0 * (1.0 - fades(30.0)) / (1.0 - fades(100.0)) * fades(70.0);
        assert!((begins - by_hand).abs() < 1e-3, "{begins} against {by_hand}");
    }

    #[test]
    fn what_is_not_known_stays_so() {
        let net = |_| Power::new(f64::NAN);
        let (start, end) = (Temperature::celsius(20.0), Temperature::celsius(80.0));
        let unknown = after(start, end, Time::new(1.0), HeatCapacity::new(1.0), net);
        assert!(unknown.in_celsius().is_nan());
        assert!(linear(f64::NAN, 20.0).is_nan());
    }
}
