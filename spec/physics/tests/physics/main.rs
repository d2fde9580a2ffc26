//! The formulas against what they were not derived from: published figures, time simulations, dense systems.

mod bridge_topics;
mod bridge_waveforms;
mod converter_topics;
mod coolant_points;
mod core_waveforms;
mod device_sharing;
mod feedback_verdicts;
mod flow_and_sharing_topics;
mod flow_networks;
mod forward_waveforms;
mod full_bridge_waveforms;
mod half_sine;
mod heat_topics;
mod hostile_circuits;
mod hostile_numbers;
mod leg_waveforms;
mod machine_points;
mod missing_circuit_inputs;
mod missing_inputs;
mod package_balance;
mod path_orders;
mod pwm;
mod reference_cases;
mod switched;
