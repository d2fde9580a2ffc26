//! Formulas of power stages and their cooling: pure, unit-safe, one phenomenon a file.
//!
//! Answers what a bridge, a converter, their devices and capacitors, a conductor, a group of parallel devices, a machine, a
//! junction, a coolant stream, a network of passages and a source do at one operating condition, and what insulation and
//! gate drives need. Knows nothing of descriptions, files or verdicts, and refuses to guess: a
//! missing input is "not a number" and comes out as that; a law asked outside its range has a check beside
//! it that says so.
//!
//! Conventions, the same in every file:
//! - `peak` is the crest Î of a phase current's fundamental, `rms` is Î/√2; both are positive in either
//!   direction of power.
//! - cos φ carries the direction: positive while the bridge feeds the machine, negative while it recovers.
//! - The modulation index M is the crest of the phase voltage's fundamental over half the link voltage.
//! - Losses and heat are positive when they leave the part.
//!
//! Transcendental functions come from `libm`, so that every machine computes the same bits.

pub mod air_clearing;
pub mod back_emf;
pub mod battery;
pub mod blocking;
mod bounds;
pub mod bridge_currents;
pub mod bus_damping;
pub mod capacitor_bank;
pub mod capacitor_life;
pub mod channel_ripple;
pub mod conductors;
pub mod converters;
pub mod coolant;
pub mod core_flux;
pub mod core_loss;
pub mod cosmic_rays;
pub mod duct;
pub mod energy_curve;
pub mod equalising;
pub mod fading_square;
pub mod followed_discharge;
pub mod fuel_cell;
pub mod fuse;
pub mod fuse_warmth;
pub mod gates;
pub mod hydraulics;
pub mod insulation;
pub mod junction_ripple;
pub mod law;
pub mod layers;
pub mod link_lines;
pub mod link_pulses;
pub mod link_ring;
pub mod link_ripple;
pub mod link_voltage;
pub mod load_step;
pub mod loss_feedback;
pub mod loss_of_load;
pub mod machine;
pub mod modulation;
pub mod on_state;
pub mod path_order;
pub mod phase_current;
pub mod phase_ripple;
pub mod plate;
pub mod pole_voltage;
pub mod quantities;
pub mod rainflow;
pub mod rating;
pub mod rectified;
pub mod ripple_crest;
pub mod sharing;
pub mod stall;
pub mod stored_energy;
pub mod switching;
pub mod temperature;
pub mod transient;
pub mod turn_off;
pub mod two_faces;
pub mod winding_loss;
pub mod wound_bodies;

pub use bounds::OutOfRange;
pub use law::Law;
pub use modulation::Modulation;
pub use quantities::{
    AngularSpeed, Area, Capacitance, Charge, Conductivity, Current, CurrentDensity, CurrentSlope, Density,
    Energy, FilmCoefficient, FluxDensity, FluxLinkage, Frequency, HeatCapacity, Inductance, Length,
    LinearFlowResistance, LossDensity, LossSlope, MassFlow, Power, Pressure, Resistance, SlewRate,
    SpecificContactResistance, SpecificHeat, SquareFlowResistance, SquaredCurrent, TemperatureDifference,
    ThermalCapacityRate, ThermalResistance, Time, Torque, Transconductance, Velocity, Viscosity, Voltage,
    Volume, VolumeFlow,
};
pub use temperature::Temperature;
