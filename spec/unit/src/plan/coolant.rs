//! The coolant loop: places in the order of flow, and where it divides.

use loadworthy_physics::coolant::Coolant;

use crate::ids::{CurveId, FigureId, InputId, PartId};
use crate::plan::{LeastFlow, Passage, RowFigures, Wall};
use crate::trace::Operand;

/// The coolant path.
#[derive(Clone, Debug)]
pub struct CoolantPath {
    /// The loop.
    pub part: PartId,
    /// 0 where everything between inlet and outlet says how it drops pressure, else missing; a pump with a curve asks.
    pub(crate) drop_known: InputId,
    /// What flows.
    pub coolant: Option<Coolant>,
    /// Where the description says what flows.
    pub(crate) coolant_curve: CurveId,
    /// Share of glycol by volume, where it is a mixture.
    pub glycol: Option<InputId>,
    /// Lowest absolute pressure where it leaves the unit, as stated.
    pub stated_pressure: InputId,
    /// Altitude, which gives the pressure where none is stated.
    pub altitude: InputId,
    /// Coldest surroundings.
    pub coldest: InputId,
    /// Kelvins that it may warm.
    pub most_warming: InputId,
    /// Lowest absolute pressure where it leaves the unit.
    pub outlet_pressure: FigureId,
    /// Freezing point.
    pub freezing_point: FigureId,
    /// Temperature at the inlet.
    pub inlet: InputId,
    /// Volume flow at the inlet, as stated.
    pub flow: InputId,
    /// The pump, where its flow follows from a curve.
    pub pump: Option<Pump>,
    /// Volume flow at the inlet.
    pub total_flow: FigureId,
    /// Pressure that it drops on the whole.
    pub total_drop: FigureId,
    /// Heat-capacity rate of the whole flow.
    pub capacity_rate: FigureId,
    /// Temperature at the end of the path.
    pub outlet: FigureId,
    /// All heat taken up.
    pub heat: FigureId,
    /// How the coolant warms on the whole, and how it flows when cold.
    pub whole: RowFigures,
    /// Places, in no particular order; `steps` visits them.
    pub places: Vec<Place>,
    /// Where the flow divides.
    pub splits: Vec<Split>,
    /// The path as it is written: what it visits, one after another.
    pub legs: Vec<Leg>,
    /// The same as single steps.
    pub(crate) steps: Vec<Step>,
}

/// What the path visits.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Leg {
    /// A place.
    Place(usize),
    /// A split.
    Split(usize),
}

/// What stands one after another: the path itself, or a branch of a split.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Row {
    /// The path.
    Path,
    /// A branch: its split, and its place among the branches of it.
    Branch(usize, usize),
}

/// One step along the path.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Step {
    /// Passes a place.
    Visit(usize),
    /// Comes to a split.
    Fork(usize),
    /// Enters a branch of a split.
    Enter(usize, usize),
    /// Leaves it.
    Leave(usize, usize),
    /// The branches of a split come together.
    Join(usize),
}

/// A pump whose pressure falls with its flow.
#[derive(Clone, Debug)]
pub struct Pump {
    /// For whoever wants to point at the curve.
    pub curve: CurveId,
    /// Its pressure.
    pub pressure: PumpPressure,
    /// Largest flow that the curve states.
    pub largest_flow: f64,
}

/// Pressure of a pump over its flow.
#[derive(Clone, Debug)]
pub enum PumpPressure {
    /// p0 - a·Q - b·Q², which passes all points closely.
    Parabola([f64; 3]),
    /// Straight from point to point, flow and pressure: no parabola is like them.
    Points(Vec<(f64, f64)>),
}

impl PumpPressure {
    /// Pressure in Pa at a flow in m³/s between no flow and the largest that is stated.
    #[must_use]
    pub fn at(&self, flow: f64) -> f64 {
        match self {
            Self::Parabola([none, linear, square]) => none - linear * flow - square * flow * flow,
            Self::Points(points) => {
                let after = points.iter().position(|point| flow <= point.0).unwrap_or(points.len());
                match (after.checked_sub(1).and_then(|before| points.get(before)), points.get(after)) {
                    (Some(before), Some(after)) => {
                        before.1 + (after.1 - before.1) * (flow - before.0) / (after.0 - before.0)
                    }
                    (None, Some(first)) => first.1,
                    _ => f64::NAN,
                }
            }
        }
    }
}

/// A place where the flow divides.
#[derive(Clone, Debug)]
pub struct Split {
    /// The element.
    pub part: PartId,
    /// Its branches.
    pub branches: Vec<Branch>,
    /// Temperature where they come together again.
    pub outlet: FigureId,
}

/// A branch of a split.
#[derive(Clone, Debug)]
pub struct Branch {
    /// The branch.
    pub part: PartId,
    /// What it visits.
    pub legs: Vec<Leg>,
    /// Volume flow through it.
    pub flow: FigureId,
    /// Its share of the flow that divides.
    pub share: FigureId,
    /// Heat-capacity rate of its flow.
    pub capacity_rate: FigureId,
    /// How its coolant warms, and how it flows when cold.
    pub row: RowFigures,
    /// 0 where every element of it says how it drops pressure, else missing, by the name of the first that does not.
    pub drop_known: InputId,
}

/// A place along the coolant path.
#[derive(Clone, Debug)]
pub struct Place {
    /// The element.
    pub part: PartId,
    /// Whether the description ties it to its place.
    pub is_fixed: bool,
    /// Height of its passage where the coolant enters and where it leaves.
    pub elevation: [InputId; 2],
    /// Whether air can leave at its highest point: 1, else 0.
    pub vented: InputId,
    /// Its passage.
    pub passage: Passage,
    /// The least flow that it needs, where it states one.
    pub least_flow: Option<LeastFlow>,
    /// What the coolant must not do where it takes up heat.
    pub wall: Option<Wall>,
    /// Share of the element's own warming that its resistances are referred to: 0 inlet, ½ mean, 1 outlet.
    pub reference: InputId,
    /// A resistance that all heat of the element passes, and the flow it was measured at.
    pub plate: Option<Plate>,
    /// Pressure drops as stated: flow and pressure, up to two.
    pub drops: Vec<(InputId, InputId)>,
    /// Coolant temperature that the drops were measured at.
    pub drop_at: InputId,
    /// What a drop lacks to be known with cold coolant, beside its temperature: a second point.
    pub(crate) second_point: Option<InputId>,
    /// Volume flow here.
    pub flow: FigureId,
    /// Heat-capacity rate here.
    pub capacity_rate: FigureId,
    /// Pressure drop here; where one is stated or computed.
    pub pressure_drop: Option<FigureId>,
    /// Coolant entering.
    pub coolant_in: FigureId,
    /// Coolant leaving.
    pub coolant_out: FigureId,
    /// Heat taken up.
    pub heat: FigureId,
    /// Coolant temperature that the resistances are referred to.
    pub reference_temperature: FigureId,
    /// Faces cooled here: package and face.
    pub faces: Vec<(usize, usize)>,
    /// Magnetic components cooled here.
    pub magnetics: Vec<usize>,
    /// Conductors on pads here.
    pub pads: Vec<usize>,
    /// What is summed for `heat`, in pairs that are multiplied.
    pub(crate) heats: Vec<Operand>,
    /// The heat of a stage that could not be read and stands here.
    pub(crate) unknown_heat: Option<InputId>,
}

/// A plate that all heat of an element passes.
#[derive(Clone, Debug)]
pub struct Plate {
    /// Its resistance at the stated flow.
    pub resistance: InputId,
    /// The flow it was measured at.
    pub flow: InputId,
    /// Its heat capacity, where one is stated.
    pub heat_capacity: Option<InputId>,
    /// Its resistance at the flow at hand.
    pub resistance_here: FigureId,
    /// Temperature of the plate.
    pub temperature: FigureId,
}

/// What a resistance from a case to the coolant follows, which states the flow that it was measured at.
#[derive(Clone, Copy, Debug)]
pub struct AtFlow {
    /// That flow.
    pub flow: InputId,
    /// The resistance at the flow at hand.
    pub here: FigureId,
}

impl CoolantPath {
    /// The coolant with a share of glycol.
    pub(crate) fn fluid(&self, glycol: f64) -> Option<Coolant> {
        self.coolant.map(|kind| match kind {
            Coolant::WaterGlycol { .. } => Coolant::WaterGlycol { glycol },
            Coolant::Water => Coolant::Water,
        })
    }

    /// The place of a part on the path, if it is one.
    #[must_use]
    pub fn place_of(&self, part: PartId) -> Option<&Place> {
        self.places.iter().find(|place| place.part == part)
    }

    /// Highest temperature in °C for which the coolant is known.
    #[must_use]
    pub fn highest(&self) -> Option<f64> {
        self.coolant.map(|kind| kind.highest().in_celsius())
    }

    /// All rows: the path, then the branches of each split.
    pub fn rows(&self) -> impl Iterator<Item = Row> + '_ {
        let branches =
            |(split, of): (usize, &Split)| (0..of.branches.len()).map(move |b| Row::Branch(split, b));
        core::iter::once(Row::Path).chain(self.splits.iter().enumerate().flat_map(branches))
    }

    /// What a row visits, one after another.
    #[must_use]
    pub fn row(&self, row: Row) -> &[Leg] {
        match row {
            Row::Path => &self.legs,
            Row::Branch(split, branch) => &self.splits[split].branches[branch].legs,
        }
    }

    /// The part that a row is.
    #[must_use]
    pub fn row_part(&self, row: Row) -> PartId {
        match row {
            Row::Path => self.part,
            Row::Branch(split, branch) => self.splits[split].branches[branch].part,
        }
    }

    /// Visits what a row visits in another order, once the path is laid anew; says whether it is one, and changes nothing
    /// where it is not.
    pub(crate) fn reorder(&mut self, row: Row, order: &[usize]) -> bool {
        let legs = self.row(row);
        let mut seen: Vec<usize> = order.to_vec();
        seen.sort_unstable();
        if !seen.iter().copied().eq(0..legs.len()) {
            return false;
        }
        let legs = order.iter().map(|&from| legs[from]).collect();
        match row {
            Row::Path => self.legs = legs,
            Row::Branch(split, branch) => self.splits[split].branches[branch].legs = legs,
        }
        true
    }

    /// Draws the steps anew from the legs.
    pub(crate) fn lay(&mut self) {
        fn walk(path: &CoolantPath, legs: &[Leg], steps: &mut Vec<Step>) {
            for &leg in legs {
                match leg {
                    Leg::Place(place) => steps.push(Step::Visit(place)),
                    Leg::Split(split) => {
                        steps.push(Step::Fork(split));
                        for (k, branch) in path.splits[split].branches.iter().enumerate() {
                            steps.push(Step::Enter(split, k));
                            walk(path, &branch.legs, steps);
                            steps.push(Step::Leave(split, k));
                        }
                        steps.push(Step::Join(split));
                    }
                }
            }
        }
        let mut steps = Vec::new();
        walk(self, &self.legs, &mut steps);
        self.steps = steps;
    }

    /// The steps along the path.
    #[must_use]
    pub fn steps(&self) -> &[Step] {
        &self.steps
    }
}
