//! The solver against balances, replays, a dense solution of the heat and an independent time-stepping of whole units.
#![allow(clippy::unwrap_used, reason = "a test may stop where what it asks for is not there")]

#[path = "unit/balance.rs"]
mod balance;
#[path = "unit/bench.rs"]
mod bench;
#[path = "unit/boosted.rs"]
mod boosted;
#[path = "unit/chain.rs"]
mod chain;
#[path = "unit/choppers.rs"]
mod choppers;
#[path = "unit/dense.rs"]
mod dense;
#[path = "unit/driven.rs"]
mod driven;
#[path = "unit/edits.rs"]
mod edits;
#[path = "unit/judge/mod.rs"]
mod judge;
#[path = "unit/kept.rs"]
mod kept;
#[path = "unit/lanes.rs"]
mod lanes;
#[path = "unit/magnetics.rs"]
mod magnetics;
#[path = "unit/missing.rs"]
mod missing;
#[path = "unit/missing_converters.rs"]
mod missing_converters;
#[path = "unit/missions.rs"]
mod missions;
#[path = "unit/odd.rs"]
mod odd;
#[path = "unit/outcomes.rs"]
mod outcomes;
#[path = "unit/over_time.rs"]
mod over_time;
#[path = "unit/random_chains.rs"]
mod random_chains;
#[path = "unit/replay.rs"]
mod replay;
#[path = "unit/settling.rs"]
mod settling;
#[path = "unit/sharing_corner.rs"]
mod sharing_corner;
#[path = "unit/sharing_turning.rs"]
mod sharing_turning;
#[path = "unit/six_packs.rs"]
mod six_packs;
#[path = "unit/transformers.rs"]
mod transformers;
#[path = "unit/trials.rs"]
mod trials;
#[path = "unit/waveform.rs"]
mod waveform;
#[path = "unit/whole_unit.rs"]
mod whole_unit;
