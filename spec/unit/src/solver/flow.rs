//! How the coolant flow divides, in a block of lanes. It depends on what is stated alone and is reckoned once.

mod drops;

use loadworthy_physics::hydraulics::{self, Drop, Node};
use loadworthy_physics::{Temperature, ThermalResistance, VolumeFlow, coolant, duct, plate};

use crate::ids::{FigureId, InputId};
use crate::plan::{AtFlow, CoolantLeg, CoolantPath, Place, Plan, Pump};
use crate::solver::laws;
use crate::solver::outcome::Trouble;
use crate::solver::pass::Pass;
use crate::solver::scratch::Scratch;
use crate::trace::{Operand, Trace};
use drops::{Fluid, Known, node_of};

/// Halvings after which the flow of a pump is known beyond rounding.
const HALVINGS: usize = 60;

/// Room for the pressures and flows of the coolant.
#[derive(Clone, Debug, Default)]
pub(crate) struct Hydraulics<const L: usize> {
    /// The path as a tree of passages, children before parents, their drops filled in for each lane.
    nodes: Vec<Node>,
    flows: Vec<VolumeFlow>,
    /// Flow of each node in each lane.
    lanes: Vec<[f64; L]>,
    /// How the flow divided last, as stated and when cold: most lanes have their coolant as the one before.
    last: [Divided; 2],
    /// The node of each place, and of each branch of each split.
    places: Vec<usize>,
    branches: Vec<Vec<usize>>,
}

/// How a flow divided.
#[derive(Clone, Debug, Default)]
struct Divided {
    /// The path, the flow that is stated, and what is known of what the pump must overcome.
    nodes: Vec<Node>,
    stated: f64,
    known: f64,
    total: f64,
    flows: Vec<VolumeFlow>,
}

impl<const L: usize> Hydraulics<L> {
    /// Room for a plan.
    pub(crate) fn new(plan: &Plan) -> Self {
        let Some(path) = &plan.coolant else { return Self::default() };
        let mut this = Self {
            places: vec![0; path.places.len()],
            branches: path.splits.iter().map(|split| vec![0; split.branches.len()]).collect(),
            ..Self::default()
        };
        this.row(path, &path.legs);
        this.flows = vec![VolumeFlow::ZERO; this.nodes.len()];
        // Nothing is known to be infinite, so no lane takes this for its own.
        let nothing = Divided {
            nodes: this.nodes.clone(),
            known: f64::INFINITY,
            flows: this.flows.clone(),
            ..Divided::default()
        };
        this.last = [nothing.clone(), nothing];
        this.lanes = vec![[f64::NAN; L]; this.nodes.len()];
        this
    }

    /// Adds what stands one after another, and says at which node.
    fn row(&mut self, path: &CoolantPath, legs: &[CoolantLeg]) -> usize {
        for leg in legs {
            match *leg {
                CoolantLeg::Place(place) => {
                    self.nodes.push(Node::Element(Drop::NONE));
                    self.places[place] = self.nodes.len() - 1;
                }
                CoolantLeg::Split(split) => {
                    let branches = &path.splits[split].branches;
                    for (k, branch) in branches.iter().enumerate() {
                        self.branches[split][k] = self.row(path, &branch.legs);
                    }
                    self.nodes.push(Node::Parallel(branches.len()));
                }
            }
        }
        self.nodes.push(Node::Series(legs.len()));
        self.nodes.len() - 1
    }
}

/// Puts every flow, its heat-capacity rate, and what follows from them alone.
pub(crate) fn divide<const L: usize, T: Trace>(
    plan: &Plan,
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    let Some(path) = &plan.coolant else { return };
    let stated = pass.input(path.flow);
    let mut total = stated;
    let room = &mut scratch.hydraulics;
    if path.pump.is_some() || !path.splits.is_empty() {
        for l in 0..L {
            let celsius = pass.input(path.inlet)[l];
            total[l] = part(path, l, (celsius, Known::AsStated), pass, room);
            for (lanes, flow) in room.lanes.iter_mut().zip(&room.flows) {
                lanes[l] = flow.si();
            }
        }
    }
    let mut from: Vec<Operand> = Vec::new();
    let law = match &path.pump {
        Some(pump) if stated[0].is_nan() => {
            if T::LISTENS {
                from.extend([pump.curve.into(), Operand::from(path.inlet)]);
                dropping(path, &path.legs, path.drop_known, pass, &mut from);
            }
            &laws::PUMPED
        }
        _ => {
            if T::LISTENS {
                from.push(path.flow.into());
            }
            &laws::STATED
        }
    };
    pass.put(path.total_flow, law, &from, |l| total[l]);
    rate(path, path.total_flow, path.capacity_rate, pass);
    for (k, split) in path.splits.iter().enumerate() {
        // A branch with a drop that is not known leaves open what the others carry, too.
        let mut known = [0.0; L];
        for branch in &split.branches {
            let drop = pass.input(branch.drop_known);
            known.iter_mut().zip(drop).for_each(|(known, drop)| *known += 0.0 * drop);
        }
        let mut from: Vec<Operand> = Vec::new();
        if T::LISTENS {
            from.extend([Operand::from(path.total_flow), path.inlet.into()]);
            for branch in &split.branches {
                dropping(path, &branch.legs, branch.drop_known, pass, &mut from);
            }
        }
        for (b, branch) in split.branches.iter().enumerate() {
            let nodes = &room.branches[k];
            let through = room.lanes[nodes[b]];
            let flow = pass.put(branch.flow, &hydraulics::DISTRIBUTE, &from, |l| through[l] + known[l]);
            let all: [f64; L] = core::array::from_fn(|l| nodes.iter().map(|&node| room.lanes[node][l]).sum());
            pass.put(branch.share, &laws::FLOW_SHARE, &[branch.flow.into()], |l| flow[l] / all[l]);
            rate(path, branch.flow, branch.capacity_rate, pass);
        }
    }
    let inlet = pass.input(path.inlet);
    let mut fluids: [Fluid; L] = core::array::from_fn(|l| Fluid::of(path, l, inlet[l], pass));
    for place in &path.places {
        at_place(plan, path, place, &mut fluids, pass);
    }
}

/// The drop of a row, where not everything in it says what it drops: what is known stands with each place.
pub(crate) fn unknown<const L: usize, T: Trace>(known: InputId, pass: &Pass<'_, L, T>) -> Option<Operand> {
    pass.input(known)[0].is_nan().then_some(known.into())
}

/// What the pressure over a row follows from: what is stated of each place, and what is not known where anything is not.
fn dropping<const L: usize, T: Trace>(
    path: &CoolantPath,
    legs: &[CoolantLeg],
    known: InputId,
    pass: &Pass<'_, L, T>,
    from: &mut Vec<Operand>,
) {
    from.extend(unknown(known, pass));
    for leg in legs {
        match *leg {
            CoolantLeg::Place(place) => {
                let Place { drops, passage, drop_at, .. } = &path.places[place];
                // What is scaled to the coolant as it is here hangs on what coolant it is.
                let curve = Operand::Curve(path.coolant_curve);
                let scaled = !pass.input(*drop_at)[0].is_nan();
                if (passage.is_duct || scaled) && !from.contains(&curve) {
                    from.push(curve);
                    from.extend(path.glycol.map(Operand::Input));
                }
                from.extend(drops.iter().flat_map(|&(at, drop)| [Operand::Input(at), Operand::Input(drop)]));
                if passage.is_duct {
                    let own = [passage.bore, passage.length, passage.count, passage.losses];
                    from.extend(own.map(Operand::Input));
                }
            }
            CoolantLeg::Split(split) => {
                for branch in &path.splits[split].branches {
                    dropping(path, &branch.legs, branch.drop_known, pass, from);
                }
            }
        }
    }
}

/// The flows of a lane with all coolant at one temperature; says how much flows in all.
fn part<const L: usize, T: Trace>(
    path: &CoolantPath,
    l: usize,
    (celsius, known): (f64, Known),
    pass: &Pass<'_, L, T>,
    room: &mut Hydraulics<L>,
) -> f64 {
    let mut fluid = Fluid::of(path, l, celsius, pass);
    for (place, &node) in path.places.iter().zip(&room.places) {
        if let Some(node) = room.nodes.get_mut(node) {
            *node = node_of(path, place, l, (&mut fluid, known), pass);
        }
    }
    let stated = pass.input(path.flow)[l];
    let pump = path.pump.as_ref().filter(|_| stated.is_nan());
    let drop_known = pump.map_or(0.0, |_| pass.input(path.drop_known)[l]);
    let last = &mut room.last[usize::from(known == Known::WhenCold)];
    let same = |one: f64, other: f64| one.to_bits() == other.to_bits();
    if same(last.stated, stated) && same(last.known, drop_known) && last.nodes == room.nodes {
        room.flows.copy_from_slice(&last.flows);
        return last.total;
    }
    let total = match pump {
        Some(pump) => pumped(pump, &room.nodes) + drop_known,
        None => stated,
    };
    hydraulics::divide(&room.nodes, VolumeFlow::new(total), &mut room.flows);
    (last.stated, last.known, last.total) = (stated, drop_known, total);
    last.nodes.copy_from_slice(&room.nodes);
    last.flows.copy_from_slice(&room.flows);
    total
}

/// Puts the flow of the whole and of each branch with all coolant as cold as the surroundings may be.
pub(crate) fn cold<const L: usize, T: Trace>(
    path: &CoolantPath,
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    let room = &mut scratch.hydraulics;
    let coldest = pass.input(path.coldest);
    let mut total = pass.input(path.flow);
    let depends = path.pump.is_some() || !path.splits.is_empty();
    if depends {
        for l in 0..L {
            total[l] = if coldest[l].is_nan() {
                room.flows.fill(VolumeFlow::new(f64::NAN));
                f64::NAN
            } else {
                part(path, l, (coldest[l], Known::WhenCold), pass, room)
            };
            for (lanes, flow) in room.lanes.iter_mut().zip(&room.flows) {
                lanes[l] = flow.si();
            }
        }
    }
    let is_held = !pass.input(path.flow)[0].is_nan();
    let mut from: Vec<Operand> = Vec::new();
    let mut drops: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.push(path.coldest.into());
        match path.pump.as_ref().filter(|_| !is_held) {
            Some(pump) => {
                from.push(pump.curve.into());
                // Only where a drop is not known there is something to say of it.
                from.extend(unknown(path.drop_known, pass));
            }
            None => from.push(path.flow.into()),
        }
        // Along the whole path drops decide where a curve of the pump stands against them.
        let sought = !is_held && path.pump.is_some();
        let decides = |place: &&Place| !place.drops.is_empty() && (sought || place.flow != path.total_flow);
        let measured = path.places.iter().filter(decides);
        drops.extend(
            measured
                .flat_map(|place| core::iter::once(place.drop_at).chain(place.second_point))
                .map(Operand::Input),
        );
        drops.extend(path.glycol.map(Operand::Input));
        if sought {
            from.extend(&drops);
        }
    }
    pass.put(path.whole.cold_flow, &laws::COLD_FLOW, &from, |l| total[l] + 0.0 * coldest[l]);
    for (split, nodes) in path.splits.iter().zip(&room.branches) {
        for (branch, &node) in split.branches.iter().zip(nodes) {
            if T::LISTENS {
                from = vec![path.whole.cold_flow.into()];
                from.extend(unknown(branch.drop_known, pass));
                from.extend(&drops);
            }
            let known = pass.input(branch.drop_known);
            pass.put(branch.row.cold_flow, &hydraulics::DISTRIBUTE, &from, |l| {
                room.lanes[node][l] + known[l]
            });
        }
    }
}

/// What follows from the flow at a place.
fn at_place<const L: usize, T: Trace>(
    plan: &Plan,
    path: &CoolantPath,
    place: &Place,
    fluids: &mut [Fluid; L],
    pass: &mut Pass<'_, L, T>,
) {
    let flow = pass.figure(place.flow);
    if let Some(out) = place.pressure_drop {
        let nodes: [Node; L] =
            core::array::from_fn(|l| node_of(path, place, l, (&mut fluids[l], Known::AsStated), pass));
        let mut from: Vec<Operand> = Vec::new();
        let scaled = !pass.input(place.drop_at)[0].is_nan();
        if T::LISTENS {
            from.push(place.flow.into());
            from.extend(
                place.drops.iter().flat_map(|&(at, drop)| [Operand::Input(at), Operand::Input(drop)]),
            );
            if place.passage.is_duct {
                let passage = &place.passage;
                let own = [passage.bore, passage.length, passage.count, passage.losses];
                from.extend(own.map(Operand::Input));
            }
            if place.passage.is_duct || scaled {
                from.extend([Operand::Curve(path.coolant_curve), path.inlet.into()]);
                from.extend(path.glycol.map(Operand::Input));
            }
            if scaled {
                from.push(place.drop_at.into());
            }
        }
        let law = match (place.passage.is_duct, scaled) {
            (true, _) => &duct::PRESSURE,
            (false, true) => &hydraulics::AT_TEMPERATURE,
            (false, false) => &hydraulics::PRESSURE,
        };
        pass.put(out, law, &from, |l| {
            let flow = VolumeFlow::new(flow[l]);
            match nodes[l] {
                Node::Element(drop) => drop.pressure(flow).si(),
                Node::Duct(duct) => duct.pressure(flow).si(),
                Node::Series(_) | Node::Parallel(_) => f64::NAN,
            }
        });
    }
    if let Some(stated) = &place.plate {
        let at = AtFlow { flow: stated.flow, here: stated.resistance_here };
        at_flow(stated.resistance, at, place, pass);
    }
    for &(package, face) in &place.faces {
        let face = &plan.packages[package].faces[face];
        face.at_flow.into_iter().for_each(|at| at_flow(face.resistance, at, place, pass));
    }
    for &magnetic in &place.magnetics {
        let heat = &plan.magnetics[magnetic].heat;
        heat.at_flow.into_iter().for_each(|at| at_flow(heat.case, at, place, pass));
    }
}

/// Puts a resistance to the coolant of a place at the flow at hand.
fn at_flow<const L: usize, T: Trace>(stated: InputId, at: AtFlow, place: &Place, pass: &mut Pass<'_, L, T>) {
    let (resistance, stated_at, flow) = (pass.input(stated), pass.input(at.flow), pass.figure(place.flow));
    let from: &[Operand] = &[stated.into(), at.flow.into(), place.flow.into()];
    pass.put(at.here, &plate::AT_FLOW, from, |l| {
        let (at, flow) = (VolumeFlow::new(stated_at[l]), VolumeFlow::new(flow[l]));
        plate::at_flow(ThermalResistance::new(resistance[l]), at, flow).si()
    });
}

/// The flow at which a pump gives what the path takes.
fn pumped(pump: &Pump, nodes: &[Node]) -> f64 {
    let surplus =
        |flow: f64| pump.pressure.at(flow) - hydraulics::pressure_across(nodes, VolumeFlow::new(flow)).si();
    let (mut low, mut high) = (0.0, pump.largest_flow);
    // Beyond its curve a pump is not known, and against a path of which the drop is not known no flow is.
    let at_end = surplus(high);
    if at_end.is_nan() || at_end > 0.0 {
        return f64::NAN;
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        let left = surplus(middle);
        if left.is_nan() {
            return f64::NAN;
        }
        if left > 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}

/// Puts the heat-capacity rate of a flow.
fn rate<const L: usize, T: Trace>(
    path: &CoolantPath,
    flow: FigureId,
    out: FigureId,
    pass: &mut Pass<'_, L, T>,
) {
    let (inlet, through) = (pass.input(path.inlet), pass.figure(flow));
    let share = path.glycol.map_or([f64::NAN; L], |glycol| pass.input(glycol));
    let mut from: Vec<Operand> = Vec::new();
    if T::LISTENS {
        from.extend([Operand::Curve(path.coolant_curve), path.inlet.into(), flow.into()]);
        from.extend(path.glycol.map(Operand::Input));
    }
    pass.put(out, &coolant::HEAT_CAPACITY_RATE, &from, |l| {
        let Some(kind) = path.fluid(share[l]) else { return f64::NAN };
        let inlet = Temperature::celsius(inlet[l]);
        if kind.check(inlet).is_err() {
            return f64::NAN;
        }
        coolant::heat_capacity_rate(kind, inlet, VolumeFlow::new(through[l])).si()
    });
}

/// Tells where no coolant flows.
pub(crate) fn watch<const L: usize, T: Trace>(plan: &Plan, pass: &Pass<'_, L, T>, trouble: &mut Trouble<L>) {
    let Some(path) = &plan.coolant else { return };
    let rate = pass.figure(path.capacity_rate);
    for l in 0..L {
        if rate[l] <= 0.0 {
            trouble.note(l, path.part);
        }
    }
}
