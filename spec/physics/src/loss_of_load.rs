//! How high a bus rises once what took its power has opened: up to the trip by what machines go on recovering, and after
//! all gates are off by what windings and chokes still hold and what turning machines rectify; and what these give for good to a
//! bus that something holds.

mod rectified;

pub use rectified::{RECTIFIED, rectified};

use crate::{Capacitance, Current, Frequency, Inductance, Law, Power, Time, Voltage};

/// Law of [`held_power`].
pub static HELD_POWER: Law = Law {
    name: "voltage of a bank that a held power charges",
    formula: "v² = v_0² + 2·P·t/C",
    validity: "power held by the control, nothing else takes it; capacitance at the low end of its tolerance",
    source: "energy of a capacitance",
};

/// Law of [`time_to_reach`].
pub static TIME_TO_REACH: Law = Law {
    name: "time in which a held power brings a bank to a voltage",
    formula: "t = C·(v² − v_0²)/(2·P); zero where it is there already",
    validity: HELD_POWER.validity,
    source: HELD_POWER.source,
};

/// Law of [`gates_off`].
pub static GATES_OFF: Law = Law {
    name: "highest voltage of a bus after all gates are off",
    formula: "L·di_k/dt = e_k + n − p_k, C·dv/dt = Σ i into the positive rail, stepped; p_k = v or 0 as the diode conducts, Σ i_k = 0; L·di/dt of a choke = v_low − v or −v_low; at least the crest of the line voltage",
    validity: "ideal diodes, resistance left out, speed and magnets constant; currents in phase with the back-EMF and the worst of four angles, which is on the high side; nothing takes the charge",
    source: "circuit of a machine behind a diode bridge; own derivation, compared with a fine simulation with diodes as resistances",
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
    /// Currents out of the machine while it is stepped.
    currents: [f64; 3],
    /// Cosine and sine of the angle in the middle of a step, and of that by which each step turns it.
    turned: (f64, f64),
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
        let unturned = (1.0, 0.0);
        Self { back_emf, frequency, inductance, crest, currents: [0.0; 3], turned: unturned, on: unturned }
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
    /// Current while it is stepped.
    now: f64,
}

impl Choke {
    /// Chokes whose current flows into the bus.
    #[must_use]
    pub const fn new(inductance: Inductance, current: Current, behind: Voltage) -> Self {
        Self { inductance, current, behind, now: 0.0 }
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

/// Time until a voltage is reached. See [`TIME_TO_REACH`].
#[inline]
#[must_use]
pub fn time_to_reach(capacitance: Capacitance, (from, to): (Voltage, Voltage), power: Power) -> Time {
    let (from, to) = (from.si(), to.si());
    let seconds = 0.5 * capacitance.si() * (to * to - from * from) / power.si();
    Time::new(if seconds < 0.0 { 0.0 } else { seconds })
}

/// Angles of the rotor, within the sixth of a turn after which everything recurs, from which the course is stepped.
const ANGLES: u32 = 4;
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
    let mut highest = windings.iter().map(Winding::line_crest).fold(start, f64::max);
    let pace = Pace::of(farad, start, windings, chokes);
    for angle in 0..ANGLES {
        let angle = THIRD / 2.0 * f64::from(angle) / f64::from(ANGLES);
        let came_to = course((farad, start), angle, &pace, windings, chokes);
        highest = if came_to > highest { came_to } else { highest };
    }
    Voltage::new(highest)
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

/// Steps one course and gives the highest voltage on it.
fn course(
    (farad, start): (f64, f64),
    angle: f64,
    pace: &Pace,
    windings: &mut [Winding],
    chokes: &mut [Choke],
) -> f64 {
    for winding in &mut *windings {
        let crest = winding.crest.si().abs();
        winding.currents = PHASES.map(|phase| crest * libm::cos(angle - phase));
    }
    for choke in &mut *chokes {
        choke.now = choke.current.si().max(0.0);
    }
    let (mut volts, mut highest, mut time, mut before) = (start, start, 0.0, f64::NAN);
    for _ in 0..MOST_STEPS {
        let step = if time < pace.decaying.1 { pace.decaying.0 } else { pace.after.0 };
        if step.to_bits() != before.to_bits() {
            windings.iter_mut().for_each(|winding| winding.pace(angle, time, step));
            before = step;
        }
        let mut amps = 0.0;
        let mut is_over = true;
        for winding in &mut *windings {
            amps += winding.step(volts, step);
            let flows = winding.currents.iter().any(|amps| amps.abs() > 0.0);
            is_over &= !flows && winding.line_crest() <= volts;
        }
        for choke in &mut *chokes {
            let next = choke.now + (choke.behind.si() - volts) * step / choke.inductance.si();
            choke.now = if next > 0.0 { next } else { 0.0 };
            amps += choke.now;
            is_over &= choke.now <= 0.0;
        }
        volts += amps * step / farad;
        highest = if volts > highest { volts } else { highest };
        time += step;
        if is_over || time > pace.after.1 {
            break;
        }
    }
    highest
}

/// Where the three phases stand.
const PHASES: [f64; 3] = [0.0, THIRD, 2.0 * THIRD];

impl Winding {
    /// From now on it is turned by so much in each step.
    fn pace(&mut self, angle: f64, time: f64, step: f64) {
        let pace = core::f64::consts::TAU * self.frequency.si();
        let direction = |angle: f64| (libm::cos(angle), libm::sin(angle));
        (self.turned, self.on) = (direction(angle + pace * (time + 0.5 * step)), direction(pace * step));
    }

    /// One step; the current that it sends into the positive rail.
    fn step(&mut self, volts: f64, step: f64) -> f64 {
        let ((cosine, sine), (on, aside)) = (self.turned, self.on);
        self.turned = (cosine * on - sine * aside, sine * on + cosine * aside);
        let crest = self.back_emf.si();
        let (back, across) = (-0.5 * crest * cosine, 0.5 * 3.0f64.sqrt() * crest * sine);
        let emf = [crest * cosine, back + across, back - across];
        let poles = self.poles(&emf, volts);
        let (mut sum, mut count) = (0.0, 0.0);
        for (emf, pole) in emf.iter().zip(&poles) {
            if let Some(pole) = pole {
                sum += pole - emf;
                count += 1.0;
            }
        }
        if count < 2.0 {
            self.currents = [0.0; 3];
            return 0.0;
        }
        let neutral = sum / count;
        for (k, pole) in poles.iter().enumerate() {
            let Some(pole) = pole else { continue };
            let next = self.currents[k] + (emf[k] + neutral - pole) * step / self.inductance.si();
            // A diode lets no current turn.
            let turns = (*pole > 0.0) != (next > 0.0);
            self.currents[k] = if turns { 0.0 } else { next };
        }
        self.close();
        self.currents.iter().filter(|amps| **amps > 0.0).sum()
    }

    /// What the diodes hold each terminal at; nothing where none conducts.
    fn poles(&self, emf: &[f64; 3], volts: f64) -> [Option<f64>; 3] {
        let mut poles = self.currents.map(|amps| {
            if amps > 0.0 {
                Some(volts)
            } else if amps < 0.0 {
                Some(0.0)
            } else {
                None
            }
        });
        let conducting = poles.iter().flatten().count();
        if conducting < 2 {
            let (mut top, mut low) = (0, 0);
            for k in 1..3 {
                top = if emf[k] > emf[top] { k } else { top };
                low = if emf[k] < emf[low] { k } else { low };
            }
            if emf[top] - emf[low] > volts {
                poles = [None; 3];
                (poles[top], poles[low]) = (Some(volts), Some(0.0));
            } else {
                return [None; 3];
            }
        }
        // A third terminal conducts once the neutral carries it beyond a rail.
        if let Some(open) = poles.iter().position(Option::is_none) {
            let held = poles.iter().zip(emf).filter_map(|(pole, emf)| Some((*pole)? - emf));
            let floats = 0.5 * held.sum::<f64>() + emf[open];
            if floats > volts {
                poles[open] = Some(volts);
            } else if floats < 0.0 {
                poles[open] = Some(0.0);
            }
        }
        poles
    }

    /// Currents sum to nothing: what a clamped one leaves over is taken from the largest.
    fn close(&mut self) {
        let sum: f64 = self.currents.iter().sum();
        let mut largest = 0;
        for k in 1..3 {
            if self.currents[k].abs() > self.currents[largest].abs() {
                largest = k;
            }
        }
        let left = self.currents[largest] - sum;
        if (left > 0.0) == (self.currents[largest] > 0.0) {
            self.currents[largest] = left;
        } else {
            self.currents = [0.0; 3];
        }
        if self.currents.iter().filter(|amps| amps.abs() > 0.0).count() < 2 {
            self.currents = [0.0; 3];
        }
    }
}
