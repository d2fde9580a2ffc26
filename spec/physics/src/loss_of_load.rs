//! How high a bus rises once what took its power has opened: up to the trip by what machines go on recovering, and after
//! all gates are off by what windings and chokes still hold and what turning machines rectify.

use crate::{Capacitance, Current, Frequency, Inductance, Law, Power, Time, Voltage};

/// Law of [`held_power`].
pub static HELD_POWER: Law = Law {
    name: "voltage of a bank that a held power charges",
    formula: "v² = v_0² + 2·P·t/C",
    validity: "power held by the control, nothing else takes it; capacitance at the low end of its tolerance",
    source: "energy of a capacitance",
};

/// Law of [`gates_off`].
pub static GATES_OFF: Law = Law {
    name: "highest voltage of a bus after all gates are off",
    formula: "L·di_k/dt = e_k + n − p_k, C·dv/dt = Σ i into the positive rail, stepped; p_k = v or 0 as the diode conducts, Σ i_k = 0; L·di/dt of a choke = v_low − v or −v_low; at least the crest of the line voltage",
    validity: "ideal diodes, resistance left out, speed and magnets constant; currents in phase with the back-EMF and the worst of four angles, which is on the high side; nothing takes the charge",
    source: "circuit of a machine behind a diode bridge; own derivation, compared with a fine simulation with diodes as resistances",
};

/// Law of [`emptied`].
pub static EMPTIED: Law = Law {
    name: "highest voltage of a bus that was fed, after all gates are off",
    formula: "v² = v_0² + (Σ 3/2·L·Î² + Σ L·I²·v_0/(v_0 − V_low))/C",
    validity: "a bound: what windings of driven machines and chokes hold goes into the bank whole, a choke is driven on by the voltage behind it as long as at first; resistance, and the back-EMF that takes a part, left out",
    source: "energy of an inductance; own derivation",
};

/// A machine as all gates go off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Winding {
    /// Crest of the voltage of a phase without current.
    pub back_emf: Voltage,
    /// Its electrical frequency.
    pub frequency: Frequency,
    /// Inductance of a phase.
    pub inductance: Inductance,
    /// Crest of the phase current.
    pub crest: Current,
    /// Currents out of the machine while it is stepped, of each phase on each course.
    currents: [[f64; ANGLES]; 3],
    /// Cosine and sine of the angle in the middle of a step, on each course, and of that by which each step turns it.
    turned: [[f64; ANGLES]; 2],
    on: (f64, f64),
}

impl Winding {
    /// A machine that turns with so much current in it.
    #[must_use]
    pub const fn new(
        back_emf: Voltage,
        frequency: Frequency,
        inductance: Inductance,
        crest: Current,
    ) -> Self {
        let still = [0.0; ANGLES];
        let (currents, turned) = ([still; 3], [still; 2]);
        Self { back_emf, frequency, inductance, crest, currents, turned, on: (1.0, 0.0) }
    }

    fn is_known(&self) -> bool {
        let Self { back_emf, frequency, inductance, crest, .. } = self;
        [back_emf.si(), frequency.si(), inductance.si(), crest.si()].iter().all(|known| known.is_finite())
    }

    /// Crest of the voltage between two terminals without current.
    fn line_crest(&self) -> f64 {
        3.0f64.sqrt() * self.back_emf.si().abs()
    }
}

/// Chokes of a stage as its gates go off, side by side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Choke {
    /// Inductance of all of them side by side.
    pub inductance: Inductance,
    /// Current of all of them into the bus.
    pub current: Current,
    /// Voltage that drives it on: that of the low bus where the current flows to the high one, else zero.
    pub behind: Voltage,
    /// Current while it is stepped, on each course.
    now: [f64; ANGLES],
}

impl Choke {
    /// Chokes whose current flows into the bus.
    #[must_use]
    pub const fn new(inductance: Inductance, current: Current, behind: Voltage) -> Self {
        Self { inductance, current, behind, now: [0.0; ANGLES] }
    }

    fn is_known(&self) -> bool {
        [self.inductance.si(), self.current.si(), self.behind.si()].iter().all(|known| known.is_finite())
    }
}

/// Voltage after a time. See [`HELD_POWER`].
#[inline]
#[must_use]
pub fn held_power(capacitance: Capacitance, from: Voltage, power: Power, time: Time) -> Voltage {
    Voltage::new((from.si() * from.si() + 2.0 * power.si() * time.si() / capacitance.si()).sqrt())
}

/// Time until a voltage is reached.
///
/// `t = C·(v² − v_0²)/(2·P); zero where it is there already`. Valid: power held by the control, nothing else takes it;
/// capacitance at the low end of its tolerance. Source: energy of a capacitance.
#[inline]
#[must_use]
pub fn time_to_reach(capacitance: Capacitance, (from, to): (Voltage, Voltage), power: Power) -> Time {
    let (from, to) = (from.si(), to.si());
    let seconds = 0.5 * capacitance.si() * (to * to - from * from) / power.si();
    Time::new(if seconds < 0.0 { 0.0 } else { seconds })
}

/// Highest voltage of a bus that stages fed, with machines that took power and chokes that brought it: what both hold
/// goes into the bank. Not a number where anything is missing, or a choke is not held back. See [`EMPTIED`].
#[must_use]
pub fn emptied(capacitance: Capacitance, start: Voltage, windings: &[Winding], chokes: &[Choke]) -> Voltage {
    let (farad, start) = (capacitance.si(), start.si());
    let of_winding = |one: &Winding| 1.5 * one.inductance.si() * one.crest.si() * one.crest.si();
    let of_choke = |one: &Choke| {
        let against = start - one.behind.si();
        let helped = if against > 0.0 { start / against } else { f64::NAN };
        one.inductance.si() * one.current.si() * one.current.si() * helped
    };
    let held: f64 = windings.iter().map(of_winding).chain(chokes.iter().map(of_choke)).sum();
    Voltage::new((start * start + held / farad).sqrt())
}

/// Angles of the rotor, within the sixth of a turn after which everything recurs, from which the course is stepped.
const ANGLES: usize = 4;
/// Steps of a sixth of a turn, of a swing over one radian, and of the time in which currents decay.
const FINE: f64 = 64.0;
/// Most steps from one angle.
const MOST_STEPS: u32 = 6000;
/// A third of a turn.
const THIRD: f64 = core::f64::consts::TAU / 3.0;

/// Highest voltage that the bus comes to. The currents of windings and chokes are where it works; they are set anew from
/// their crests. Not a number where anything is missing. See [`GATES_OFF`].
#[must_use]
pub fn gates_off(
    capacitance: Capacitance,
    start: Voltage,
    windings: &mut [Winding],
    chokes: &mut [Choke],
) -> Voltage {
    let (farad, start) = (capacitance.si(), start.si());
    let moves = |winding: &Winding| winding.inductance.si() > 0.0 && winding.is_known();
    let drains = |choke: &Choke| choke.inductance.si() > 0.0 && choke.is_known();
    let is_known = farad > 0.0 && start > 0.0 && start.is_finite();
    if !is_known || !windings.iter().all(moves) || !chokes.iter().all(drains) {
        return Voltage::new(f64::NAN);
    }
    let highest = windings.iter().map(Winding::line_crest).fold(start, f64::max);
    let pace = Pace::of(farad, start, windings, chokes);
    let came_to = courses((farad, start), &pace, windings, chokes);
    Voltage::new(came_to.into_iter().fold(highest, |highest, one| if one > highest { one } else { highest }))
}

/// How far a step goes, and when to end.
struct Pace {
    /// While the currents decay, for so long.
    decaying: (f64, f64),
    /// After that, until the end.
    after: (f64, f64),
}

impl Pace {
    fn of(farad: f64, start: f64, windings: &[Winding], chokes: &[Choke]) -> Self {
        let (mut step, mut decay, mut end) = (f64::INFINITY, 0.0f64, 0.0f64);
        for winding in windings {
            let henry = winding.inductance.si();
            let swing = (1.5 * henry * farad).sqrt();
            let turn = 1.0 / winding.frequency.si().abs();
            step = step.min(swing / FINE).min(turn / (6.0 * FINE));
            decay = decay.max(henry * winding.crest.si().abs() / start);
            end = end.max(swing * core::f64::consts::PI + if turn.is_finite() { turn } else { 0.0 });
        }
        for choke in chokes {
            let (henry, amps) = (choke.inductance.si(), choke.current.si().abs());
            let swing = (henry * farad).sqrt();
            step = step.min(swing / FINE);
            decay = decay.max(henry * amps / start);
            end = end.max(swing * core::f64::consts::PI);
        }
        let decaying = if decay > 0.0 { step.min(decay / FINE) } else { step };
        Self { decaying: (decaying, 4.0 * decay), after: (step, end + 4.0 * decay) }
    }
}

/// Angle of the rotor at which a course begins.
fn angle(course: usize) -> f64 {
    THIRD / 2.0 * course as f64 / ANGLES as f64
}

/// Steps all courses side by side and gives the highest voltage on each.
fn courses(
    (farad, start): (f64, f64),
    pace: &Pace,
    windings: &mut [Winding],
    chokes: &mut [Choke],
) -> [f64; ANGLES] {
    for winding in &mut *windings {
        let crest = winding.crest.si().abs();
        winding.currents = PHASES.map(|phase| core::array::from_fn(|n| crest * libm::cos(angle(n) - phase)));
    }
    for choke in &mut *chokes {
        choke.now = [choke.current.si().max(0.0); ANGLES];
    }
    let (mut volts, mut highest, mut is_over) = ([start; ANGLES], [start; ANGLES], [false; ANGLES]);
    let (mut time, mut before) = (0.0, f64::NAN);
    for _ in 0..MOST_STEPS {
        let step = if time < pace.decaying.1 { pace.decaying.0 } else { pace.after.0 };
        if step.to_bits() != before.to_bits() {
            windings.iter_mut().for_each(|winding| winding.pace(time, step));
            before = step;
        }
        let (mut amps, mut rests) = ([0.0; ANGLES], [true; ANGLES]);
        for winding in &mut *windings {
            winding.step(&volts, step, &mut amps);
            let (line_crest, [first, second, third]) = (winding.line_crest(), &winding.currents);
            for n in 0..ANGLES {
                let flows = flows(first[n]) | flows(second[n]) | flows(third[n]);
                rests[n] &= !flows & (line_crest <= volts[n]);
            }
        }
        for choke in &mut *chokes {
            for n in 0..ANGLES {
                let next = choke.now[n] + (choke.behind.si() - volts[n]) * step / choke.inductance.si();
                choke.now[n] = if next > 0.0 { next } else { 0.0 };
                amps[n] += choke.now[n];
                rests[n] &= choke.now[n] <= 0.0;
            }
        }
        for n in 0..ANGLES {
            volts[n] += amps[n] * step / farad;
            // A course that is over stays as it is.
            highest[n] = if !is_over[n] & (volts[n] > highest[n]) { volts[n] } else { highest[n] };
            is_over[n] |= rests[n];
        }
        time += step;
        if is_over == [true; ANGLES] || time > pace.after.1 {
            break;
        }
    }
    highest
}

/// Where the three phases stand.
const PHASES: [f64; 3] = [0.0, THIRD, 2.0 * THIRD];

/// Whether there is a current.
#[inline]
fn flows(amps: f64) -> bool {
    amps.abs() > 0.0
}

impl Winding {
    /// From now on it is turned by so much in each step.
    fn pace(&mut self, time: f64, step: f64) {
        let pace = core::f64::consts::TAU * self.frequency.si();
        let turned = |n: usize| angle(n) + pace * (time + 0.5 * step);
        self.turned =
            [core::array::from_fn(|n| libm::cos(turned(n))), core::array::from_fn(|n| libm::sin(turned(n)))];
        self.on = (libm::cos(pace * step), libm::sin(pace * step));
    }

    /// One step of all courses; adds the current that it sends into the positive rail. Conditions are bits that choose
    /// between two values: no course waits for another to branch, and several go through each operation at once.
    fn step(&mut self, volts: &[f64; ANGLES], step: f64, into_rail: &mut [f64; ANGLES]) {
        let (on, aside) = self.on;
        let (crest, henry) = (self.back_emf.si(), self.inductance.si());
        let [cosines, sines] = self.turned;
        let mut emf = [[0.0; ANGLES]; 3];
        for n in 0..ANGLES {
            let (cosine, sine) = (cosines[n], sines[n]);
            self.turned[0][n] = cosine * on - sine * aside;
            self.turned[1][n] = sine * on + cosine * aside;
            let (back, across) = (-0.5 * crest * cosine, 0.5 * 3.0f64.sqrt() * crest * sine);
            emf[0][n] = crest * cosine;
            emf[1][n] = back + across;
            emf[2][n] = back - across;
        }
        let amps = self.currents;
        let mut conducts = [[0u64; ANGLES]; 3];
        let mut poles = [[0.0; ANGLES]; 3];
        let mut ahead = [[0.0; ANGLES]; 3];
        let mut flows_on = [0u64; ANGLES];
        for n in 0..ANGLES {
            let flows = [0, 1, 2].map(|k: usize| over(amps[k][n].abs(), 0.0));
            let two = (flows[0] & flows[1]) | (flows[1] & flows[2]) | (flows[2] & flows[0]);
            let [first, second, third] = [emf[0][n], emf[1][n], emf[2][n]];
            let (is_second, is_below) = (over(second, first), over(first, second));
            let (larger, lesser) = (either(is_second, second, first), either(is_below, second, first));
            let (is_third, third_below) = (over(third, larger), over(lesser, third));
            let spread = either(is_third, third, larger) - either(third_below, third, lesser);
            // Where too few flow, the back-EMF of two terminals drives a current, or none.
            let begins = over(spread, volts[n]) & !two;
            let top = [!is_second & !is_third, is_second & !is_third, is_third];
            let low = [!is_below & !third_below, is_below & !third_below, third_below];
            for k in 0..3 {
                conducts[k][n] = (two & flows[k]) | (begins & (top[k] | low[k]));
                let leaves = (two & over(amps[k][n], 0.0)) | (!two & top[k]);
                poles[k][n] = either(leaves, volts[n], 0.0);
                ahead[k][n] = either(conducts[k][n], poles[k][n] - emf[k][n], 0.0);
            }
            flows_on[n] = two | begins;
        }
        let mut next = [[0.0; ANGLES]; 3];
        for n in 0..ANGLES {
            // A third terminal conducts once the neutral carries it beyond a rail.
            let open = either(conducts[1][n], emf[2][n], emf[1][n]);
            let open = either(conducts[0][n], open, emf[0][n]);
            let floats = 0.5 * (ahead[0][n] + ahead[1][n] + ahead[2][n]) + open;
            let is_above = over(floats, volts[n]);
            let joins = is_above | over(0.0, floats);
            let rail = either(is_above, volts[n], 0.0);
            let (mut sum, mut all) = (0.0, !0);
            for k in 0..3 {
                let joins = joins & !conducts[k][n];
                poles[k][n] = either(joins, rail, poles[k][n]);
                sum += either(joins, rail - emf[k][n], ahead[k][n]);
                conducts[k][n] |= joins;
                all &= conducts[k][n];
            }
            let neutral = sum / either(all, 3.0, 2.0);
            for k in 0..3 {
                let moved = amps[k][n] + (emf[k][n] + neutral - poles[k][n]) * step / henry;
                // A diode lets no current turn.
                let turns = over(poles[k][n], 0.0) ^ over(moved, 0.0);
                let moved = either(turns, 0.0, moved);
                next[k][n] = either(flows_on[n], either(conducts[k][n], moved, amps[k][n]), 0.0);
            }
        }
        // Currents sum to nothing: what a clamped one leaves over is taken from the largest.
        for n in 0..ANGLES {
            let [first, second, third] = [next[0][n], next[1][n], next[2][n]];
            let is_second = over(second.abs(), first.abs());
            let larger = either(is_second, second, first);
            let is_third = over(third.abs(), larger.abs());
            let largest = either(is_third, third, larger);
            let left = largest - (first + second + third);
            let is_kept = !(over(left, 0.0) ^ over(largest, 0.0));
            let first = either(!is_second & !is_third, left, first);
            let second = either(is_second & !is_third, left, second);
            let third = either(is_third, left, third);
            // One alone has no way back.
            let flows = [first, second, third].map(|amps| over(amps.abs(), 0.0));
            let two = (flows[0] & flows[1]) | (flows[1] & flows[2]) | (flows[2] & flows[0]);
            let is_kept = is_kept & two;
            let [first, second, third] = [first, second, third].map(|amps| either(is_kept, amps, 0.0));
            self.currents[0][n] = first;
            self.currents[1][n] = second;
            self.currents[2][n] = third;
            let [first, second, third] =
                [first, second, third].map(|amps| either(over(amps, 0.0), amps, 0.0));
            into_rail[n] += first + second + third;
        }
    }
}

/// All bits where the first lies above the second, else none.
#[inline(always)]
fn over(one: f64, other: f64) -> u64 {
    if one > other { !0 } else { 0 }
}

/// One of two, by all bits or none.
#[inline(always)]
fn either(is_first: u64, first: f64, second: f64) -> f64 {
    f64::from_bits((first.to_bits() & is_first) | (second.to_bits() & !is_first))
}
