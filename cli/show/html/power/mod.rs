//! The way of the power: sources, buses as bars, stages between them, machines and loads, drawn from the plan.

mod draw;
mod facts;
mod layout;
mod symbol;
mod table;

pub(crate) use draw::drawing;
pub(crate) use facts::Net;
pub(crate) use table::table;

use super::used::Used;
use symbol::Symbol;

/// Something with a box of its own.
#[derive(Clone, Debug)]
pub(crate) struct Element<'u> {
    pub(crate) symbol: Symbol,
    pub(crate) name: &'u str,
    /// What it is, in a few words.
    pub(crate) what: String,
    /// Power, loss.
    pub(crate) figures: String,
    pub(crate) used: Option<Used>,
    /// Conductors between it and its buses: each with its branch and what it uses.
    pub(crate) conductors: Vec<Through<'u>>,
}

/// A conductor on the way to a bus.
#[derive(Clone, Debug)]
pub(crate) struct Through<'u> {
    pub(crate) name: &'u str,
    pub(crate) branch: &'u str,
    pub(crate) current: String,
    pub(crate) used: Option<Used>,
}

/// A current on the way.
#[derive(Clone, Debug, Default)]
pub(crate) struct Wire {
    pub(crate) says: String,
    /// Which way the power goes: rightward, leftward, or none.
    pub(crate) way: i8,
    /// Power as a share of the largest in the drawing.
    pub(crate) weight: f64,
}

/// What stands in one line between two buses, or at one of them.
#[derive(Clone, Debug)]
pub(crate) struct Item<'u> {
    pub(crate) left: Option<usize>,
    pub(crate) right: Option<usize>,
    /// Where each stands in its line, and what.
    pub(crate) boxes: Vec<(Seat, Element<'u>)>,
    /// Currents: from the left bus to the first, between, from the last to the right bus.
    pub(crate) wires: Vec<Wire>,
}

/// Where in the line between two buses something stands, so that alike stands below alike.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Seat {
    /// Sources, stages, loads, banks.
    Main,
    /// Machines.
    End,
}

impl Seat {
    pub(crate) const ALL: [Self; 2] = [Self::Main, Self::End];

    pub(crate) const fn place(self) -> usize {
        self as usize
    }
}

/// A bus.
#[derive(Clone, Debug)]
pub(crate) struct Bar<'u> {
    pub(crate) name: &'u str,
    pub(crate) voltage: String,
    pub(crate) used: Option<Used>,
}
