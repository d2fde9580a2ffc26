//! What stands across a bus in one lane: its banks side by side, and whatever source has an inductance.

use core::f64::consts::TAU;

use loadworthy_physics::capacitor_bank::Branch;
use loadworthy_physics::link_lines::LINES;
use loadworthy_physics::link_ring::{FROM, RINGS, Ring};
use loadworthy_physics::link_voltage::Across;
use loadworthy_physics::{Capacitance, Frequency, Inductance, Resistance};

use crate::ids::InputId;
use crate::plan::{Bank, Bus, Plan};
use crate::solver::supply::line_resistance;

/// Halvings in which a resonance is looked for.
const HALVINGS: usize = 24;
/// Multiples of the first line up to which rings are looked for: no bank is without inductance, whatever is stated.
const BEYOND: f64 = 1e4;

/// The branches of a bus in one lane.
pub(crate) struct Branches<'a, const L: usize> {
    pub(crate) plan: &'a Plan,
    pub(crate) bus: &'a Bus,
    pub(crate) inputs: &'a [[f64; L]],
    pub(crate) l: usize,
}

impl<const L: usize> Branches<'_, L> {
    pub(crate) fn of(&self, input: InputId) -> f64 {
        self.inputs[input.index()][self.l]
    }

    /// Whether any capacitance may be off its nominal value.
    pub(crate) fn is_loose(&self) -> bool {
        let is_exact = |&bank: &usize| self.of(self.plan.banks[bank].each.tolerance) == 0.0;
        !self.bus.ripple.banks.iter().all(is_exact)
    }

    pub(crate) fn bank(&self, bank: &Bank, place: f64) -> Branch {
        let (parts, each) = (self.of(bank.parts), &bank.each);
        let off = 1.0 + place * self.of(each.tolerance);
        Branch {
            resistance: Resistance::new(
                self.of(bank.path_resistance) + self.of(each.series_resistance) / parts,
            ),
            inductance: Inductance::new(self.of(bank.path_inductance) + self.of(each.inductance) / parts),
            capacitance: Some(Capacitance::new(parts * self.of(each.capacitance) * off)),
        }
    }

    /// Admittance of all branches; tells that of each bank. A source that states no inductance takes nothing; the lowest
    /// resistance of one that does damps a resonance least.
    pub(crate) fn admittance(
        &self,
        frequency: Frequency,
        place: f64,
        mut tell: impl FnMut(usize, (f64, f64)),
    ) -> (f64, f64) {
        let mut all = (0.0, 0.0);
        for (k, &bank) in self.bus.ripple.banks.iter().enumerate() {
            let own = self.bank(&self.plan.banks[bank], place).admittance(frequency);
            all = (all.0 + own.0, all.1 + own.1);
            tell(k, own);
        }
        for &source in &self.bus.sources {
            if let Some(own) = self.source(source) {
                let own = own.admittance(frequency);
                all = (all.0 + own.0, all.1 + own.1);
            }
        }
        all
    }

    /// A source as ripple meets it; none where it states no inductance.
    pub(crate) fn source(&self, source: usize) -> Option<Branch> {
        let source = &self.plan.sources[source];
        let inductance = Some(self.of(source.inductance)).filter(|henry| henry.is_finite())?;
        let line = line_resistance::<L>(&source.line, self.inputs)[self.l];
        let resistance = Resistance::new(self.of(source.lowest_resistance) + line);
        Some(Branch { resistance, inductance: Inductance::new(inductance), capacitance: None })
    }

    /// What stands across the bus for a stage with a first line: capacitance and resistance, and what is left at each line
    /// without the inductance of all banks side by side.
    pub(crate) fn across(&self, first: Frequency, place: f64) -> Across {
        let (mut farads, mut paths) = (0.0, 0.0);
        for &bank in &self.bus.ripple.banks {
            let branch = self.bank(&self.plan.banks[bank], place);
            farads += branch.capacitance.map_or(0.0, |farad| farad.si());
            paths += 1.0 / branch.inductance.si();
        }
        let mut besides = [(0.0, 0.0); LINES];
        let rings = self.rings(first, place);
        for (line, besides) in besides.iter_mut().enumerate() {
            let frequency = first * (line as f64 + 1.0);
            let turn = TAU * frequency.si();
            let (real, imaginary) = self.admittance(frequency, place, |_, _| ());
            let square = real * real + imaginary * imaginary;
            *besides = (real / square, 1.0 / (turn * farads) - turn / paths - imaginary / square);
            for ring in rings.iter().flatten() {
                let own = ring.impedance(line as f64 + 1.0);
                *besides = (besides.0 - own.0, besides.1 - own.1);
            }
        }
        let ohms = besides[LINES - 1].0;
        for besides in &mut besides {
            besides.0 -= ohms;
        }
        Across {
            capacitance: Capacitance::new(farads),
            resistance: Resistance::new(ohms),
            besides: Some(besides),
            rings,
        }
    }

    /// What rings above the lines of a stage: one resonance at most between any two neighbours of those frequencies at which
    /// a bank has no reactance, as far as they are damped little.
    pub(crate) fn rings(&self, first: Frequency, place: f64) -> [Option<Ring>; RINGS] {
        let mut rings = [None; RINGS];
        let (lowest, highest) = (first * FROM, first * BEYOND);
        let banks = || {
            let own =
                self.bus.ripple.banks.iter().map(|&bank| self.bank(&self.plan.banks[bank], place).own());
            own.map(|own| if own > highest { highest } else { own })
        };
        let mut to = banks().fold(lowest, |most, own| if own > most { own } else { most });
        for ring in &mut rings {
            let from =
                banks().filter(|&own| own < to).fold(lowest, |most, own| if own > most { own } else { most });
            if to <= lowest {
                break;
            }
            *ring = self.crossing(from, to, place).map(|at| Ring::at(at, first, |at| self.all(at, place)));
            to = from;
        }
        rings.sort_by_key(Option::is_none);
        rings
    }

    fn all(&self, frequency: Frequency, place: f64) -> (f64, f64) {
        self.admittance(frequency, place, |_, _| ())
    }

    /// Where between two frequencies all branches side by side turn from inductive to capacitive.
    fn crossing(&self, from: Frequency, to: Frequency, place: f64) -> Option<Frequency> {
        const STEPS: usize = 16;
        // Evenly between the periods of both.
        let at = |share: f64| to * (1.0 / (to / from * (1.0 - share) + share));
        let is_inductive = |share: f64| self.all(at(share), place).1 < 0.0;
        // Close to the higher one a bank turns within little, where it couples weakly.
        let step = |step: usize| {
            let left = 1.0 - (step as f64 + 0.5) / STEPS as f64;
            1.0 - left * left * left
        };
        let last = (0..STEPS - 1).rev().find(|&k| is_inductive(step(k)) && !is_inductive(step(k + 1)))?;
        let (mut low, mut high) = (step(last), step(last + 1));
        for _ in 0..HALVINGS {
            let middle = 0.5 * (low + high);
            if is_inductive(middle) { low = middle } else { high = middle }
        }
        Some(at(0.5 * (low + high)))
    }

    /// Where between two places a line finds all branches without susceptance.
    pub(crate) fn resonance(&self, frequency: Frequency, from: f64, to: f64, at_first: f64) -> f64 {
        let (mut from, mut to) = (from, to);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (from + to);
            let susceptance = self.admittance(frequency, middle, |_, _| ()).1;
            if susceptance * at_first > 0.0 { from = middle } else { to = middle }
        }
        0.5 * (from + to)
    }
}
