//! Switched converters between direct voltages.
//!
//! Answers what each position, inductor and capacitor carries in the periodic steady state at one operating
//! condition. Voltages are taken as stiff within a period unless a formula says otherwise, and a source is
//! taken to deliver no ripple: capacitors carry all of it.
//!
//! Ripple is peak to peak. Duty belongs to the switch that stores energy in the inductor.

pub mod boost;
pub mod buck;
pub mod discontinuous;
pub mod forward;
pub mod full_bridge;
pub mod loss_line;
pub mod ramp;
pub mod rectifier;
pub mod wave;
