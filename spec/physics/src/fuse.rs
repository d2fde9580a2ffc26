//! Fuses: what they carry, when they melt, and what the conductors behind them stand until then.

use crate::{
    Capacitance, Current, Law, Resistance, SquaredCurrent, Temperature, TemperatureDifference, Time, Voltage,
};

/// Law of [`derated`].
pub static DERATED: Law = Law {
    name: "continuous current of a fuse in warm air",
    formula: "I = I_n·√((T_el − T_a)/(T_el − 25 °C))·k_cycle",
    validity: "still air from 25 °C up, element at T_el when fully loaded; a maker's curve wins",
    source: "application guides of fuse makers; IEC 60269-1",
};

/// Law of [`banks_let_through`].
pub static BANKS_LET_THROUGH: Law = Law {
    name: "I²t of capacitors that discharge together",
    formula: "I²t ≤ the lesser of ΣC_k·V²/(2·(1/Σ(1/R_k) + R)), which like ones reach, and (Σ √(C_k·V²/(2·(R_k + R))))²",
    validity: "whole discharge from one voltage; a bound: the first whatever the inductance, the second without any",
    source: "balance of energy of all and of each; Minkowski's inequality",
};

/// Law of [`capacitor_peak`].
pub static CAPACITOR_PEAK: Law = Law {
    name: "peak of the current of a capacitor that discharges",
    formula: "I = V·√(C/L)·e^(−a·atan2(1, a)), a = ζ/√(1 − ζ²), ζ = R/2·√(C/L); damped I = V·√(C/L)·e^(−b·artanh(1/b)), b = ζ/√(ζ² − 1); without inductance V/R",
    validity: "constant resistance and inductance; inductance that is left out reads high",
    source: "response of a series of R, L and C",
};

/// Law of [`TimeCurrent`].
pub static TIME_CURRENT: Law = Law {
    name: "time-current curve of a fuse",
    formula: "log t along straight lines over log I between its points, currents 10 % to the cautious side",
    validity: "from cold; between the points as stated and not beyond them",
    source: "IEC 60269-1: tolerance of time-current characteristics; data sheet",
};

/// Law of [`from_cold`].
pub static FROM_COLD: Law = Law {
    name: "current from cold that melts a fuse as soon as an overload after another load",
    formula: "I_c = √((I² − I_0²)/(1 − (I_0/I_∞)²)), I_0 what it carried before, I_∞ what it carries for good",
    validity: "load before it for as long as it takes to settle; exact where heat is linear and I_∞ is where it melts at last, which is more than its continuous current, so that this reads high",
    source: "superposition of step responses",
};

/// Law of [`together`].
pub static TOGETHER: Law = Law {
    name: "I²t of currents that flow together",
    formula: "I²t ≤ (Σ √(I²t)_k)²",
    validity: "whatever their courses over time; equal where they are alike",
    source: "Minkowski's inequality",
};

/// Law of [`withstood`].
pub static WITHSTOOD: Law = Law {
    name: "I²t that a copper conductor stands",
    formula: "I²t = (k·S)², k = 226 A·√s/mm²·√(ln(1 + (T_2 − T_1)/(234.5 °C + T_1)))",
    validity: "no heat leaves it: below some seconds",
    source: "IEC 60364-5-54, IEC 60949",
};

/// Temperature that the rated current of a fuse is stated for.
const RATED_AT: Temperature = Temperature::celsius(25.0);
/// Melts at zero of this scale, in °C, and its constant in A·√s/m².
const COPPER: (f64, f64) = (234.5, 226e6);

/// Current that a fuse carries for good in warm air; missing where the air is as hot as its element, and nothing is gained
/// in cold air. See [`DERATED`].
pub fn derated(rated: Current, air: Temperature, element: Temperature, cyclic: f64) -> Current {
    let (left, whole): (TemperatureDifference, TemperatureDifference) = (element - air, element - RATED_AT);
    let share = left / whole;
    if share >= 1.0 { rated * cyclic } else { rated * share.sqrt() * cyclic }
}

/// Current that a source drives into a short circuit.
///
/// `I = V/Σ R`. Valid: direct current, once the inductance of the loop has given way; discharge of capacitors left out.
/// Source: Ohm's law.
#[inline]
pub fn prospective(source: Voltage, path: Resistance) -> Current {
    source / path
}

/// I²t in A²s of a capacitor that discharges through a resistance.
///
/// `I²t = C·V²/(2·R)`. Valid: whole discharge into a resistance, whatever the inductance; exact. Source: balance of
/// energy.
#[inline]
pub fn capacitor_let_through(capacitance: Capacitance, voltage: Voltage, path: Resistance) -> f64 {
    0.5 * capacitance.si() * voltage.si() * voltage.si() / path.si()
}

/// Bound for the I²t in A²s of capacitors that discharge together through a resistance that all share, each before it through
/// one of its own. See [`BANKS_LET_THROUGH`].
pub fn banks_let_through(
    banks: impl Iterator<Item = (Capacitance, Resistance)>,
    voltage: Voltage,
    path: Resistance,
) -> f64 {
    let (mut farads, mut conducts, mut roots) = (Capacitance::ZERO, 0.0, 0.0);
    for (farad, own) in banks {
        farads = farads + farad;
        conducts += 1.0 / own.si();
        roots += capacitor_let_through(farad, voltage, own + path).sqrt();
    }
    let of_all = capacitor_let_through(farads, voltage, Resistance::new(1.0 / conducts) + path);
    let of_each = roots * roots;
    if of_all <= of_each || of_all.is_nan() { of_all } else { of_each }
}

/// Peak of the current of a capacitor that discharges into a resistance and an inductance. See [`CAPACITOR_PEAK`].
pub fn capacitor_peak(
    capacitance: Capacitance,
    voltage: Voltage,
    path: Resistance,
    inductance: crate::Inductance,
) -> Current {
    let (farad, ohms, henry) = (capacitance.si(), path.si(), inductance.si());
    let admits = (farad / henry).sqrt();
    let damping = 0.5 * ohms * admits;
    let decays = match damping {
        damping if !damping.is_finite() || henry == 0.0 => return voltage / path,
        damping if damping < 1.0 => {
            let share = damping / (1.0 - damping * damping).sqrt();
            share * libm::atan2(1.0, share)
        }
        damping if damping > 1.0 => {
            let share = damping / (damping * damping - 1.0).sqrt();
            share * libm::atanh(1.0 / share)
        }
        _ => 1.0,
    };
    Current::new(voltage.si() * admits * libm::exp(-decays))
}

/// What a conductor stands for the conventional time of a fuse, over what it carries for good (IEC 60364-4-43, 433.1).
const BRIEFLY_MORE: f64 = 1.45;

/// Share by which a fuse may melt at less, or only at more, than its curve says (IEC 60269-1).
pub(crate) const OF_CURVE: f64 = 0.10;

/// A time-current curve: currents over the rated one, rising, with the time in s after which each melts the fuse. See
/// [`TIME_CURRENT`].
#[derive(Clone, Copy, Debug)]
pub struct TimeCurrent<'c>(pub &'c [(f64, f64)]);

impl TimeCurrent<'_> {
    /// The largest current over the rated one that certainly does not melt it within a time: of a time that is shorter than
    /// all of the curve, that of the shortest; missing for one that is longer.
    pub fn stands(&self, lasts: Time) -> f64 {
        let (Some(&(_, longest)), Some(&(most, shortest))) = (self.0.first(), self.0.last()) else {
            return f64::NAN;
        };
        let lasts = lasts.si();
        let current = match lasts {
            lasts if lasts <= shortest => most,
            lasts if lasts <= longest => {
                between(self.0.iter().rev().map(|&(load, time)| (time, load)), lasts)
            }
            _ => f64::NAN,
        };
        current * (1.0 - OF_CURVE)
    }

    /// The least current over the rated one that certainly melts it.
    pub fn least(&self) -> f64 {
        self.0.first().map_or(f64::NAN, |&(load, _)| load * (1.0 + OF_CURVE))
    }

    /// The latest that a current over the rated one melts it; missing beyond the curve.
    pub fn melts_after(&self, load: f64) -> Time {
        let load = load / (1.0 + OF_CURVE);
        Time::new(between(self.0.iter().copied(), load))
    }

    /// The least current over the rated one that certainly melts it within a time: of a time that is longer than all of the
    /// curve, the least that does at all; infinite for one that is shorter, since the curve says of none that it does.
    pub fn melts_within(&self, time: Time) -> f64 {
        let (Some(&(least, longest)), Some(&(_, shortest))) = (self.0.first(), self.0.last()) else {
            return f64::NAN;
        };
        let time = time.si();
        let load = match time {
            time if time >= longest => least,
            time if time >= shortest => between(self.0.iter().rev().map(|&(load, time)| (time, load)), time),
            time if time < shortest => f64::INFINITY,
            _ => f64::NAN,
        };
        load * (1.0 + OF_CURVE)
    }

    /// I²t, over the square of the rated current, that certainly has passed when a current has melted it: the most of all
    /// currents from `load` up to the largest that anything drives, of those that melt it within `within`; missing where there
    /// is none on the curve. A largest that is not known bounds nothing.
    pub fn most_let_through(&self, load: f64, largest: f64, within: Time) -> f64 {
        let largest = if largest.is_nan() { f64::INFINITY } else { largest };
        let is_driven = |at: f64| load <= at && at <= largest;
        // Of a current below the curve it is the curve's end that is not known, of one above it there is none left.
        let at_ends = [load, largest].map(|at| (at, self.melts_after(at).si()));
        let at_ends = at_ends.into_iter().filter(|&(at, time)| is_driven(at) && time <= within.si());
        let of_points = self.0.iter().map(|&(at, time)| (at * (1.0 + OF_CURVE), time));
        let of_points = of_points.filter(|&(at, time)| is_driven(at) && time <= within.si());
        // The slowest that counts lies between two points.
        let last = between(self.0.iter().rev().map(|&(at, time)| (time, at)), within.si()) * (1.0 + OF_CURVE);
        let last = is_driven(last).then_some((last, within.si()));
        let all = at_ends.chain(last).chain(of_points).map(|(load, time)| load * load * time);
        all.fold(f64::NAN, |most, each| if most >= each { most } else { each })
    }
}

/// On straight lines between points, rising in the first number, both as logarithms; missing beyond them.
fn between(points: impl Iterator<Item = (f64, f64)> + Clone, at: f64) -> f64 {
    let after = points.clone().skip(1);
    for ((x, y), (next_x, next_y)) in points.zip(after) {
        if x <= at && at <= next_x {
            let share = libm::log(at / x) / libm::log(next_x / x);
            return y * libm::exp(share * libm::log(next_y / y));
        }
    }
    f64::NAN
}

/// The current from cold that melts a fuse as soon as an overload does after a load that has settled, where it carries so
/// much for good; what it carries for good anyway is taken as it is, and infinite where the load before is as much already.
/// See [`FROM_COLD`].
///
/// A step from `before` to `current` heats as `before` for good and the rest for a while do: `before²·g(∞) + (current² −
/// before²)·g(t)`. It melts where that is `for_good²·g(∞)`, and from cold where `from_cold²·g(t)` is.
pub fn from_cold(current: Current, before: Current, for_good: Current) -> Current {
    let (now, before, good) = (current.si().abs(), before.si().abs(), for_good.si());
    if now <= good {
        return Current::new(now);
    }
    let left = 1.0 - (before / good) * (before / good);
    if left <= 0.0 {
        return Current::new(f64::INFINITY);
    }
    Current::new(((now * now - before * before) / left).sqrt())
}

/// The current after a load that has settled which melts a fuse as soon as another from cold; that of [`from_cold`] backwards.
pub fn after_load(from_cold: Current, before: Current, for_good: Current) -> Current {
    let (cold, before, good) = (from_cold.si(), before.si().abs(), for_good.si());
    if cold <= good {
        return from_cold;
    }
    let left = 1.0 - (before / good) * (before / good);
    // What it carries for good already leaves nothing for an overload.
    if left <= 0.0 { for_good } else { Current::new((cold * cold * left + before * before).sqrt()) }
}

/// The least that a conductor behind a fuse has to carry for good, from what the fuse carries for good and its
/// conventional fusing current over that.
///
/// `I_z ≥ I_n and I_z ≥ I_2/1.45, I_2 the conventional fusing current`. Valid: overloads alone, which the fuse has to
/// break as well; one conductor for each fuse. Source: IEC 60364-4-43, 433.1.
#[inline]
pub fn least_carried(continuous: Current, conventional: f64) -> Current {
    let by_fusing = conventional / BRIEFLY_MORE;
    if by_fusing <= 1.0 { continuous } else { continuous * by_fusing }
}

/// I²t of currents that flow through one place together, from that of each, in A²s. See [`TOGETHER`].
pub fn together(each: impl Iterator<Item = f64>) -> f64 {
    let root: f64 = each.map(f64::sqrt).sum();
    root * root
}

/// Time after which a rising current has melted a fuse of so many A²s.
///
/// `(V/R)²·(t − 2τ·(1 − e^(−t/τ)) + τ/2·(1 − e^(−2t/τ))) = I²t`. Valid: adiabatic: below some 10 ms. Source: integral
/// of i = V/R·(1 − e^(−t/τ)).
pub fn melting_time(end: Current, constant: Time, melting: f64) -> Time {
    let (square, tau): (SquaredCurrent, f64) = (end * end, constant.si());
    let reached = |t: f64| {
        if tau <= 0.0 {
            return square.si() * t;
        }
        let (once, twice) = (libm::expm1(-t / tau), libm::expm1(-2.0 * t / tau));
        square.si() * (t + 2.0 * tau * once - 0.5 * tau * twice)
    };
    let (mut low, mut high) = (0.0, melting / square.si() + 2.0 * tau);
    if !high.is_finite() {
        return Time::new(f64::NAN);
    }
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if reached(middle) < melting { low = middle } else { high = middle }
    }
    Time::new(0.5 * (low + high))
}

/// k of a copper conductor between two temperatures, in A·√s/m². See [`WITHSTOOD`].
pub fn adiabatic_constant(from: Temperature, to: Temperature) -> f64 {
    let (from, to) = (from.in_celsius(), to.in_celsius());
    COPPER.1 * libm::log(1.0 + (to - from) / (COPPER.0 + from)).sqrt()
}

/// I²t in A²s that a copper conductor of a section in m² stands between two temperatures; missing where it starts hotter
/// than it may end. See [`WITHSTOOD`].
pub fn withstood(section: crate::Area, from: Temperature, to: Temperature) -> f64 {
    let root = adiabatic_constant(from, to) * section.si();
    root * root
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cold_air_gains_nothing_and_air_as_hot_as_the_element_leaves_nothing() {
        let (rated, element) = (Current::new(400.0), Temperature::celsius(140.0));
        let at = |air| derated(rated, Temperature::celsius(air), element, 1.0).si();
        assert!((at(-20.0) - 400.0).abs() < 1e-9);
        assert!((at(25.0) - 400.0).abs() < 1e-9);
        assert!(at(140.0).abs() < 1e-9);
        assert!(at(150.0).is_nan() && at(f64::NAN).is_nan());
    }

    #[test]
    fn without_inductance_a_fuse_melts_after_its_integral() {
        let at_once = melting_time(Current::new(5000.0), Time::new(0.0), 25_000.0);
        assert!((at_once.si() - 1e-3).abs() < 1e-12);
        assert!(melting_time(Current::new(5000.0), Time::new(1e-4), 25_000.0).si() > at_once.si());
        assert!(melting_time(Current::new(f64::NAN), Time::new(0.0), 1.0).si().is_nan());
    }

    /// 2, 4 and 10 times the rated current for 100 s, 5 s and 50 ms.
    const CURVE: TimeCurrent<'_> = TimeCurrent(&[(2.0, 100.0), (4.0, 5.0), (10.0, 0.05)]);

    #[test]
    fn a_curve_is_straight_between_its_points_as_logarithms_and_ends_with_them() {
        // Halfway between 100 and 5 s is √500 s, and √8 times the rated current; ten per cent less is safe.
        let stands = |lasts| CURVE.stands(Time::new(lasts));
        assert!((stands(500.0_f64.sqrt()) - 0.9 * 8.0_f64.sqrt()).abs() < 1e-9);
        assert!((stands(100.0) - 1.8).abs() < 1e-9 && (stands(1e-3) - 9.0).abs() < 1e-9);
        assert!(stands(101.0).is_nan() && stands(f64::NAN).is_nan());
        let melts = |load| CURVE.melts_after(load).si();
        assert!((melts(1.1 * 8.0_f64.sqrt()) - 500.0_f64.sqrt()).abs() < 1e-6);
        assert!(melts(2.0).is_nan() && melts(12.0).is_nan());
        assert!((CURVE.least() - 2.2).abs() < 1e-12);
        assert!(TimeCurrent(&[]).stands(Time::new(1.0)).is_nan());
        // What certainly melts it within a time is 10 % above the curve.
        let within = |time| CURVE.melts_within(Time::new(time));
        assert!((within(500.0_f64.sqrt()) - 1.1 * 8.0_f64.sqrt()).abs() < 1e-9);
        assert!((within(1e4) - 2.2).abs() < 1e-12 && within(0.01).is_infinite() && within(f64::NAN).is_nan());
    }

    /// An element on a body, both linear, stepped through time until the element melts; in A and s.
    fn melts_after(before: f64, current: f64) -> f64 {
        // Element and body in K/W, s, and the temperature at which it melts: 1 A for good makes 1 W.
        let stages = [(30.0, 2.0), (70.0, 60.0)];
        let melts = 130.0 * 130.0 * 100.0;
        let mut rises = stages.map(|(ohms, _)| before * before * ohms);
        let (step, mut time) = (1e-3, 0.0);
        while rises.iter().sum::<f64>() < melts && time < 1000.0 {
            for (rise, (ohms, constant)) in rises.iter_mut().zip(stages) {
                *rise += step * (current * current * ohms - *rise) / constant;
            }
            time += step;
        }
        time
    }

    #[test]
    fn an_overload_after_a_load_melts_as_soon_as_a_larger_one_from_cold() {
        for (before, current) in [(0.0, 300.0), (60.0, 300.0), (100.0, 200.0), (120.0, 150.0)] {
            let [now, earlier, good] = [current, before, 130.0].map(Current::new);
            let as_soon = from_cold(now, earlier, good).si();
            let (after, cold) = (melts_after(before, current), melts_after(0.0, as_soon));
            assert!((after / cold - 1.0).abs() < 2e-3, "{before} {current}: {after} s against {cold} s");
            // With less than it melts at in the end, the current from cold reads high.
            assert!(from_cold(now, earlier, Current::new(125.0)).si() >= as_soon);
        }
        let amps =
            |now, earlier| from_cold(Current::new(now), Current::new(earlier), Current::new(100.0)).si();
        assert!((amps(90.0, 50.0) - 90.0).abs() < 1e-12, "what it carries for good is no overload");
        let back =
            |cold, earlier| after_load(Current::new(cold), Current::new(earlier), Current::new(100.0)).si();
        assert!((back(amps(300.0, 60.0), 60.0) - 300.0).abs() < 1e-9);
        assert!((back(80.0, 60.0) - 80.0).abs() < 1e-12 && (back(300.0, 100.0) - 100.0).abs() < 1e-12);
        assert!(back(f64::NAN, 60.0).is_nan() && back(300.0, f64::NAN).is_nan());
        assert!(amps(150.0, 100.0).is_infinite());
        assert!(amps(f64::NAN, 50.0).is_nan());
    }

    #[test]
    fn slow_currents_let_most_through() {
        // From 4.4 times up, melting within 5 s: 4.4²·5 s at the lower end, 11²·0.05 s at the upper.
        let most = CURVE.most_let_through(4.4, f64::NAN, Time::new(5.0));
        assert!((most - 4.4 * 4.4 * 5.0).abs() < 1e-9, "{most}");
        // What melts it too slowly for copper that keeps its heat does not count, what is faster does.
        let slow = CURVE.most_let_through(3.0, f64::NAN, Time::new(5.0));
        assert!((slow - 4.4 * 4.4 * 5.0).abs() < 1e-9, "{slow}");
        assert!(CURVE.most_let_through(20.0, f64::NAN, Time::new(5.0)).is_nan());
        // The current that takes just so long counts where no point of the curve says it: on the line from 2 times the rated
        // current and 100 s to 10 times and 50 ms, 5 s belong to 3.7714 times, and to 10 % more.
        let coarse = TimeCurrent(&[(2.0, 100.0), (10.0, 0.05)]);
        let most = coarse.most_let_through(3.0, f64::NAN, Time::new(5.0));
        let at = 3.7714 * 1.1;
        assert!((most / (at * at * 5.0) - 1.0).abs() < 1e-4, "{most}");
        // What no source drives lets nothing through: of a curve that flattens the end counts no further than they do.
        let flat = TimeCurrent(&[(4.0, 1.0), (10.0, 0.5), (40.0, 0.4)]);
        let all = flat.most_let_through(5.0, f64::INFINITY, Time::new(5.0));
        assert!((all - 44.0 * 44.0 * 0.4).abs() < 1e-9, "{all}");
        let driven = flat.most_let_through(5.0, 11.0, Time::new(5.0));
        assert!((driven - 11.0 * 11.0 * 0.5).abs() < 1e-9, "{driven}");
        assert!(CURVE.most_let_through(3.0, 3.5, Time::new(5.0)).is_nan(), "it melts too slowly");
    }

    #[test]
    fn the_peak_of_a_discharge_is_what_small_steps_give() {
        for (ohms, henry) in [(2e-3, 20e-9), (2e-3, 2e-6), (50e-3, 20e-9), (1e-4, 1e-6)] {
            let (farad, volts) = (660e-6, 400.0);
            let (mut left, mut amps, mut most) = (volts, 0.0_f64, 0.0_f64);
            let step = 1e-9;
            for _ in 0..400_000 {
                amps += step * (left - ohms * amps) / henry;
                left -= step * amps / farad;
                if amps > most {
                    most = amps;
                }
            }
            let peak = capacitor_peak(
                Capacitance::new(farad),
                Voltage::new(volts),
                Resistance::new(ohms),
                crate::Inductance::new(henry),
            );
            assert!((peak.si() / most - 1.0).abs() < 3e-3, "{ohms} {henry}: {} against {most}", peak.si());
        }
        let none = crate::Inductance::new(0.0);
        let bare = capacitor_peak(Capacitance::new(1e-3), Voltage::new(100.0), Resistance::new(0.01), none);
        assert!((bare.si() - 1e4).abs() < 1e-6);
    }

    #[test]
    fn a_conductor_carries_what_its_fuse_does_and_what_melts_it_for_an_hour() {
        let least = |conventional| least_carried(Current::new(100.0), conventional).si();
        // Of 100 A and 160 A: 110.3 A; a fuse that melts sooner asks for its rated current alone.
        assert!((least(1.6) - 110.344_827_586).abs() < 1e-6);
        assert!((least(1.35) - 100.0).abs() < 1e-12 && (least(1.45) - 100.0).abs() < 1e-12);
        assert!(least(f64::NAN).is_nan());
    }

    #[test]
    fn together_currents_let_more_through_than_each() {
        // Two equal ones: twice the current, four times the integral.
        assert!((together([9.0, 9.0].into_iter()) - 36.0).abs() < 1e-12);
        assert!((together([9.0].into_iter()) - 9.0).abs() < 1e-12);
    }

    #[test]
    fn a_conductor_that_starts_too_hot_stands_nothing_known() {
        let mm = crate::Area::new(1e-6);
        assert!(withstood(mm, Temperature::celsius(200.0), Temperature::celsius(160.0)).is_nan());
    }
}
