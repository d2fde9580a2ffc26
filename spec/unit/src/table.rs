//! The tables of a variant: its parts, inputs, curves and figures, each under a dense number and a stable path.

use loadworthy_language::quantity::Dimension;
use loadworthy_source::NodeId;

use crate::ids::{CurveId, DutyId, FigureId, InputId, PartId};
use crate::origin::Origin;
use crate::solver::Late;

/// A part of the unit that figures and verdicts are about.
#[derive(Clone, Debug)]
pub struct Part {
    /// Its stable path, such as `traction_bridge.high_side.u.transistor`.
    pub path: String,
    /// Where the description names it.
    pub at: NodeId,
    /// The part it belongs to.
    pub of: Option<PartId>,
}

/// A figure that the solver fills in for each lane.
#[derive(Clone, Debug)]
pub struct Figure {
    /// The part it is about.
    pub part: PartId,
    /// Its name within the part, such as `junction_temperature`.
    pub name: &'static str,
    /// What kind of number it is.
    pub dimension: Dimension,
    /// Whether a duty point that does not ask for it leaves it without a value.
    pub is_asked_for: bool,
}

/// A number that the description states, or should.
#[derive(Clone, Debug)]
pub struct Input {
    /// Its path in the description; a `*` stands for the duty point.
    pub path: String,
    /// What kind of number it is.
    pub dimension: Dimension,
    /// One value for all duty points, or one for each.
    pub values: Vec<Stated>,
    /// Whether it grows with what a duty point asks for.
    pub is_demand: bool,
    /// What figures follow from it.
    pub follows: Follows,
}

/// What figures follow from an input; a trial of it keeps all others.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Follows {
    /// Any figure.
    Everything,
    /// Those of one group that nothing waits for.
    Late(Late),
    /// None: figures are only held against it.
    Nothing,
}

/// A value and where it comes from; not a number where it is missing.
#[derive(Clone, Copy, Debug)]
pub struct Stated {
    /// The value in the unit of its dimension.
    pub value: f64,
    /// Where it comes from.
    pub origin: Origin,
}

/// A data-sheet curve, for whoever wants to point at it.
#[derive(Clone, Debug)]
pub struct Curve {
    /// Its path in the description.
    pub path: String,
    /// Where it stands, or the entry that it would stand in.
    pub origin: Origin,
}

/// All tables of a variant.
#[derive(Clone, Debug, Default)]
pub struct Tables {
    parts: Vec<Part>,
    figures: Vec<Figure>,
    inputs: Vec<Input>,
    curves: Vec<Curve>,
}

impl Tables {
    /// Adds a part.
    pub(crate) fn part(&mut self, path: String, at: NodeId, of: Option<PartId>) -> PartId {
        self.parts.push(Part { path, at, of });
        PartId::new(self.parts.len() - 1)
    }

    /// Adds a figure.
    pub(crate) fn figure(&mut self, part: PartId, name: &'static str, dimension: Dimension) -> FigureId {
        self.figures.push(Figure { part, name, dimension, is_asked_for: false });
        FigureId::new(self.figures.len() - 1)
    }

    /// Adds a figure that only those duty points have that ask for it.
    pub(crate) fn figure_if_asked(
        &mut self,
        part: PartId,
        name: &'static str,
        dimension: Dimension,
    ) -> FigureId {
        self.figures.push(Figure { part, name, dimension, is_asked_for: true });
        FigureId::new(self.figures.len() - 1)
    }

    /// Adds an input with one value for all duty points.
    pub(crate) fn input(&mut self, path: String, dimension: Dimension, stated: Stated) -> InputId {
        self.input_by_duty(path, dimension, vec![stated], false)
    }

    /// Adds an input that figures are only held against.
    pub(crate) fn limit(&mut self, path: String, dimension: Dimension, stated: Stated) -> InputId {
        self.inputs.push(Input {
            path,
            dimension,
            values: vec![stated],
            is_demand: false,
            follows: Follows::Nothing,
        });
        InputId::new(self.inputs.len() - 1)
    }

    /// Marks an input that one group of late figures alone reads.
    pub(crate) fn read_by(&mut self, group: Late, id: InputId) -> InputId {
        self.inputs[id.index()].follows = Follows::Late(group);
        id
    }

    /// Adds an input with a value for each duty point.
    pub(crate) fn input_by_duty(
        &mut self,
        path: String,
        dimension: Dimension,
        values: Vec<Stated>,
        is_demand: bool,
    ) -> InputId {
        self.inputs.push(Input { path, dimension, values, is_demand, follows: Follows::Everything });
        InputId::new(self.inputs.len() - 1)
    }

    /// Adds a curve.
    pub(crate) fn curve(&mut self, path: String, origin: Origin) -> CurveId {
        self.curves.push(Curve { path, origin });
        CurveId::new(self.curves.len() - 1)
    }

    /// All parts.
    #[must_use]
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// All figures.
    #[must_use]
    pub fn figures(&self) -> &[Figure] {
        &self.figures
    }

    /// All inputs.
    #[must_use]
    pub fn inputs(&self) -> &[Input] {
        &self.inputs
    }

    /// Takes the default of an input back that nothing asks for.
    pub(crate) fn forget_default(&mut self, id: InputId) {
        for stated in &mut self.inputs[id.index()].values {
            if let Origin::Assumed { near, .. } = stated.origin {
                *stated = Stated { value: f64::NAN, origin: Origin::Absent { near: Some(near) } };
            }
        }
    }

    /// All inputs, to change their values.
    pub(crate) fn inputs_mut(&mut self) -> &mut [Input] {
        &mut self.inputs
    }

    /// All curves.
    #[must_use]
    pub fn curves(&self) -> &[Curve] {
        &self.curves
    }

    /// One part.
    #[must_use]
    pub fn part_of(&self, id: PartId) -> &Part {
        &self.parts[id.index()]
    }

    /// One figure.
    #[must_use]
    pub fn figure_of(&self, id: FigureId) -> &Figure {
        &self.figures[id.index()]
    }

    /// The stable path of a figure.
    #[must_use]
    pub fn figure_path(&self, id: FigureId) -> String {
        let figure = self.figure_of(id);
        format!("{}.{}", self.part_of(figure.part).path, figure.name)
    }

    /// One curve.
    #[must_use]
    pub fn curve_of(&self, id: CurveId) -> &Curve {
        &self.curves[id.index()]
    }

    /// One input.
    #[must_use]
    pub fn input_of(&self, id: InputId) -> &Input {
        &self.inputs[id.index()]
    }

    /// The value of an input in a duty point, and where it comes from.
    #[must_use]
    pub fn stated(&self, id: InputId, duty: DutyId) -> Stated {
        let values = &self.inputs[id.index()].values;
        values[if values.len() == 1 { 0 } else { duty.index() }]
    }

    /// The path of an input in a duty point.
    #[must_use]
    pub fn input_path(&self, id: InputId, duty_name: &str) -> String {
        let path = &self.inputs[id.index()].path;
        // Elsewhere than in a duty point the star is an entry that nobody wrote.
        if path.starts_with("duty.") { path.replacen('*', duty_name, 1) } else { path.clone() }
    }
}
