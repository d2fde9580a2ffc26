//! A mission judged: the worst of every verdict over its rows, where it happened, for how long something failed, and
//! where the energy went.
//!
//! Every row is solved and followed; not every row is judged by every check. What a check compares depends on what flows
//! in which direction and how long it lasts: rows that are alike in that (`regime`) are compared directly, figure against
//! limit, as the check compared the first of them, and the checks themselves judge again wherever something got worse
//! than it ever was.

mod cycles;
mod energy;
mod in_turn;
mod learned;
mod regime;
mod run;
mod tally;
mod watched;
mod wear;

pub use cycles::Swings;
pub use energy::{Energies, Kinds, Through};
pub use run::{CHUNK, CHUNKS, Judge};
pub use tally::{Lost, Tally, Worst};
pub use watched::{Known, Seen, Watched};
pub use wear::Wear;
