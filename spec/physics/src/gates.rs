//! Gates: what driving them takes, how a high gate lives on a small capacitor, and what keeps an idle one off.

pub mod bootstrap;
pub mod bootstrap_turn;
pub mod dead_time;
pub mod held_off;
pub mod linear_level;
pub mod other_resistor;
pub mod shared_return;
pub mod short_circuit;
pub mod supply_power;
