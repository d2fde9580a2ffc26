//! The checks, and the review that runs them.
//!
//! A check reads a solved variant, or all of a unit together, and returns verdicts, nothing else. A verdict compares a solved
//! figure in a duty point with what is allowed, or judges the structure whatever is asked. The review solves, lets every
//! check judge, groups failures by cause, tries what would hold, and names the inputs and defaults that the verdicts rest
//! on. Nothing here opens a file or prints.

mod back_emf;
mod barrier_crossing;
mod barrier_distance;
mod barrier_immunity;
mod bootstrap_refresh;
mod bus_stability;
pub mod capability;
mod carried;
mod carrier_ratio;
pub mod cause;
pub mod check;
pub mod collect;
pub mod compare;
mod conductor_loading;
mod consumers;
mod control_cover;
mod coolant_order;
mod coolant_purging;
mod coolant_state;
mod coolant_supply;
mod core_saturation;
pub mod corner;
mod current_headroom;
mod cycle;
mod dead_time;
mod dependence;
mod deratings;
mod false_turn_on;
pub mod faults;
pub mod figure_text;
mod floating_supplies;
mod free_text;
mod fuse_coordination;
mod gate_drive_power;
mod gated;
mod held_still;
pub mod high_places;
mod high_points;
mod in_step;
pub mod isolation;
mod junction_temperature;
pub mod lacking;
mod leakage_paths;
mod link_ripple;
pub mod list;
mod loss_of_load;
pub mod mission;
mod output_reach;
mod parallel_sharing;
mod power_balance;
mod rated;
pub mod remarks;
pub mod review;
mod seats;
mod short_circuit_response;
pub mod size;
mod slowest;
mod source_limits;
mod steps;
mod stored_energy;
mod supply_voltage;
mod tell;
mod thin_air;
pub mod tolerance;
mod trip_window;
mod turn_off_overshoot;
mod unused_parts;
pub mod verdict;
mod voltage_headroom;
mod winding_loading;
mod wound;

pub use check::{About, Check};
pub use collect::Verdicts;
pub use review::{Review, review};
