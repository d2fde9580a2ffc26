//! The solver against balances, replays, a dense solution of the heat and an independent time-stepping of whole units.
#![allow(clippy::unwrap_used, reason = "a test may stop where what it asks for is not there")]

#[path = "unit/balance.rs"]
mod balance;
#[path = "unit/bench.rs"]
mod bench;
#[path = "unit/dense.rs"]
mod dense;
#[path = "unit/edits.rs"]
mod edits;
#[path = "unit/lanes.rs"]
mod lanes;
#[path = "unit/missing.rs"]
mod missing;
#[path = "unit/odd.rs"]
mod odd;
#[path = "unit/outcomes.rs"]
mod outcomes;
#[path = "unit/replay.rs"]
mod replay;
#[path = "unit/settling.rs"]
mod settling;
#[path = "unit/waveform.rs"]
mod waveform;
#[path = "unit/whole_unit.rs"]
mod whole_unit;
