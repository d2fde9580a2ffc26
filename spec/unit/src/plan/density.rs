//! Sections of copper by which the density of a current is told.

use core::f64::consts::PI;

use loadworthy_physics::Area;

use crate::ids::{FigureId, InputId};
use crate::trace::Operand;

/// The density of a current: nothing is held against it, and people ask for it.
#[derive(Clone, Copy, Debug)]
pub struct Density {
    /// RMS current by section.
    pub figure: FigureId,
    /// The section.
    pub copper: Copper,
}

/// A section of copper.
#[derive(Clone, Copy, Debug)]
pub enum Copper {
    /// As stated.
    Area(InputId),
    /// Width and thickness.
    Rectangle(InputId, InputId),
    /// Diameter of a round wire or strand, and how many.
    Round(InputId, InputId),
}

impl Copper {
    /// What says it.
    pub(crate) fn from(self) -> [Operand; 2] {
        match self {
            Self::Area(area) => [area.into(); 2],
            Self::Rectangle(one, other) | Self::Round(one, other) => [one.into(), other.into()],
        }
    }

    /// The section, from what `input` gives.
    pub(crate) fn area(self, input: impl Fn(InputId) -> f64) -> Area {
        Area::new(match self {
            Self::Area(area) => input(area),
            Self::Rectangle(width, thickness) => input(width) * input(thickness),
            Self::Round(diameter, count) => 0.25 * PI * input(diameter) * input(diameter) * input(count),
        })
    }
}
