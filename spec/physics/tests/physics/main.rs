//! The formulas against what they were not derived from: published figures, time simulations, dense systems.

mod bridge_topics;
mod bridge_waveforms;
mod feedback_verdicts;
mod half_sine;
mod heat_topics;
mod hostile_numbers;
mod missing_inputs;
mod package_balance;
mod pwm;
mod reference_cases;
