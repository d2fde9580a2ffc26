//! Room for inputs and figures that was given back and is taken again.
//!
//! Hundreds of trials of one variant need the same room one after another. To the system it is large: given back to it and
//! asked for again, every page of it is cleared anew, which takes longer than to fill it.

use std::cell::RefCell;
use std::sync::Arc;

/// How many bytes a thread keeps at most, and of how many at once: a large unit needs its room for what it solves next.
const MOST: usize = 16 << 20;
const LARGEST: usize = 1 << 20;

thread_local! {
    static SPARE: RefCell<Vec<Arc<[f64]>>> = const { RefCell::new(Vec::new()) };
}

/// So many numbers, none known.
pub(super) fn filled(many: usize) -> Arc<[f64]> {
    reused(many, |room| room.fill(f64::NAN)).unwrap_or_else(|| core::iter::repeat_n(f64::NAN, many).collect())
}

/// A copy of numbers.
pub(super) fn copied(all: &[f64]) -> Arc<[f64]> {
    reused(all.len(), |room| room.copy_from_slice(all)).unwrap_or_else(|| Arc::from(all))
}

/// Takes back what nobody else looks at any more.
pub(super) fn take_back(mut room: Arc<[f64]>) {
    let bytes = size_of_val(&*room);
    if bytes == 0 || LARGEST < bytes || Arc::get_mut(&mut room).is_none() {
        return;
    }
    // A thread that ends keeps nothing any more.
    let _ = SPARE.try_with(|spare| {
        let mut spare = spare.borrow_mut();
        let kept: usize = spare.iter().map(|one| size_of_val(&**one)).sum();
        if kept + bytes <= MOST {
            spare.push(room);
        }
    });
}

fn reused(many: usize, fill: impl FnOnce(&mut [f64])) -> Option<Arc<[f64]>> {
    let mut room = SPARE.try_with(|spare| {
        let mut spare = spare.borrow_mut();
        let place = spare.iter().rposition(|room| room.len() == many)?;
        Some(spare.swap_remove(place))
    });
    let mut room = room.as_mut().ok()?.take()?;
    fill(Arc::get_mut(&mut room)?);
    Some(room)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn room_that_nobody_looks_at_is_taken_again() {
        let room = filled(7);
        assert!(room.iter().all(|one| one.is_nan()));
        let place = room.as_ptr();
        let other = Arc::clone(&room);
        take_back(room);
        assert_ne!(copied(&[1.0; 7]).as_ptr(), place, "somebody still looks at it");
        take_back(other);
        let again = copied(&[1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0]);
        assert_eq!((again.as_ptr(), again[6].to_bits()), (place, 7.0_f64.to_bits()));
        take_back(again);
        assert!(filled(7).iter().all(|one| one.is_nan()));
    }
}
