//! A bridge on a machine, stepped through time: switched legs, a resistance, an inductance and a back-EMF for each phase.
//! What its largest current is, and what its edges switch, against the closed forms.

use core::f64::consts::TAU;

use loadworthy_physics::{Current, Frequency, Inductance, Modulation, Voltage, ripple_crest};

/// Steps in a carrier period.
const FINE: usize = 1200;
const LINK: f64 = 620.0;
const HENRY: f64 = 250e-6;
const OHM: f64 = 0.012;

#[derive(Clone, Copy, Debug)]
struct Drive {
    modulation: Modulation,
    index: f64,
    /// Crest of the phase current, and its angle behind the voltage.
    crest: f64,
    lag: f64,
    carrier: f64,
    periods: usize,
}

/// What a turn showed.
#[derive(Default)]
struct Seen {
    largest: f64,
    /// Means over the edges at which the high side of the first leg switches its own current.
    turned_on: f64,
    turned_off: f64,
    /// Mean of the sine at the same edges.
    sine: f64,
}

impl Drive {
    fn reference(&self, angle: f64, leg: usize) -> f64 {
        let sines: [f64; 3] = [0.0, 1.0, 2.0].map(|k| self.index * libm::cos(angle - TAU / 3.0 * k));
        let zero = match self.modulation {
            Modulation::Sinusoidal => 0.0,
            Modulation::ThirdHarmonic => -self.index / 6.0 * libm::cos(3.0 * angle),
            Modulation::SpaceVector => {
                let (most, least) = (
                    sines.iter().fold(-9.0_f64, |a, &b| a.max(b)),
                    sines.iter().fold(9.0_f64, |a, &b| a.min(b)),
                );
                -0.5 * (most + least)
            }
        };
        sines[leg] + zero
    }

    fn step(&self) -> Seen {
        let omega = TAU * self.carrier / self.periods as f64;
        let dt = 1.0 / (self.carrier * FINE as f64);
        let sine =
            |time: f64, leg: usize| self.crest * libm::cos(omega * time - self.lag - TAU / 3.0 * leg as f64);
        // The voltage that leaves this sine in resistance and inductance is the back-EMF.
        let emf = |time: f64, leg: usize| {
            let angle = omega * time - TAU / 3.0 * leg as f64;
            let volts = 0.5 * LINK * self.index * libm::cos(angle);
            let (in_phase, ahead) =
                (self.crest * libm::cos(angle - self.lag), -self.crest * libm::sin(angle - self.lag));
            volts - OHM * in_phase - omega * HENRY * ahead
        };
        let mut amps = [0, 1, 2].map(|leg| sine(0.0, leg));
        let mut on = [true; 3];
        let (mut seen, mut edges) = (Seen::default(), (0.0, 0.0));
        for k in 0..self.periods * FINE {
            let time = (k as f64 + 0.5) * dt;
            let place = (k % FINE) as f64 / FINE as f64;
            // From the lower end up and down again.
            let carrier = if place < 0.5 { 4.0 * place - 1.0 } else { 3.0 - 4.0 * place };
            let before = on[0];
            on = [0, 1, 2].map(|leg| self.reference(omega * time, leg) > carrier);
            if before != on[0] && sine(time, 0) > 0.0 {
                if on[0] {
                    seen.turned_on += amps[0];
                    edges.0 += 1.0;
                } else {
                    seen.turned_off += amps[0];
                    edges.1 += 1.0;
                }
                seen.sine += sine(time, 0);
            }
            let star = on.iter().filter(|&&on| on).count() as f64 / 3.0;
            for leg in 0..3 {
                let volts = LINK * (f64::from(u8::from(on[leg])) - star);
                amps[leg] += dt * (volts - OHM * amps[leg] - emf(time, leg)) / HENRY;
                seen.largest = f64::max(seen.largest, amps[leg].abs());
            }
        }
        seen.turned_on /= edges.0;
        seen.turned_off /= edges.1;
        seen.sine /= edges.0 + edges.1;
        seen
    }

    fn closed(&self) -> f64 {
        let bridge = (Voltage::new(LINK), Inductance::new(HENRY), Frequency::new(self.carrier));
        let cos_phi = libm::cos(self.lag);
        ripple_crest::largest(Current::new(self.crest), cos_phi, bridge, self.modulation, self.index).si()
    }
}

#[test]
fn the_largest_phase_current_is_that_of_the_stepped_bridge() {
    // Crest, carrier and its periods in a turn: the ripple adds 3 to 16 % to the first three and more than doubles the last.
    let works = [(280.0, 8e3, 50), (280.0, 8e3, 240), (60.0, 16e3, 201), (20.0, 5e3, 90)];
    for modulation in [Modulation::Sinusoidal, Modulation::ThirdHarmonic, Modulation::SpaceVector] {
        for (index, lag) in [(0.3, 0.2), (0.65, 0.9), (0.95, 0.0), (0.95, 0.6), (0.8, 1.4), (0.8, 2.6)] {
            for (crest, carrier, periods) in works {
                let drive = Drive { modulation, index, crest, lag, carrier, periods };
                let (stepped, closed) = (drive.step().largest, drive.closed());
                // At light load a turn of whole periods leaves a trace of direct current in the stepped one.
                let near = if crest > 50.0 { 0.013 } else { 0.02 };
                assert!(stepped > 1.025 * crest, "{drive:?}: {stepped} shows no ripple");
                assert!((closed / stepped - 1.0).abs() < near, "{drive:?}: {closed} against {stepped}");
            }
        }
    }
}

#[test]
fn a_slow_carrier_may_miss_the_crest_by_a_hundredth() {
    for (index, lag) in [(0.65, 0.9), (0.95, 0.0), (0.8, 1.4)] {
        let modulation = Modulation::SpaceVector;
        let drive = Drive { modulation, index, crest: 280.0, lag, carrier: 8e3, periods: 21 };
        let (stepped, closed) = (drive.step().largest, drive.closed());
        assert!((closed / stepped - 1.0).abs() < 0.01, "{drive:?}: {closed} against {stepped}");
    }
}

#[test]
fn what_ripple_takes_from_turn_on_it_adds_to_turn_off() {
    for modulation in [Modulation::Sinusoidal, Modulation::SpaceVector] {
        for (index, lag) in [(0.3, 0.2), (0.65, 0.9), (0.95, 0.0), (0.95, 0.6), (0.8, 1.4), (0.8, 2.6)] {
            let drive = Drive { modulation, index, crest: 280.0, lag, carrier: 8e3, periods: 201 };
            let seen = drive.step();
            let (less, more) = (1.0 - seen.turned_on / seen.sine, seen.turned_off / seen.sine - 1.0);
            // Energies that are straight over the current and as steep at both edges see nothing of it.
            assert!((more - less).abs() < 0.003, "{drive:?}: {less} less, {more} more");
            assert!(less > 0.03 && less < 0.075, "{drive:?}: {less} less");
        }
    }
}
