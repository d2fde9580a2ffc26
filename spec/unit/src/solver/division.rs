//! How the ripple on a bus divides among its banks and whatever source has an inductance: line by line, and at the worst
//! place within the tolerance of their capacitances.
//!
//! All banks are taken to be off by the same part of their own tolerance. Lowest, nominal and highest are looked at, and
//! where a line meets a resonance in between, that place as well. Shares follow from inputs alone: lanes that state the
//! same have them reckoned once.

use core::f64::consts::TAU;

use loadworthy_physics::capacitor_bank::Branch;
use loadworthy_physics::link_lines::LINES;
use loadworthy_physics::link_ring::{FROM, RINGS, Ring};
use loadworthy_physics::link_voltage::Across;
use loadworthy_physics::{Capacitance, Frequency, Inductance, Resistance};

use crate::ids::InputId;
use crate::plan::{Bank, Bus, Plan};
use crate::solver::pass::Pass;
use crate::solver::ripple_lines::RippleLines;
use crate::solver::ripple_voltage;
use crate::solver::supply::line_resistance;
use crate::trace::{Operand, Trace};

/// A line matters for a resonance if this much of the square of the stage lies there, or comes to lie there in a bank: a
/// fifth of the current.
const MATTERS: f64 = 0.04;
/// Halvings of the tolerance in which a resonance is looked for.
const HALVINGS: usize = 24;
/// Multiples of the first line up to which rings are looked for: no bank is without inductance, whatever is stated.
const BEYOND: f64 = 1e4;

/// What two stages with one carrier have in common, in A², by their places among the terms of a bus.
pub(crate) type Common<const L: usize> = (usize, usize, [f64; L]);

/// Room for the division on one bus after another.
#[derive(Clone, Debug)]
pub(crate) struct Division<const L: usize> {
    /// Lines of each stage.
    lines: Vec<[RippleLines; L]>,
    /// Square of the share of each bank in each line of each stage.
    shares: Vec<f64>,
    /// Susceptance of all branches at each line of each stage, at this place and the one before.
    susceptances: [Vec<f64>; 2],
    /// What stages have in common.
    pub(crate) commons: Vec<Common<L>>,
    /// Mean square of each bank of the plan at its worst place.
    pub(crate) squares: Vec<[f64; L]>,
    /// Squares of the admittances of the banks of a bus, in S², where it rings.
    ringing: Vec<f64>,
    /// Largest share of a line that matters.
    pub(crate) largest: [f64; L],
    /// Ripple of the voltage, peak to peak.
    pub(crate) volts: [f64; L],
}

impl<const L: usize> Division<L> {
    pub(crate) fn new(plan: &Plan) -> Self {
        let most = |of: &dyn Fn(&Bus) -> usize| plan.buses.iter().map(of).max().unwrap_or(0);
        let terms = most(&|bus| bus.ripple.terms.len());
        let shares = most(&|bus| bus.ripple.terms.len() * LINES * bus.ripple.banks.len());
        Self {
            lines: vec![[RippleLines::UNKNOWN; L]; terms],
            shares: vec![0.0; shares],
            susceptances: [vec![0.0; terms * LINES], vec![0.0; terms * LINES]],
            commons: Vec::with_capacity(most(&|bus| in_step(plan, bus))),
            squares: vec![[0.0; L]; plan.banks.len()],
            ringing: vec![0.0; most(&|bus| bus.ripple.banks.len())],
            largest: [0.0; L],
            volts: [0.0; L],
        }
    }

    /// Divides the ripple of a bus.
    pub(crate) fn divide<T: Trace>(&mut self, plan: &Plan, bus: &Bus, pass: &Pass<'_, L, T>) {
        for &bank in &bus.ripple.banks {
            self.squares[bank] = [0.0; L];
        }
        (self.largest, self.volts) = ([0.0; L], [0.0; L]);
        for (lines, term) in self.lines.iter_mut().zip(&bus.ripple.terms) {
            *lines = core::array::from_fn(|l| plan.ripple_lines(term, pass.at(l)));
        }
        for lead in 0..L {
            let like = |one: usize| move |l: usize| alike(plan, bus, one, l, pass);
            if (0..lead).any(|earlier| like(earlier)(lead)) {
                continue;
            }
            let members: [bool; L] = core::array::from_fn(|l| l == lead || l > lead && like(lead)(l));
            self.of_alike(plan, bus, lead, &members, pass);
        }
    }

    /// Divides it in lanes whose shares are those of one of them.
    fn of_alike<T: Trace>(
        &mut self,
        plan: &Plan,
        bus: &Bus,
        lead: usize,
        members: &[bool; L],
        pass: &Pass<'_, L, T>,
    ) {
        let circuit = Circuit { plan, bus, inputs: pass.inputs, l: lead };
        let mut before: Option<f64> = None;
        let places: &[f64] = if circuit.is_loose() { &[-1.0, 0.0, 1.0] } else { &[0.0] };
        for &place in places {
            self.susceptances.swap(0, 1);
            self.shares_at(&circuit, place, true);
            self.take(bus, members, pass);
            if before.is_none() {
                self.swing(&circuit, place, members, pass);
            }
            if let Some(before) = before.replace(place) {
                for line in 0..bus.ripple.terms.len() * LINES {
                    let (from, to) = (self.susceptances[1][line], self.susceptances[0][line]);
                    if from * to < 0.0 {
                        let frequency = self.frequency(line, lead);
                        let meets = circuit.resonance(frequency, before, place, from);
                        self.shares_at(&circuit, meets, false);
                        self.take(bus, members, pass);
                        self.swing(&circuit, meets, members, pass);
                    }
                }
            }
        }
        self.heat_of_rings(&circuit, places[0], members, pass);
    }

    /// Adds to each bank what rings above the lines; what of it lies among them was told there.
    fn heat_of_rings<T: Trace>(
        &mut self,
        circuit: &Circuit<'_, L>,
        place: f64,
        members: &[bool; L],
        pass: &Pass<'_, L, T>,
    ) {
        for (term, lines) in circuit.bus.ripple.terms.iter().zip(&self.lines) {
            let first = lines[circuit.l].first;
            let rings = circuit.rings(first, place);
            for ring in rings.iter().flatten().filter(|ring| ring.turns() > LINES as f64 + 0.5) {
                let ringing = &mut self.ringing;
                circuit.admittance(first * ring.turns(), place, |k, (real, imaginary)| {
                    ringing[k] = real * real + imaginary * imaginary;
                });
                for (l, _) in members.iter().enumerate().filter(|(_, is_member)| **is_member) {
                    // A stage at rest sends nothing.
                    if pass.figures[term.current.index()][l].abs() <= 0.0 {
                        continue;
                    }
                    let volts = ring.mean_square(ripple_voltage::steps(circuit.plan, term, l, pass));
                    for (k, &bank) in circuit.bus.ripple.banks.iter().enumerate() {
                        self.squares[bank][l] += ringing[k] * volts;
                    }
                }
            }
        }
    }

    fn frequency(&self, line: usize, lead: usize) -> Frequency {
        self.lines[line / LINES][lead].first * ((line % LINES) as f64 + 1.0)
    }

    /// Reckons the shares at a place within the tolerance.
    fn shares_at(&mut self, circuit: &Circuit<'_, L>, place: f64, keeps: bool) {
        let banks = &circuit.bus.ripple.banks;
        for line in 0..circuit.bus.ripple.terms.len() * LINES {
            let frequency = self.frequency(line, circuit.l);
            let shares = &mut self.shares[line * banks.len()..][..banks.len()];
            let all = circuit.admittance(frequency, place, |k, (real, imaginary)| {
                shares[k] = real * real + imaginary * imaginary;
            });
            let square = all.0 * all.0 + all.1 * all.1;
            for share in shares {
                *share /= square;
            }
            if keeps {
                self.susceptances[0][line] = all.1;
            }
        }
    }

    /// Takes what the shares at hand make of the currents of each lane, where it is worse than before.
    fn take<T: Trace>(&mut self, bus: &Bus, members: &[bool; L], pass: &Pass<'_, L, T>) {
        let banks = bus.ripple.banks.len();
        for (l, _) in members.iter().enumerate().filter(|(_, is_member)| **is_member) {
            for (k, &bank) in bus.ripple.banks.iter().enumerate() {
                let mut sum = 0.0;
                for (place, term) in bus.ripple.terms.iter().enumerate() {
                    let amps = pass.figures[term.current.index()][l];
                    // A stage at rest sends nothing.
                    if amps.abs() <= 0.0 {
                        continue;
                    }
                    for (line, &part) in self.lines[place][l].shares.iter().enumerate() {
                        let share = self.shares[(place * LINES + line) * banks + k];
                        sum += share * part * amps * amps;
                        let most = if share > 1.0 { share } else { 1.0 };
                        // What is not known stays unknown.
                        let root = share.sqrt() + 0.0 * part;
                        if part * most >= MATTERS && root > self.largest[l] || root.is_nan() {
                            self.largest[l] = root;
                        }
                    }
                }
                for &(one, other, ref common) in &self.commons {
                    if common[l].abs() > 0.0 {
                        sum += common[l] * self.in_common((one, other), (k, banks), l);
                    }
                }
                let worst = &mut self.squares[bank][l];
                if sum > *worst || sum.is_nan() {
                    *worst = sum;
                }
            }
        }
    }

    /// Takes what all stages make of the voltage at a place within the tolerance, where it is worse than before.
    fn swing<T: Trace>(
        &mut self,
        circuit: &Circuit<'_, L>,
        place: f64,
        members: &[bool; L],
        pass: &Pass<'_, L, T>,
    ) {
        let mut sums = [0.0; L];
        for (term, lines) in circuit.bus.ripple.terms.iter().zip(&self.lines) {
            let across = circuit.across(lines[circuit.l].first, place);
            for l in (0..L).filter(|&l| members[l]) {
                // A stage at rest sends nothing.
                if pass.figures[term.current.index()][l].abs() <= 0.0 {
                    continue;
                }
                sums[l] +=
                    ripple_voltage::of_stage(circuit.plan, (term, &lines[l]), (&across, None), l, pass);
            }
        }
        for l in (0..L).filter(|&l| members[l]) {
            if sums[l] > self.volts[l] || sums[l].is_nan() {
                self.volts[l] = sums[l];
            }
        }
    }

    /// Share of what two stages have in common, which lies at their lines as far as both have them.
    fn in_common(&self, (one, other): (usize, usize), (k, banks): (usize, usize), l: usize) -> f64 {
        let (mut weights, mut sum) = (0.0, 0.0);
        for line in 0..LINES {
            let part = |place: usize| self.lines[place][l].shares[line];
            let share = |place: usize| self.shares[(place * LINES + line) * banks + k];
            let weight = (part(one) * part(other)).sqrt();
            weights += weight;
            sum += weight * (share(one) * share(other)).sqrt();
        }
        if weights > 0.0 { sum / weights } else { weights }
    }
}

/// Pairs of stages on a bus that may have something in common.
fn in_step(plan: &Plan, bus: &Bus) -> usize {
    let mut roots: Vec<usize> = bus.ripple.terms.iter().map(|term| plan.followed_by(term.stage)).collect();
    roots.sort_unstable();
    let pairs = |group: &[usize]| group.len() * (group.len() - 1) / 2;
    roots.chunk_by(|one, other| one == other).map(pairs).sum()
}

/// Whether two lanes divide ripple alike.
fn alike<const L: usize, T: Trace>(
    plan: &Plan,
    bus: &Bus,
    one: usize,
    other: usize,
    pass: &Pass<'_, L, T>,
) -> bool {
    let same = |input: InputId| {
        let values = &pass.inputs[input.index()];
        values[one].to_bits() == values[other].to_bits()
    };
    let first = |term: &crate::plan::RippleTerm| {
        let at = |l: usize| plan.first_line(term, pass.at(l)).si().to_bits();
        at(one) == at(other)
    };
    bus.ripple.terms.iter().all(first)
        && bus.ripple.banks.iter().all(|&bank| of_bank(&plan.banks[bank]).into_iter().all(same))
        && bus.sources.iter().all(|&source| {
            let source = &plan.sources[source];
            [source.inductance, source.lowest_resistance].into_iter().all(same)
                && source.line.iter().all(|&ohms| same(ohms))
        })
}

/// What decides what a bank takes.
fn of_bank(bank: &Bank) -> [InputId; 7] {
    let each = &bank.each;
    [
        bank.parts,
        each.capacitance,
        each.tolerance,
        each.series_resistance,
        each.inductance,
        bank.path_inductance,
        bank.path_resistance,
    ]
}

/// Whether a bank has anything beside it in a lane.
pub(crate) fn divides<const L: usize>(plan: &Plan, bus: &Bus, inputs: &[[f64; L]], l: usize) -> bool {
    let is_known = |&source: &usize| inputs[plan.sources[source].inductance.index()][l].is_finite();
    bus.ripple.banks.len() > 1 || bus.sources.iter().any(is_known)
}

/// What decides how ripple divides; nothing where one bank takes it all.
pub(crate) fn from<const L: usize, T: Trace>(plan: &Plan, bus: &Bus, pass: &Pass<'_, L, T>) -> Vec<Operand> {
    let mut from: Vec<Operand> = Vec::new();
    if !T::LISTENS || !divides(plan, bus, pass.inputs, 0) {
        return from;
    }
    for term in &bus.ripple.terms {
        crate::solver::ripple_lines::from(&plan.stages[term.stage], &mut from);
    }
    for &bank in &bus.ripple.banks {
        from.extend(of_bank(&plan.banks[bank]).map(Operand::Input));
    }
    for &source in &bus.sources {
        let source = &plan.sources[source];
        if pass.inputs[source.inductance.index()][0].is_finite() {
            from.extend([source.inductance, source.lowest_resistance].map(Operand::Input));
            from.extend(source.line.iter().copied().map(Operand::Input));
        }
    }
    from
}

/// The branches of a bus in one lane.
struct Circuit<'a, const L: usize> {
    plan: &'a Plan,
    bus: &'a Bus,
    inputs: &'a [[f64; L]],
    l: usize,
}

impl<const L: usize> Circuit<'_, L> {
    fn of(&self, input: InputId) -> f64 {
        self.inputs[input.index()][self.l]
    }

    /// Whether any capacitance may be off its nominal value.
    fn is_loose(&self) -> bool {
        let is_exact = |&bank: &usize| self.of(self.plan.banks[bank].each.tolerance) == 0.0;
        !self.bus.ripple.banks.iter().all(is_exact)
    }

    fn bank(&self, bank: &Bank, place: f64) -> Branch {
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
    fn admittance(
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
            let source = &self.plan.sources[source];
            let inductance = self.of(source.inductance);
            if inductance.is_finite() {
                let line = line_resistance::<L>(&source.line, self.inputs)[self.l];
                let resistance = Resistance::new(self.of(source.lowest_resistance) + line);
                let own = Branch { resistance, inductance: Inductance::new(inductance), capacitance: None };
                let own = own.admittance(frequency);
                all = (all.0 + own.0, all.1 + own.1);
            }
        }
        all
    }

    /// What stands across the bus for a stage with a first line: capacitance and resistance, and what is left at each line
    /// without the inductance of all banks side by side.
    fn across(&self, first: Frequency, place: f64) -> Across {
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
    fn rings(&self, first: Frequency, place: f64) -> [Option<Ring>; RINGS] {
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
    fn resonance(&self, frequency: Frequency, from: f64, to: f64, at_first: f64) -> f64 {
        let (mut from, mut to) = (from, to);
        for _ in 0..HALVINGS {
            let middle = 0.5 * (from + to);
            let susceptance = self.admittance(frequency, middle, |_, _| ()).1;
            if susceptance * at_first > 0.0 { from = middle } else { to = middle }
        }
        0.5 * (from + to)
    }
}
