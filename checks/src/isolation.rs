//! What lies between domains: what each pair needs, and the weakest ways between them. Nothing is judged here.

mod needs;
pub mod ways;

use loadworthy_unit::Solved;
use loadworthy_unit::plan::Isolation;

pub(crate) use needs::{
    Classes, Weak, first_layer, largest_stated, layered, part_of, reason, stated, ways, weak,
};
pub(crate) use ways::{needed_words, worth_words};

/// Whether the section could be read.
pub(crate) fn is_read(isolation: &Isolation, solved: &Solved<'_>) -> bool {
    solved.variant.tables.input_of(isolation.read).values.iter().all(|stated| stated.value.is_finite())
}
