//! Quantities with their units, as they stand in a description.
//!
//! A value is written with its unit (`650 V`, `0.35 mΩ`, `48e3 A^2 s`, `0.4 K cm^2/W`), with or without a space.
//! Prefixes, both micro signs and `u`, both ohm signs and `ohm` are read. A temperature is written in `degC` or
//! `°C` and never in `K`; a difference of temperatures is written in `K` and never in `degC`. What reads as
//! another quantity is refused with what was probably meant: `65 C` is a charge.

mod decimal;
mod dimension;
mod fault;
mod given;
mod kind;
mod pattern;
mod readable;
mod unit_text;

pub use dimension::Dimension;
pub use given::{Given, Points};
pub use kind::{Amount, NotRead, QuantityKind};
pub use readable::{
    Angle, Charge, Conductance, FluxDensity, FluxLinkage, Margin, PeakVoltage, PerKelvin, Ratio, Readable,
    RmsCurrent, RmsVoltage, SignedRatio, Speed, SquaredCurrentTime, TimeOr, Torque,
};

pub(crate) use fault::shown;
pub(crate) use pattern::schema_of;
