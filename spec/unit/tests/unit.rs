//! The solver against balances, replays and an independent time-stepping of whole units.

#[path = "unit/bench.rs"]
mod bench;
#[path = "unit/replay.rs"]
mod replay;
