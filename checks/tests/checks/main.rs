//! The checks on whole descriptions: their own examples, boundaries, proposals, what is missing.

mod assumptions;
mod boundaries;
mod broken_check;
mod carrier_ratio;
mod causes;
mod coolant_order;
mod coolant_purging;
mod coolant_state;
mod coolant_supply;
mod current_headroom;
mod descriptions;
mod floating_supplies;
mod gate_potentials;
mod junction_temperature;
mod missing;
mod no_solution;
mod output_reach;
mod own_examples;
mod parallel_sharing;
mod power_balance;
mod proposals;
mod source_limits;
mod stand_ins;
mod structure;
mod unused_parts;
mod variants;
