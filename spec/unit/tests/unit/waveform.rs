//! A bridge in time, written from nothing: natural pulse-width modulation of each leg with dead times, sine currents,
//! conduction from the drawn curve, an energy at each edge. Nothing in here knows a closed form.

use core::f64::consts::{PI, TAU};

/// How a leg's sines become its reference.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Zero {
    /// Nothing is added.
    Sine,
    /// A sixth of the third harmonic is taken away.
    Third,
    /// Half of largest and smallest is taken away.
    Centred,
}

/// Points of a drawn curve.
pub(crate) type Points = &'static [(f64, f64)];

/// A data sheet in plain numbers.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Sheet {
    /// A channel that leads both ways; its chip is its body diode's too.
    pub(crate) is_mosfet: bool,
    /// Voltage over current at rising junction temperatures.
    pub(crate) forward: &'static [(f64, Points)],
    /// The same for the diode.
    pub(crate) diode: &'static [(f64, Points)],
    pub(crate) turn_on: Points,
    pub(crate) turn_off: Points,
    pub(crate) recovery: Points,
    /// Voltage and junction temperature of the energies.
    pub(crate) measured: (f64, f64),
    /// Exponent of the voltage and growth for each kelvin: transistor, then diode.
    pub(crate) scale: [(f64, f64); 2],
}

/// What a bridge is asked to do.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Task {
    pub(crate) sheet: Sheet,
    pub(crate) parallel: f64,
    pub(crate) zero: Zero,
    pub(crate) carrier: f64,
    pub(crate) dead_time: f64,
    /// Crest of phase voltage and current, and the angle of the current behind the voltage.
    pub(crate) voltage: f64,
    pub(crate) current: f64,
    pub(crate) lag: f64,
    /// Output frequency; 0 holds the crest in phase u.
    pub(crate) frequency: f64,
}

/// What one chip of a device made of a turn.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Share {
    pub(crate) average: f64,
    pub(crate) mean_square: f64,
    pub(crate) conduction: f64,
    pub(crate) switching: f64,
}

impl Share {
    pub(crate) fn rms(&self) -> f64 {
        self.mean_square.sqrt()
    }

    pub(crate) fn loss(&self) -> f64 {
        self.conduction + self.switching
    }
}

/// What a bridge made of a turn.
#[derive(Clone, Debug)]
pub(crate) struct Turn {
    /// For each position, high and low side of u, v, w: transistor, then diode.
    pub(crate) shares: [[Share; 2]; 6],
    /// Current from the link.
    pub(crate) dc: f64,
    /// Phase voltage that reached the machine, as phasor; at standstill that of each leg.
    reached: [(f64, f64); 3],
    /// Energy that each chip of the high side of u took in each carrier period, over the turn.
    pub(crate) by_period: Vec<[f64; 2]>,
}

/// A curve at a value, its ends continued.
pub(crate) fn along(points: Points, at: f64) -> f64 {
    let k = (1..points.len() - 1).find(|&k| at <= points[k].0).unwrap_or(points.len() - 1);
    let ((x0, y0), (x1, y1)) = (points[k - 1], points[k]);
    y0 + (y1 - y0) * (at - x0) / (x1 - x0)
}

/// Voltage at a current and a junction temperature.
pub(crate) fn drop_at(curves: &'static [(f64, Points)], current: f64, junction: f64) -> f64 {
    let k = (1..curves.len() - 1).find(|&k| junction <= curves[k].0).unwrap_or(curves.len() - 1);
    let ((t0, cool), (t1, hot)) = (curves[k - 1], curves[k]);
    let (v0, v1) = (along(cool, current), along(hot, current));
    v0 + (v1 - v0) * (junction - t0) / (t1 - t0)
}

impl Task {
    fn angle(&self, time: f64, leg: usize) -> f64 {
        TAU * self.frequency * time - TAU / 3.0 * leg as f64
    }

    fn current_at(&self, time: f64, leg: usize) -> f64 {
        self.current * libm::cos(self.angle(time, leg) - self.lag)
    }

    /// Reference of a leg, from the phasors that are commanded for each.
    fn reference(&self, command: &[(f64, f64); 3], time: f64, leg: usize) -> f64 {
        let turn = TAU * self.frequency * time;
        let sines: [f64; 3] = core::array::from_fn(|n| {
            let (real, imaginary) = command[n];
            real * libm::cos(turn) - imaginary * libm::sin(turn)
        });
        let zero = match self.zero {
            Zero::Sine => 0.0,
            Zero::Third => {
                let (real, imaginary) = command[0];
                let (size, angle) = (libm::hypot(real, imaginary), libm::atan2(imaginary, real));
                -size / 6.0 * libm::cos(3.0 * (turn + angle))
            }
            Zero::Centred => {
                let most = sines.iter().copied().fold(f64::MIN, f64::max);
                let least = sines.iter().copied().fold(f64::MAX, f64::min);
                -0.5 * (most + least)
            }
        };
        sines[leg] + zero
    }

    /// When the reference crosses a carrier that runs from `from` to `-from` within half a period.
    fn crossing(&self, command: &[(f64, f64); 3], start: f64, from: f64, leg: usize) -> f64 {
        let half = 0.5 / self.carrier;
        let (mut low, mut high) = (0.0, half);
        for _ in 0..26 {
            let middle = 0.5 * (low + high);
            let carrier = from * (1.0 - 2.0 * middle / half);
            let above = self.reference(command, start + middle, leg) > carrier;
            // A falling carrier is above the reference first, a rising one below it.
            if above == (from < 0.0) { low = middle } else { high = middle }
        }
        start + 0.5 * (low + high)
    }

    /// One turn, or one carrier period at standstill, with each leg's phasor commanded as a share of half the link.
    fn turn(&self, link: f64, junctions: &[[f64; 2]; 6], command: &[(f64, f64); 3]) -> Turn {
        let periods = if self.frequency > 0.0 { (self.carrier / self.frequency).round() as usize } else { 1 };
        let length = periods as f64 / self.carrier;
        let mut out = Turn {
            shares: Default::default(),
            dc: 0.0,
            reached: [(0.0, 0.0); 3],
            by_period: vec![[0.0; 2]; periods],
        };
        for leg in 0..3 {
            let period = 1.0 / self.carrier;
            let falls: Vec<f64> =
                (0..periods).map(|k| self.crossing(command, k as f64 * period, -1.0, leg)).collect();
            let rises: Vec<f64> =
                (0..periods).map(|k| self.crossing(command, (k as f64 + 0.5) * period, 1.0, leg)).collect();
            let mut before = rises[periods - 1] - length;
            for k in 0..periods {
                let (fall, rise) = (falls[k], rises[k]);
                let seen = (self.sum(&out, 2 * leg, 0), self.sum(&out, 2 * leg, 1));
                self.lead(&mut out, leg, before, before + self.dead_time, None, link, junctions, length);
                self.lead(&mut out, leg, before + self.dead_time, fall, Some(0), link, junctions, length);
                self.lead(&mut out, leg, fall, fall + self.dead_time, None, link, junctions, length);
                self.lead(&mut out, leg, fall + self.dead_time, rise, Some(1), link, junctions, length);
                self.edges(&mut out, leg, [before, fall], link, junctions, length);
                if leg == 0 {
                    let now = (self.sum(&out, 0, 0), self.sum(&out, 0, 1));
                    out.by_period[k] = [(now.0 - seen.0) * length, (now.1 - seen.1) * length];
                }
                before = rise;
            }
        }
        out
    }

    fn sum(&self, out: &Turn, position: usize, chip: usize) -> f64 {
        out.shares[position][chip].loss()
    }

    /// Conduction between two instants, with the gate of one side on or with none.
    #[expect(clippy::too_many_arguments, reason = "the state of one leg")]
    fn lead(
        &self,
        out: &mut Turn,
        leg: usize,
        from: f64,
        to: f64,
        gate: Option<usize>,
        link: f64,
        junctions: &[[f64; 2]; 6],
        length: f64,
    ) {
        const PARTS: usize = 4;
        if to <= from {
            return;
        }
        for part in 0..PARTS {
            let time = from + (to - from) * (part as f64 + 0.5) / PARTS as f64;
            let weight = (to - from) / PARTS as f64 / length;
            let current = self.current_at(time, leg);
            let share = current.abs() / self.parallel;
            // The side that the current passes: where a gate leads it, or the diode that it finds.
            let side = gate.unwrap_or(if current > 0.0 { 1 } else { 0 });
            let forward = (side == 0) == (current > 0.0);
            let position = 2 * leg + side;
            let through_channel = gate.is_some() && self.sheet.is_mosfet;
            let chip = if forward || through_channel { 0 } else { 1 };
            let hot = junctions[position][if self.sheet.is_mosfet { 0 } else { chip }];
            let curves = if chip == 0 { self.sheet.forward } else { self.sheet.diode };
            let volts = drop_at(curves, share, hot);
            let taken = &mut out.shares[position][chip];
            taken.average += weight
                * if forward {
                    share
                } else if chip == 0 {
                    -share
                } else {
                    share
                };
            taken.mean_square += weight * share * share;
            taken.conduction += weight * volts * share;
            let rail = if side == 0 { 0.5 * link } else { -0.5 * link };
            let pole = rail - volts.copysign(current);
            if side == 0 {
                out.dc += weight * current;
            }
            let turn = TAU * self.frequency * time;
            let gain = if self.frequency > 0.0 { 2.0 } else { 1.0 };
            out.reached[leg].0 += weight * gain * pole * libm::cos(turn);
            out.reached[leg].1 -= weight * gain * pole * libm::sin(turn);
        }
    }

    /// Energies of the edges after a commanded rise and a commanded fall.
    fn edges(
        &self,
        out: &mut Turn,
        leg: usize,
        [rise, fall]: [f64; 2],
        link: f64,
        junctions: &[[f64; 2]; 6],
        length: f64,
    ) {
        let mut event = |time: f64, side: usize, curve: Points, chip: usize| {
            let current = self.current_at(time, leg);
            // A side's transistor switches hard only the current that it leads itself.
            if (side == 0) != (current > 0.0) {
                return;
            }
            let position = 2 * leg + if chip == 0 { side } else { 1 - side };
            let hot = junctions[position][if self.sheet.is_mosfet { 0 } else { chip }];
            let (exponent, growth) = self.sheet.scale[chip];
            let factor = libm::pow(link / self.sheet.measured.0, exponent)
                * (1.0 + growth * (hot - self.sheet.measured.1));
            out.shares[position][chip].switching +=
                along(curve, current.abs() / self.parallel) * factor / length;
        };
        for (on, off, side) in [(rise, fall, 0), (fall, rise, 1)] {
            event(on + self.dead_time, side, self.sheet.turn_on, 0);
            event(on + self.dead_time, side, self.sheet.recovery, 1);
            event(off, side, self.sheet.turn_off, 0);
        }
    }

    /// The turn whose machine gets the voltage that it needs; returns the size of the command beside it.
    pub(crate) fn run(&self, link: f64, junctions: &[[f64; 2]; 6]) -> (Turn, f64) {
        let needed: [(f64, f64); 3] = core::array::from_fn(|leg| {
            let angle = self.angle(0.0, leg);
            if self.frequency > 0.0 {
                (self.voltage * libm::cos(angle), self.voltage * libm::sin(angle))
            } else {
                (self.voltage * libm::cos(angle), 0.0)
            }
        });
        let mut command = needed.map(|(real, imaginary)| (2.0 * real / link, 2.0 * imaginary / link));
        for _ in 0..4 {
            let turn = self.turn(link, junctions, &command);
            let common =
                turn.reached.iter().fold((0.0, 0.0), |sum, v| (sum.0 + v.0 / 3.0, sum.1 + v.1 / 3.0));
            for leg in 0..3 {
                let (real, imaginary) = turn.reached[leg];
                command[leg].0 += 2.0 / link * (needed[leg].0 - real + common.0);
                command[leg].1 += 2.0 / link * (needed[leg].1 - imaginary + common.1);
            }
        }
        (self.turn(link, junctions, &command), libm::hypot(command[0].0, command[0].1))
    }

    /// Power at the machine.
    pub(crate) fn output(&self) -> f64 {
        1.5 * self.voltage * self.current * libm::cos(self.lag)
    }
}

/// Crest of a chip's junction above its case, stepped through its thermal elements until the turns repeat.
pub(crate) fn crest_rise(energies: &[f64], carrier: f64, elements: &[(f64, f64)]) -> f64 {
    let mut rises = vec![0.0; elements.len()];
    let turns = 1
        + (20.0 * elements.iter().fold(0.0, |most, e| f64::max(most, e.1)) * carrier / energies.len() as f64)
            as usize;
    let mut crest: f64 = 0.0;
    for turn in 0..turns {
        for energy in energies {
            let power = energy * carrier;
            for (rise, &(resistance, constant)) in rises.iter_mut().zip(elements) {
                let share = libm::exp(-1.0 / (carrier * constant));
                *rise = power * resistance + (*rise - power * resistance) * share;
            }
            if turn + 1 == turns {
                crest = crest.max(rises.iter().sum());
            }
        }
    }
    crest
}

#[test]
fn a_turn_forms_the_voltage_that_is_asked() {
    // A check of the yardstick itself: the current into the link carries the power that leaves it.
    for zero in [Zero::Sine, Zero::Third, Zero::Centred] {
        let task = Task {
            sheet: crate::whole_unit::MODULE,
            parallel: 1.0,
            zero,
            carrier: 8000.0,
            dead_time: 2e-6,
            voltage: 330.0 * (2.0_f64 / 3.0).sqrt(),
            current: 197.0,
            lag: 0.25 * PI,
            frequency: 160.0,
        };
        let (turn, _) = task.run(600.0, &[[120.0; 2]; 6]);
        let lost: f64 = turn.shares.iter().flatten().map(|share| share.conduction).sum();
        crate::bench::close(turn.dc * 600.0, task.output() + lost, 1e-3, "power of the link");
    }
}
