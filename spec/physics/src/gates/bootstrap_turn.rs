//! A bootstrap over a turn of a bridge, carrier period by carrier period: near the crest of its leg the low side has little time
//! or none, and beside it enough.

use core::f64::consts::TAU;

use crate::gates::bootstrap::Taken;
use crate::{Capacitance, Frequency, Law, Modulation, Resistance, Time, Voltage};

/// Law of [`over_a_turn`].
pub static OVER_A_TURN: Law = Law {
    name: "fall of a bootstrap capacitor over a turn of a bridge",
    formula: "y_k = (y_(k−1)·e^(−t_(k−1)/(R·C)) + (Q_g + Q_shift + I·d_k/f)/C, t_k = (1 − d_k)/f − 2·t_d or none, d_k = (1 + reference)/2 at most 1; the largest y_k",
    validity: "a period in the middle of each crest of the reference; constant drops; edges as long as the low side is asked for any time; diodes that carry the current in a dead time left out, which reads high",
    source: "balance of charge, period by period; compared with stepping of the pulses",
};

/// Sine of a third of a turn.
const SIN_THIRD: f64 = 0.866_025_403_784_438_6;
/// Share of its largest fall that may be left over for the next turn.
const NEGLIGIBLE: f64 = 1e-4;

/// Carrier periods in a turn up to which it is gone through.
pub const MOST_PERIODS: f64 = 1000.0;

/// A leg of a bridge that turns.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Leg {
    /// Index and kind of its modulation.
    pub index: f64,
    /// Kind of its modulation.
    pub modulation: Modulation,
    /// Carrier frequency.
    pub carrier: Frequency,
    /// Frequency of the output, not zero.
    pub output: Frequency,
    /// Dead time.
    pub dead_time: Time,
}

/// What comes of a turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turn {
    /// Largest fall below what it is charged towards.
    pub fall: Voltage,
    /// Longest time without a recharge.
    pub on: Time,
    /// Shortest recharge that there is.
    pub recharge: Time,
}

/// The fall over a turn; none above [`MOST_PERIODS`], and where nothing recharges it in all of the turn. See [`OVER_A_TURN`].
#[must_use]
pub fn over_a_turn(
    leg: &Leg,
    taken: &Taken,
    capacitance: Capacitance,
    resistance: Resistance,
) -> Option<Turn> {
    let ratio = leg.carrier / leg.output.abs();
    if ratio.is_nan() || ratio > MOST_PERIODS {
        return None;
    }
    // From the trough of the reference to the next one, so that a period lies in the middle of its crest.
    let half = (0.5 * ratio).floor();
    let mut course = Course { now: 0.0, most: 0.0, since: 0.0, longest: 0.0, shortest: f64::INFINITY };
    let step = Steps::new(leg, taken, capacitance, resistance, ratio);
    step.go_through(half, &mut course);
    // What the first turn leaves is there as the second begins.
    if course.now > NEGLIGIBLE * course.most {
        step.go_through(half, &mut course);
    }
    let Course { most, longest, shortest, .. } = course;
    shortest.is_finite().then(|| Turn {
        fall: Voltage::new(most),
        on: Time::new(longest),
        recharge: Time::new(shortest),
    })
}

/// Where it stands within a turn: the fall, and times since and of recharges.
struct Course {
    now: f64,
    most: f64,
    since: f64,
    longest: f64,
    shortest: f64,
}

/// What each carrier period does.
struct Steps {
    modulation: Modulation,
    index: f64,
    /// Angle of one period.
    angle: f64,
    period: f64,
    dead: f64,
    /// Fall by an edge, in V, and by what leaks, in V/s; rate of a recharge, in 1/s.
    edge: f64,
    leaks: f64,
    rate: f64,
}

impl Steps {
    fn new(leg: &Leg, taken: &Taken, capacitance: Capacitance, resistance: Resistance, ratio: f64) -> Self {
        Self {
            modulation: leg.modulation,
            index: leg.index,
            angle: TAU / ratio,
            period: 1.0 / leg.carrier.si(),
            dead: 2.0 * leg.dead_time.si(),
            edge: ((taken.gate + taken.shift) / capacitance).si(),
            leaks: taken.leakage.si() / capacitance.si(),
            rate: 1.0 / (resistance.si() * capacitance.si()),
        }
    }

    /// From so many periods before the crest to as many behind it.
    fn go_through(&self, half: f64, course: &mut Course) {
        let (sine, cosine) = libm::sincos(self.angle);
        let (mut s, mut c) = libm::sincos(-half * self.angle);
        let mut place = -half;
        while place <= half {
            let others = [-0.5 * c + SIN_THIRD * s, -0.5 * c - SIN_THIRD * s];
            let common =
                self.modulation.zero_sequence(self.index, place * self.angle, [c, others[0], others[1]]);
            self.period(0.5 * (1.0 + self.index * c + common), course);
            (s, c) = (s * cosine + c * sine, c * cosine - s * sine);
            place += 1.0;
        }
    }

    fn period(&self, share: f64, course: &mut Course) {
        let share = if share > 1.0 { 1.0 } else { share };
        // A leg that stays on takes no charge for an edge.
        let edge = if share < 1.0 { self.edge } else { 0.0 };
        course.now += edge + self.leaks * share * self.period;
        course.since += share * self.period;
        course.most = if course.now > course.most || course.now.is_nan() { course.now } else { course.most };
        course.longest = if course.since > course.longest { course.since } else { course.longest };
        let recharge = (1.0 - share) * self.period - self.dead;
        if recharge > 0.0 {
            course.now *= libm::exp(-recharge * self.rate);
            course.since = 0.0;
            course.shortest = if recharge < course.shortest { recharge } else { course.shortest };
        } else {
            course.since += (1.0 - share) * self.period;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Charge, Current};

    const C: Capacitance = Capacitance::new(4.7e-6);
    const R: Resistance = Resistance::new(2.2);
    const TAKEN: Taken =
        Taken { gate: Charge::new(500e-9), shift: Charge::ZERO, leakage: Current::new(2e-3) };

    fn leg(index: f64, modulation: Modulation) -> Leg {
        Leg {
            index,
            modulation,
            carrier: Frequency::new(20e3),
            output: Frequency::new(245.0),
            dead_time: Time::new(500e-9),
        }
    }

    /// Largest fall by stepping in 10 ns: a triangle of 20 kHz compared with the reference, over three turns.
    fn stepped(leg: &Leg) -> f64 {
        const STEP: f64 = 10e-9;
        let (mut fall, mut most, mut low_since) = (0.0, 0.0_f64, 0.0);
        let mut is_high = false;
        for k in 0..(3.0 / leg.output.si() / STEP) as usize {
            let time = k as f64 * STEP;
            let phase = time * leg.carrier.si();
            let triangle = 1.0 - 4.0 * (phase - phase.floor() - 0.5).abs();
            let reference = leg.modulation.reference(leg.index, TAU * leg.output.si() * time);
            let wants = reference > -triangle;
            if wants && !is_high {
                fall += TAKEN.gate.si() / C.si();
            }
            if wants != is_high {
                low_since = time;
            }
            is_high = wants;
            if is_high {
                fall += TAKEN.leakage.si() * STEP / C.si();
            } else if time - low_since > 2.0 * leg.dead_time.si() {
                fall -= fall * STEP / (R.si() * C.si());
            }
            most = most.max(fall);
        }
        most
    }

    #[test]
    fn it_falls_as_far_as_stepping_of_the_pulses_says() {
        for (index, modulation) in [
            (1.10, Modulation::SpaceVector),
            (1.14, Modulation::SpaceVector),
            (0.97, Modulation::Sinusoidal),
            (1.12, Modulation::ThirdHarmonic),
            (0.8, Modulation::SpaceVector),
        ] {
            let leg = leg(index, modulation);
            let own = over_a_turn(&leg, &TAKEN, C, R).expect("a turn").fall.si();
            let stepped = stepped(&leg);
            assert!((0.97..1.12).contains(&(own / stepped)), "{index} {modulation:?}: {own} {stepped}");
        }
    }

    #[test]
    fn at_standstill_and_where_the_low_side_never_conducts_there_is_no_turn() {
        let still = Leg { output: Frequency::ZERO, ..leg(0.5, Modulation::SpaceVector) };
        assert_eq!(over_a_turn(&still, &TAKEN, C, R), None);
        let slow = Leg { dead_time: Time::new(25e-6), ..leg(0.1, Modulation::SpaceVector) };
        assert_eq!(over_a_turn(&slow, &TAKEN, C, R), None);
    }
}
