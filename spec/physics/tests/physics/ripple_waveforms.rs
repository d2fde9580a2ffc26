//! The ripple of two synchronised bridges against the sum of their link currents in time.

use std::f64::consts::TAU;

use loadworthy_physics::link_lines::{self, LINES};
use loadworthy_physics::link_pulses::{Pulses, in_common};
use loadworthy_physics::{Current, Modulation};

use crate::pwm::{Drive, Stretch};

/// Samples in a carrier period.
const FINE: usize = 160;

/// Link current of a drive at rising angles, for a crest of one.
struct LinkCurrent {
    drive: Drive,
    stretches: Vec<Stretch>,
    place: usize,
}

impl LinkCurrent {
    fn of(drive: Drive) -> Self {
        Self { drive, stretches: drive.stretches(), place: 0 }
    }

    fn at(&mut self, angle: f64) -> f64 {
        // A turn that begins late ends late: the angle comes round.
        let first = self.stretches[0].from;
        let angle = if angle < first { angle + TAU } else { angle };
        if self.stretches[self.place].from > angle {
            self.place = 0;
        }
        while self.stretches[self.place].to < angle && self.place + 1 < self.stretches.len() {
            self.place += 1;
        }
        let amps = self.drive.currents(angle);
        (0..3).filter(|&leg| self.stretches[self.place].upper[leg]).map(|leg| amps[leg]).sum()
    }
}

/// RMS of the alternating part of the sum of two link currents.
fn sampled(mut one: LinkCurrent, mut other: LinkCurrent, weight: f64) -> f64 {
    let samples = one.drive.ratio as usize * FINE;
    let (mut mean, mut square) = (0.0, 0.0);
    for k in 0..samples {
        let angle = TAU * (k as f64 + 0.5) / samples as f64;
        let amps = one.at(angle) + weight * other.at(angle);
        mean += amps / samples as f64;
        square += amps * amps / samples as f64;
    }
    (square - mean * mean).sqrt()
}

#[test]
fn bridges_on_one_shaft_add_as_their_pulses_do() {
    // Index and angle of each, crest of the second, shift of its carrier as a share of the period.
    for (first, second, crest, shift) in [
        ((0.8, 0.4), (0.8, 0.4), 1.0, 0.25),
        ((0.8, 0.4), (0.8, 0.4), 1.0, 0.0),
        ((1.05, 0.4), (0.5, 2.5), 0.7, 0.5),
        ((0.35, 1.2), (0.9, 0.1), 1.4, 0.125),
        ((0.9, 2.8), (0.6, 0.6), 1.0, 0.33),
    ] {
        let drive = |(index, phi): (f64, f64), offset| Drive {
            modulation: Modulation::SpaceVector,
            index,
            phi,
            ratio: 201,
            offset,
        };
        let pulses = |(index, phi): (f64, f64), crest: f64| {
            Pulses::of(Current::new(crest), index, libm::cos(phi), Modulation::SpaceVector)
        };
        let (one, other) = (pulses(first, 1.0), pulses(second, crest));
        let squares = (one.rms() * one.rms() + other.rms() * other.rms()).si();
        let bound = (squares + in_common(&one, &other, shift, true)).max(0.0).sqrt();
        let (a, b) = (LinkCurrent::of(drive(first, 0.0)), LinkCurrent::of(drive(second, shift)));
        let stepped = sampled(a, b, crest);
        // Here both outputs are at one angle; the worst angle between them can only be more.
        assert!(stepped < bound * 1.02, "{first:?} {second:?} {shift}: {stepped} above {bound}");
        let apart = (squares + in_common(&one, &other, shift, false)).max(0.0).sqrt();
        assert!(stepped > 0.5 * apart, "{stepped} far below {apart}");
        if first == second {
            assert!((stepped / bound - 1.0).abs() < 0.03, "{shift}: {stepped} against {bound}");
        }
    }
}

#[test]
fn bridges_that_turn_apart_have_their_means_in_common() {
    // Outputs at every angle to one another in turn: means over a dozen of them.
    let (first, second, shift) = ((0.8, 0.4), (0.55, 0.7), 0.0);
    let drive = |(index, phi): (f64, f64)| Drive {
        modulation: Modulation::SpaceVector,
        index,
        phi,
        ratio: 204,
        offset: shift,
    };
    let squares: f64 = (0..17)
        .map(|turn| {
            // 204 carrier periods a turn: 12 of them at a time keep the carriers in step.
            let (a, mut b) = (LinkCurrent::of(drive(first)), LinkCurrent::of(drive(second)));
            let ahead = TAU * f64::from(turn) / 17.0;
            let mut other = |angle: f64| b.at((angle + ahead).rem_euclid(TAU));
            let mut one = a;
            let samples = 204 * FINE;
            let (mut mean, mut square) = (0.0, 0.0);
            for k in 0..samples {
                let angle = TAU * (k as f64 + 0.5) / samples as f64;
                let amps = one.at(angle) + other(angle);
                mean += amps / samples as f64;
                square += amps * amps / samples as f64;
            }
            square - mean * mean
        })
        .sum::<f64>()
        / 17.0;
    let pulses = |(index, phi): (f64, f64)| {
        Pulses::of(Current::new(1.0), index, libm::cos(phi), Modulation::SpaceVector)
    };
    let (one, other) = (pulses(first), pulses(second));
    let closed =
        (one.rms() * one.rms() + other.rms() * other.rms()).si() + in_common(&one, &other, 0.0, false);
    assert!(
        (squares.sqrt() / closed.sqrt() - 1.0).abs() < 0.02,
        "{} against {}",
        squares.sqrt(),
        closed.sqrt()
    );
}

/// Mean square at each multiple of the carrier, with its band: of each carrier period by itself, over all of a turn; and
/// all of it.
fn lines_in_time(drive: Drive) -> ([f64; LINES], f64) {
    /// Points within each stretch.
    const POINTS: usize = 24;
    let ratio = f64::from(drive.ratio);
    let mut sums = vec![[(0.0, 0.0); LINES]; drive.ratio as usize];
    let (mut mean, mut square) = (0.0, 0.0);
    for stretch in drive.stretches() {
        let step = (stretch.to - stretch.from) / POINTS as f64;
        for point in 0..POINTS {
            let angle = stretch.from + step * (point as f64 + 0.5);
            let amps = drive.currents(angle);
            let amps: f64 = (0..3).filter(|&leg| stretch.upper[leg]).map(|leg| amps[leg]).sum();
            mean += amps * step / TAU;
            square += amps * amps * step / TAU;
            let turns = angle * ratio / TAU;
            let period = turns.floor().rem_euclid(ratio) as usize % sums.len();
            for (line, (real, imaginary)) in sums[period].iter_mut().enumerate() {
                let (sine, cosine) = libm::sincos(TAU * (line as f64 + 1.0) * turns);
                *real += amps * cosine * step * ratio / TAU;
                *imaginary -= amps * sine * step * ratio / TAU;
            }
        }
    }
    let of = |line: usize| {
        let all = sums.iter().map(|period| {
            let (real, imaginary) = period[line];
            2.0 * (real * real + imaginary * imaginary)
        });
        all.sum::<f64>() / ratio
    };
    (core::array::from_fn(of), square - mean * mean)
}

#[test]
fn lines_of_a_bridge_are_those_of_its_current_in_time() {
    // Points drawn from a golden section, so that none is special.
    for draw in 0..30 {
        let part = |from: f64, to: f64, pace: f64| from + (to - from) * (f64::from(draw) * pace).fract();
        let modulation =
            [Modulation::Sinusoidal, Modulation::ThirdHarmonic, Modulation::SpaceVector][draw as usize % 3];
        let (index, phi) = (part(0.15, modulation.linear_limit(), 0.618_034), part(0.0, 3.1, 0.414_214));
        let drive = Drive { modulation, index, phi, ratio: 201, offset: 0.0 };
        let (stepped, all) = lines_in_time(drive);
        let shares = link_lines::shares(index, libm::cos(phi), modulation);
        assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        // Above the sixth line each has its part of what lies beyond the twelfth.
        let beyond = 1.0 - stepped.iter().sum::<f64>() / all;
        for line in 0..LINES {
            let more = if line < LINES / 2 { 0.0 } else { beyond / (LINES / 2) as f64 };
            let (found, share) = (stepped[line] / all + more, shares[line]);
            assert!(
                (found - share).abs() < 0.004,
                "{modulation:?} {index:.3} {phi:.3}: line {} holds {found:.4}, reckoned {share:.4}",
                line + 1
            );
        }
    }
}
