//! What a place on the coolant path is for flow, air and boiling: its passage, its heights, and what follows from them.

use crate::ids::{FigureId, InputId};

/// Alike round passages of a place, side by side.
#[derive(Clone, Debug)]
pub struct Passage {
    /// Inner diameter.
    pub bore: InputId,
    /// Length along the flow.
    pub length: InputId,
    /// How many stand side by side.
    pub count: InputId,
    /// Sum of the loss coefficients of ends and bends.
    pub losses: InputId,
    /// Area between wall and coolant; where it is not stated that of the round wall.
    pub wetted_area: InputId,
    /// Largest heat flux over the mean.
    pub heat_concentration: InputId,
    /// Whether its pressure drop is computed: bore and length are stated and a drop is not.
    pub(crate) is_duct: bool,
    /// Whether the heat transfer to the coolant is computed: bore, and length or wetted area, are stated.
    pub has_film: bool,
    /// Mean velocity, where the bore is stated.
    pub velocity: Option<FigureId>,
    /// Velocity that carries air down it, where the bore is stated.
    pub clearing_velocity: Option<FigureId>,
}

/// What the coolant must not do where it takes up heat: boil at the wall.
#[derive(Clone, Debug)]
pub struct Wall {
    /// Lowest absolute pressure where the coolant leaves the place.
    pub pressure: FigureId,
    /// Boiling point there.
    pub boiling_point: FigureId,
    /// Hottest wetted wall; where no film is known the hottest of what stands on it.
    pub temperature: FigureId,
}

/// The least flow that a place needs.
#[derive(Clone, Debug)]
pub struct LeastFlow {
    /// As stated.
    pub stated: InputId,
    /// The same as a figure.
    pub needed: FigureId,
}

/// How the coolant of a row, which is the path or a branch, warms, and how it flows in a cold start.
#[derive(Clone, Debug)]
pub struct RowFigures {
    /// Heat that it takes up.
    pub heat: FigureId,
    /// By how much it warms.
    pub warming: FigureId,
    /// Volume flow with all coolant as cold as the surroundings may be.
    pub cold_flow: FigureId,
    /// Temperature at which that flow leaves with the heat of the duty point.
    pub cold_outlet: FigureId,
}
