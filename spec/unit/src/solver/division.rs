//! How the ripple on a bus divides among its banks and whatever source has an inductance: line by line, and at the worst
//! place within the tolerance of their capacitances.
//!
//! All banks are taken to be off by the same part of their own tolerance. Lowest, nominal and highest are looked at, and
//! where a line meets a resonance in between, that place as well. Shares follow from inputs alone: lanes that state the
//! same have them reckoned once.

use loadworthy_physics::Frequency;
use loadworthy_physics::link_lines::LINES;
use loadworthy_physics::link_voltage::{Across, BridgePulses};

use crate::ids::InputId;
use crate::plan::{Bank, Bus, Plan};
use crate::solver::branches::Branches;
use crate::solver::pass::Pass;
use crate::solver::ripple_lines::RippleLines;
use crate::solver::ripple_voltage;
use crate::trace::{Operand, Trace};

/// A line matters for a resonance if this much of the square of the stage lies there, or comes to lie there in a bank: a
/// fifth of the current.
pub(crate) const MATTERS: f64 = 0.04;

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
    /// Places within the tolerance at which the voltage is looked at, what stands across the bus there, and what all stages
    /// make of that.
    places: Vec<f64>,
    across: Vec<Across>,
    swings: Vec<[f64; L]>,
    /// Pulses of one bridge.
    pub(crate) pulses: BridgePulses,
}

impl<const L: usize> Division<L> {
    pub(crate) fn new(plan: &Plan) -> Self {
        let most = |of: &dyn Fn(&Bus) -> usize| plan.buses.iter().map(of).max().unwrap_or(0);
        let terms = most(&|bus| bus.ripple.terms.len());
        let shares = most(&|bus| bus.ripple.terms.len() * LINES * bus.ripple.banks.len());
        // Lowest capacitance, and where each line may resonate below and above the nominal one.
        let places = 1 + 2 * terms * LINES;
        Self {
            lines: vec![[RippleLines::UNKNOWN; L]; terms],
            shares: vec![0.0; shares],
            susceptances: [vec![0.0; terms * LINES], vec![0.0; terms * LINES]],
            commons: Vec::with_capacity(most(&|bus| in_step(plan, bus))),
            squares: vec![[0.0; L]; plan.banks.len()],
            ringing: vec![0.0; most(&|bus| bus.ripple.banks.len())],
            largest: [0.0; L],
            volts: [0.0; L],
            places: Vec::with_capacity(places),
            across: Vec::with_capacity(places),
            swings: Vec::with_capacity(places),
            pulses: BridgePulses::default(),
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
        let circuit = Branches { plan, bus, inputs: pass.inputs, l: lead };
        let mut before: Option<f64> = None;
        let places: &[f64] = if circuit.is_loose() { &[-1.0, 0.0, 1.0] } else { &[0.0] };
        self.places.clear();
        self.places.push(places[0]);
        for &place in places {
            self.susceptances.swap(0, 1);
            self.shares_at(&circuit, place, true);
            self.take(bus, members, pass);
            if let Some(before) = before.replace(place) {
                for line in 0..bus.ripple.terms.len() * LINES {
                    let (from, to) = (self.susceptances[1][line], self.susceptances[0][line]);
                    if from * to < 0.0 {
                        let frequency = self.frequency(line, lead);
                        let meets = circuit.resonance(frequency, before, place, from);
                        self.shares_at(&circuit, meets, false);
                        self.take(bus, members, pass);
                        self.places.push(meets);
                    }
                }
            }
        }
        self.swing(&circuit, members, pass);
        self.heat_of_rings(&circuit, places[0], members, pass);
    }

    /// Adds to each bank what rings above the lines; what of it lies among them was told there.
    fn heat_of_rings<T: Trace>(
        &mut self,
        circuit: &Branches<'_, L>,
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
    fn shares_at(&mut self, circuit: &Branches<'_, L>, place: f64, keeps: bool) {
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

    /// What all stages make of the voltage at the worst of the places at hand.
    fn swing<T: Trace>(&mut self, circuit: &Branches<'_, L>, members: &[bool; L], pass: &Pass<'_, L, T>) {
        let Self { lines, volts, places, across, swings, pulses, .. } = self;
        swings.clear();
        swings.resize(places.len(), [0.0; L]);
        for (term, lines) in circuit.bus.ripple.terms.iter().zip(lines) {
            across.clear();
            across.extend(places.iter().map(|&place| circuit.across(lines[circuit.l].first, place)));
            for l in (0..L).filter(|&l| members[l]) {
                // A stage at rest sends nothing.
                if pass.figures[term.current.index()][l].abs() <= 0.0 {
                    continue;
                }
                let stage = (term, &lines[l]);
                ripple_voltage::of_stage(
                    circuit.plan,
                    stage,
                    (across, None),
                    l,
                    pass,
                    pulses,
                    |place, own| {
                        swings[place][l] += own;
                    },
                );
            }
        }
        for swing in swings {
            for l in (0..L).filter(|&l| members[l]) {
                if swing[l] > volts[l] || swing[l].is_nan() {
                    volts[l] = swing[l];
                }
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
