//! Which bank resonates with what, and with which line of which stage: for whoever tells of it.

use core::f64::consts::TAU;

use loadworthy_physics::Frequency;
use loadworthy_physics::capacitor_bank::Branch;

use crate::ids::PartId;
use crate::plan::RippleTerm;
use crate::solver::branches::Branches;
use crate::solver::division::MATTERS;
use crate::solver::ripple_lines::RippleLines;

/// A bank that carries more of a line than all of it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Resonant {
    /// The bank.
    pub bank: PartId,
    /// The bank or the source beside it through which most of that returns.
    pub beside: PartId,
    /// Frequency at which these two resonate, in Hz.
    pub meets: f64,
    /// Frequency of the line, in Hz.
    pub line: f64,
    /// The stage whose line it is, in the plan.
    pub stage: usize,
    /// The share of it that the bank carries.
    pub share: f64,
}

/// The largest share of a line that matters that one bank carries, as the division of the ripple finds it. The lines are those of
/// stages that send anything.
pub(crate) fn find<const L: usize>(
    circuit: &Branches<'_, L>,
    lines: &[(RippleTerm, RippleLines)],
) -> Option<Resonant> {
    let mut worst: Option<Resonant> = None;
    let ends: &[f64] = if circuit.is_loose() { &[-1.0, 0.0, 1.0] } else { &[0.0] };
    for (term, lines) in lines {
        for (frequency, part) in lines.each() {
            let susceptance = |place: f64| circuit.admittance(frequency, place, |_, _| ()).1;
            let between = ends.windows(2).filter_map(|ends| {
                let at_first = susceptance(ends[0]);
                (at_first * susceptance(ends[1]) < 0.0)
                    .then(|| circuit.resonance(frequency, ends[0], ends[1], at_first))
            });
            for place in ends.iter().copied().chain(between) {
                let found = at(circuit, frequency, place).filter(|(_, _, share, _)| {
                    let most = if *share > 1.0 { share * share } else { 1.0 };
                    part * most >= MATTERS && worst.is_none_or(|worst| *share > worst.share)
                });
                if let Some((bank, beside, share, meets)) = found {
                    let line = frequency.si();
                    worst = Some(Resonant { bank, beside, meets, line, stage: term.stage, share });
                }
            }
        }
    }
    worst
}

/// The bank that carries most at a frequency, what it swings against, its share, and where both resonate.
fn at<const L: usize>(
    circuit: &Branches<'_, L>,
    frequency: Frequency,
    place: f64,
) -> Option<(PartId, PartId, f64, f64)> {
    let (plan, bus) = (circuit.plan, circuit.bus);
    let banks = bus.ripple.banks.iter().map(|&bank| &plan.banks[bank]);
    let banks = banks.map(|bank| (bank.part, circuit.bank(bank, place), true));
    let sources = bus
        .sources
        .iter()
        .filter_map(|&source| Some((plan.sources[source].part, circuit.source(source)?, false)));
    let all: Vec<(PartId, Branch, bool)> = banks.chain(sources).collect();
    let own = |branch: &Branch| branch.admittance(frequency);
    let size = |(real, imaginary): (f64, f64)| (real * real + imaginary * imaginary).sqrt();
    let sum = all.iter().map(|(_, branch, _)| own(branch)).fold((0.0, 0.0), |a, b| (a.0 + b.0, a.1 + b.1));
    let most = |one: &&(PartId, Branch, bool), other: &&(PartId, Branch, bool)| {
        size(own(&one.1)).total_cmp(&size(own(&other.1)))
    };
    let (bank, branch, _) = all.iter().filter(|(_, _, is_bank)| *is_bank).max_by(most)?;
    // What the bank takes too much of comes back through whatever is of the other sign.
    let returns = |(_, other, _): &&(PartId, Branch, bool)| own(other).1 * own(branch).1 < 0.0;
    let (beside, other, _) = all.iter().filter(returns).max_by(most)?;
    let elastance = |branch: &Branch| branch.capacitance.map_or(0.0, |farad| 1.0 / farad.si());
    let henry = (branch.inductance + other.inductance).si();
    let meets = ((elastance(branch) + elastance(other)) / henry).sqrt() / TAU;
    Some((*bank, *beside, size(own(branch)) / size(sum), meets))
}
