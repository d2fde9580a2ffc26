//! The way of the coolant from inlet to outlet: what it passes, how warm it gets, how high it climbs.

mod draw;
mod stations;
mod table;

pub(crate) use draw::drawing;
pub(crate) use stations::{Station, stations};
pub(crate) use table::table;
