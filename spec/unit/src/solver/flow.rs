//! How the coolant flow divides, in a block of lanes. It depends on what is stated alone and is reckoned once.

use loadworthy_physics::coolant;
use loadworthy_physics::hydraulics::{self, Drop, Node};
use loadworthy_physics::{Pressure, Temperature, ThermalResistance, VolumeFlow, plate};

use crate::ids::FigureId;
use crate::plan::{CoolantLeg, CoolantPath, Place, Plan};
use crate::solver::laws;
use crate::solver::outcome::Trouble;
use crate::solver::pass::Pass;
use crate::solver::scratch::Scratch;
use crate::trace::{Operand, Trace};

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
    /// The node of each place, and of each branch of each split.
    places: Vec<usize>,
    branches: Vec<Vec<usize>>,
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
            fill(path, l, pass, room);
            if let Some(pump) = path.pump.as_ref().filter(|_| stated[l].is_nan()) {
                total[l] = pumped(pump.coefficients, pump.largest_flow, &room.nodes);
            }
            hydraulics::distribute(&room.nodes, VolumeFlow::new(total[l]), &mut room.flows);
            for (lanes, flow) in room.lanes.iter_mut().zip(&room.flows) {
                lanes[l] = flow.si();
            }
        }
    }
    let (law, from): (_, &[Operand]) = match &path.pump {
        Some(pump) if stated[0].is_nan() => (&hydraulics::PUMP_POINT, &[pump.curve.into()]),
        _ => (&laws::STATED, &[path.flow.into()]),
    };
    pass.put(path.total_flow, law, from, |l| total[l]);
    rate(path, path.total_flow, path.capacity_rate, pass);
    for (k, split) in path.splits.iter().enumerate() {
        // A branch of which no drop is known leaves open what the others carry, too.
        let mut known = [0.0; L];
        for branch in &split.branches {
            let drop = pass.input(branch.drop_known);
            known.iter_mut().zip(drop).for_each(|(known, drop)| *known += 0.0 * drop);
        }
        let mut from: Vec<Operand> = Vec::new();
        if T::LISTENS {
            from.push(path.total_flow.into());
            from.extend(split.branches.iter().map(|branch| Operand::Input(branch.drop_known)));
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
    for place in &path.places {
        at_place(place, pass);
    }
}

/// What follows from the flow at a place.
fn at_place<const L: usize, T: Trace>(place: &Place, pass: &mut Pass<'_, L, T>) {
    let flow = pass.figure(place.flow);
    if let Some(out) = place.pressure_drop {
        let points: [Drop; L] = core::array::from_fn(|l| drop_of(place, l, pass));
        let mut from: Vec<Operand> = Vec::new();
        if T::LISTENS {
            from.push(place.flow.into());
            from.extend(
                place.drops.iter().flat_map(|&(at, drop)| [Operand::Input(at), Operand::Input(drop)]),
            );
        }
        pass.put(out, &hydraulics::PRESSURE, &from, |l| points[l].pressure(VolumeFlow::new(flow[l])).si());
    }
    let Some(stated) = &place.plate else { return };
    let resistance = pass.input(stated.resistance);
    let at = pass.input(stated.flow);
    let from: &[Operand] = &[stated.resistance.into(), stated.flow.into(), place.flow.into()];
    pass.put(stated.resistance_here, &plate::AT_FLOW, from, |l| {
        let (at, flow) = (VolumeFlow::new(at[l]), VolumeFlow::new(flow[l]));
        plate::at_flow(ThermalResistance::new(resistance[l]), at, flow).si()
    });
}

/// Fills in the drops of a lane.
fn fill<const L: usize, T: Trace>(
    path: &CoolantPath,
    l: usize,
    pass: &Pass<'_, L, T>,
    room: &mut Hydraulics<L>,
) {
    for (place, &node) in path.places.iter().zip(&room.places) {
        if let Some(Node::Element(drop)) = room.nodes.get_mut(node) {
            *drop = drop_of(place, l, pass);
        }
    }
}

/// The drop of a place; one that states none drops nothing.
fn drop_of<const L: usize, T: Trace>(place: &Place, l: usize, pass: &Pass<'_, L, T>) -> Drop {
    let point = |k: usize| {
        let (flow, pressure) = place.drops[k];
        (VolumeFlow::new(pass.input(flow)[l]), Pressure::new(pass.input(pressure)[l]))
    };
    match place.drops.len() {
        0 => Drop::NONE,
        1 => Drop::from_point(point(0).0, point(0).1),
        _ => Drop::from_two_points(point(0), point(1)),
    }
}

/// The flow at which a pump gives what the path takes.
fn pumped([none, linear, square]: [f64; 3], largest: f64, nodes: &[Node]) -> f64 {
    let surplus = |flow: f64| {
        none - linear * flow
            - square * flow * flow
            - hydraulics::pressure_across(nodes, VolumeFlow::new(flow)).si()
    };
    let (mut low, mut high) = (0.0, largest);
    if surplus(high) > 0.0 {
        // Beyond its curve a pump is not known.
        return f64::NAN;
    }
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if surplus(middle) > 0.0 { low = middle } else { high = middle }
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
    let from: &[Operand] = &[path.coolant_curve.into(), path.inlet.into(), flow.into()];
    pass.put(out, &coolant::HEAT_CAPACITY_RATE, from, |l| {
        let Some(kind) = path.coolant else { return f64::NAN };
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
