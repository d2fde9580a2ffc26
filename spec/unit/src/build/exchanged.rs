//! Two outputs of which each suits the gates of the other, and not its own.
//!
//! What does not suit is told by other entries: the rail that an output is tied to, the voltages of the outputs beside it, the
//! barrier that lists it, the other windings of its transformer, the power of the outputs beside it, and what charges a bootstrap.

use std::collections::BTreeMap;

use loadworthy_language::sections::gate_supplies::GateSupply as Written;

use crate::build::Build;
use crate::build::isolation::{bus_of, domain_of};
use crate::plan::{Exchanged, GateNode, Misfit, Side};

/// A position with a gate: its stage in the plan, and its place in the stage.
type Gate = (usize, usize);

/// Notes outputs that were exchanged; each with one other at most.
pub(super) fn note(build: &mut Build<'_>) {
    let beside = Beside::of(build);
    let mut found: Vec<(usize, Exchanged)> = Vec::new();
    let gates = |output: usize| beside.gates(output).unwrap_or_default();
    // What suits its own gates was not exchanged, whatever else it would suit.
    let strange: Vec<usize> = (0..build.plan.gate_supplies.len())
        .filter(|&output| !beside.misfits(output, &gates(output), [output; 2]).is_empty())
        .collect();
    for (place, &one) in strange.iter().enumerate() {
        for &other in &strange[place + 1..] {
            if found.iter().any(|(known, _)| [one, other].contains(known)) {
                continue;
            }
            if let Some([misfits, theirs]) = beside.suit_one_another(one, other) {
                found.push((one, Exchanged { with: other, misfits }));
                found.push((other, Exchanged { with: one, misfits: theirs }));
            }
        }
    }
    for (output, exchanged) in found {
        build.plan.gate_supplies[output].exchanged = Some(exchanged);
    }
}

/// What else is stated of outputs.
struct Beside<'b, 'd> {
    build: &'b Build<'d>,
    /// The outputs that feed gates of each stage.
    of_stage: BTreeMap<usize, Vec<usize>>,
    /// The transformer that each output is a winding of.
    transformer: BTreeMap<usize, usize>,
    /// The two domains of each barrier that lists a name.
    listing: BTreeMap<&'b str, Vec<Vec<&'b str>>>,
}

impl<'b, 'd> Beside<'b, 'd> {
    fn of(build: &'b Build<'d>) -> Self {
        let mut of_stage: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (output, supply) in build.plan.gate_supplies.iter().enumerate() {
            for (stage, _) in supply.alone() {
                let outputs = of_stage.entry(stage).or_default();
                if outputs.last() != Some(&output) {
                    outputs.push(output);
                }
            }
        }
        let transformers = build.plan.gate_transformers.iter().enumerate();
        let transformer =
            transformers.flat_map(|(k, of)| of.outputs.iter().map(move |(output, _)| (*output, k)));
        let mut listing: BTreeMap<&str, Vec<Vec<&str>>> = BTreeMap::new();
        let barriers = build.description.isolation.read().and_then(|section| section.barriers.as_ref());
        for (_, barrier) in barriers.into_iter().flatten() {
            let ends = barrier.between.iter().flat_map(|ends| &ends.value);
            let ends: Vec<&str> = ends.map(|end| end.value.as_str()).collect();
            for name in barrier.spanned_by.iter().flat_map(|names| &names.value) {
                listing.entry(name.value.as_str()).or_default().push(ends.clone());
            }
        }
        Self { build, of_stage, transformer: transformer.collect(), listing }
    }

    fn written(&self, output: usize) -> Option<&'b Written> {
        self.build.description.gate_supplies.get_index(output)?.1.read()
    }

    /// The gates of an output that may have been exchanged.
    fn gates(&self, output: usize) -> Option<Vec<Gate>> {
        let supply = &self.build.plan.gate_supplies[output];
        let is_open = !supply.contested.is_empty() || !supply.idle.is_empty();
        let gates: Vec<Gate> = supply.alone().collect();
        (!is_open && !gates.is_empty()).then_some(gates)
    }

    /// What does not suit either of two outputs, where each suits the gates of the other in every way.
    fn suit_one_another(&self, one: usize, other: usize) -> Option<[Vec<Misfit>; 2]> {
        let (own, theirs) = (self.gates(one)?, self.gates(other)?);
        let pair = [one, other];
        let found = [self.misfits(one, &own, pair), self.misfits(other, &theirs, pair)];
        // Windings of two transformers exchanged, and nothing else, change what fails together and no more.
        let is_told = |all: &Vec<Misfit>| {
            all.iter().any(|misfit| !matches!(misfit, Misfit::Transformer | Misfit::Side))
        };
        let is_wrong = found.iter().all(|all| !all.is_empty()) && found.iter().any(is_told);
        let would_suit =
            || self.misfits(one, &theirs, pair).is_empty() && self.misfits(other, &own, pair).is_empty();
        (is_wrong && would_suit()).then_some(found)
    }

    /// What speaks against an output at some gates; the pair that is asked about does not speak.
    fn misfits(&self, output: usize, gates: &[Gate], pair: [usize; 2]) -> Vec<Misfit> {
        let plan = &self.build.plan;
        let mut found = Vec::new();
        let Some(written) = self.written(output) else { return found };
        let is_off = |rail: &String, &(stage, place): &Gate| match &plan.stages[stage].positions[place].gate {
            Some(GateNode::Rail(own)) => own != rail,
            Some(GateNode::Floating { .. }) => true,
            Some(GateNode::Unsaid(_)) | None => false,
        };
        let rail = plan.gate_supplies[output].rail.as_ref();
        if rail.is_some_and(|rail| gates.iter().any(|gate| is_off(rail, gate))) {
            found.push(Misfit::Rail);
        }
        if let Some(from) = plan.gate_supplies[output].bootstrap_from
            && !self.charges(output, from, gates, pair)
        {
            found.push(Misfit::Bootstrap);
        }
        let others = || self.others(gates, pair);
        if levels(written).is_some_and(|own| others().is_some_and(|others| others != own)) {
            found.push(Misfit::Levels);
        }
        if self.is_listed_elsewhere(output, written, gates) {
            found.push(Misfit::Barrier);
        }
        let windings = self.transformer.get(&output).map(|&of| &plan.gate_transformers[of].outputs);
        let others = windings.into_iter().flatten().filter(|(of, _)| !pair.contains(of));
        let mut stages: Vec<usize> =
            others.flat_map(|(of, _)| plan.gate_supplies[*of].alone()).map(|gate| gate.0).collect();
        stages.dedup();
        if let [only] = stages.as_slice() {
            if gates.iter().any(|gate| gate.0 != *only) {
                found.push(Misfit::Transformer);
            } else if self.is_of_the_other_side(output, gates, pair) {
                found.push(Misfit::Side);
            }
        }
        let power = |of: usize| self.written(of)?.power.as_ref().map(|watts| watts.si().to_bits());
        let alike = self.alike(gates, pair);
        let mut powers = alike.iter().map(|&other| power(other));
        let first = powers.next().flatten();
        if first.is_some()
            && powers.all(|one| one == first)
            && power(output).is_some_and(|_| power(output) != first)
        {
            found.push(Misfit::Power);
        }
        found
    }

    /// Whether an output charges a bootstrap at some gates: it feeds the low side of each leg. Of a pair the one that charges feeds what the
    /// other would leave to it.
    fn charges(&self, output: usize, from: usize, gates: &[Gate], pair: [usize; 2]) -> bool {
        let own: Vec<Gate> = self.build.plan.gate_supplies[output].alone().collect();
        let is_exchanged = pair.contains(&from) && from != output && gates != own.as_slice();
        let lows: Vec<Gate> =
            if is_exchanged { own } else { self.build.plan.gate_supplies[from].alone().collect() };
        let position = |&(stage, place): &Gate| &self.build.plan.stages[stage].positions[place];
        gates.iter().all(|gate| {
            let high = position(gate);
            let charges = |low: &Gate| {
                low.0 == gate.0 && position(low).leg == high.leg && position(low).role.side() == Side::Low
            };
            high.role.side() == Side::High && lows.iter().any(charges)
        })
    }

    /// The side of its stage that gates stand on, where that is one.
    fn side(&self, gates: &[Gate]) -> Option<Side> {
        let side = |&(stage, place): &Gate| self.build.plan.stages[stage].positions[place].role.side();
        let first = side(gates.first()?);
        gates.iter().all(|gate| side(gate) == first).then_some(first)
    }

    /// Whether all other windings of a transformer feed the other side of the stage that some gates stand in.
    fn is_of_the_other_side(&self, output: usize, gates: &[Gate], pair: [usize; 2]) -> bool {
        let plan = &self.build.plan;
        let windings = self.transformer.get(&output).map(|&of| &plan.gate_transformers[of].outputs);
        let others = windings.into_iter().flatten().filter(|(of, _)| !pair.contains(of));
        let others: Vec<Gate> = others.flat_map(|(of, _)| plan.gate_supplies[*of].alone()).collect();
        self.side(gates).zip(self.side(&others)).is_some_and(|(own, others)| own != others)
    }

    /// Other outputs that feed as many gates on the same side of the same stage.
    fn alike(&self, gates: &[Gate], pair: [usize; 2]) -> Vec<usize> {
        let of_stage = gates.first().and_then(|gate| self.of_stage.get(&gate.0));
        let side = self.side(gates);
        let feeds_alike = |other: &usize| {
            let theirs: Vec<Gate> = self.build.plan.gate_supplies[*other].alone().collect();
            let is_one = theirs.iter().all(|gate| gate.0 == gates[0].0);
            is_one && theirs.len() == gates.len() && side.is_some() && self.side(&theirs) == side
        };
        let others = of_stage.into_iter().flatten().copied();
        others.filter(|other| !pair.contains(other)).filter(feeds_alike).collect()
    }

    /// The voltages that all other outputs have at the device that stands at some gates.
    fn others(&self, gates: &[Gate], pair: [usize; 2]) -> Option<[u64; 2]> {
        let plan = &self.build.plan;
        let device = |&(stage, place): &Gate| {
            let of = &plan.stages[stage];
            Some((stage, of.seats[of.positions[place].seat].fitted.as_deref()?))
        };
        let own = device(gates.first()?)?;
        let others = self.of_stage.get(&own.0)?.iter().filter(|other| !pair.contains(other));
        let others =
            others.filter(|other| plan.gate_supplies[**other].alone().any(|gate| device(&gate) == Some(own)));
        let mut all = others.map(|other| levels(self.written(*other)?));
        let first = all.next()??;
        all.all(|levels| levels == Some(first)).then_some(first)
    }

    /// Whether barriers list an output, and none of them between its gates and what feeds it.
    fn is_listed_elsewhere(&self, output: usize, written: &Written, gates: &[Gate]) -> bool {
        let build = self.build;
        let own = build.description.gate_supplies.get_index(output).map(|(name, _)| name.as_str());
        let transformer = written.transformer.as_ref().map(|named| named.value.as_str());
        let names = [own, transformer].into_iter().flatten();
        let mut listing = names.filter_map(|name| self.listing.get(name)).flatten().peekable();
        let from = written.from.as_ref().and_then(|bus| domain_of(build, &bus.value));
        let gate = gates.first().and_then(|&gate| bus_of(build, gate));
        let gate = gate.map(|bus| &build.tables.part_of(build.plan.buses[bus].part).path);
        let (Some(from), Some(gate)) = (from, gate.and_then(|bus| domain_of(build, bus))) else {
            return false;
        };
        let stands = |ends: &Vec<&str>| from != gate && ends.contains(&from) && ends.contains(&gate);
        listing.peek().is_some() && !listing.any(stands)
    }
}

/// The voltages of an output, to the bit.
fn levels(written: &Written) -> Option<[u64; 2]> {
    let bits = |given: &Option<_>| given.as_ref().map(volts);
    Some([bits(&written.on)?, bits(&written.off)?])
}

fn volts(given: &loadworthy_language::quantity::Given<loadworthy_physics::Voltage>) -> u64 {
    given.si().to_bits()
}
