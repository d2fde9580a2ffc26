//! What goes from one piece of work to the next, in their order, while they are done on several threads.

use std::sync::{Condvar, Mutex, PoisonError};
use std::thread;

/// What is handed on, and whose turn it is.
pub(super) struct InTurn<T> {
    state: Mutex<State<T>>,
    moved: Condvar,
}

struct State<T> {
    next: usize,
    /// Whether work broke down: what comes behind it waits for nothing any more.
    broke: bool,
    handed_on: T,
}

/// The turn of one piece of work.
pub(super) struct Turn<'t, T> {
    of: &'t InTurn<T>,
    place: usize,
}

impl<T> InTurn<T> {
    /// The first piece of work begins.
    pub(super) fn new(handed_on: T) -> Self {
        Self { state: Mutex::new(State { next: 0, broke: false, handed_on }), moved: Condvar::new() }
    }

    /// The turn of a piece of work by its place. It must be taken, or end with a breakdown.
    pub(super) fn at(&self, place: usize) -> Turn<'_, T> {
        Turn { of: self, place }
    }
}

impl<T> Turn<'_, T> {
    /// Waits for those before, works with what they hand on, and lets the next have it.
    pub(super) fn take(self, work: impl FnOnce(&mut T)) {
        let mut state = self.of.state.lock().unwrap_or_else(PoisonError::into_inner);
        while state.next != self.place && !state.broke {
            state = self.of.moved.wait(state).unwrap_or_else(PoisonError::into_inner);
        }
        if !state.broke {
            work(&mut state.handed_on);
            state.next += 1;
        }
        drop(state);
        self.of.moved.notify_all();
    }
}

impl<T> Drop for Turn<'_, T> {
    fn drop(&mut self) {
        if thread::panicking() {
            self.of.state.lock().unwrap_or_else(PoisonError::into_inner).broke = true;
            self.of.moved.notify_all();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_handed_on_goes_in_order_whoever_is_first() {
        let turns = InTurn::new(Vec::new());
        thread::scope(|scope| {
            for place in (0..8).rev() {
                let turn = turns.at(place);
                scope.spawn(move || turn.take(|seen| seen.push(place)));
            }
        });
        let state = turns.state.into_inner().unwrap_or_else(PoisonError::into_inner);
        assert_eq!(state.handed_on, [0, 1, 2, 3, 4, 5, 6, 7]);
    }

    #[test]
    fn nobody_waits_for_what_broke_down() {
        let turns = InTurn::new(());
        thread::scope(|scope| {
            let (first, second) = (turns.at(0), turns.at(1));
            let broken = scope.spawn(move || {
                let _turn = first;
                std::panic::resume_unwind(Box::new("broken"));
            });
            assert!(broken.join().is_err());
            let waits = scope.spawn(move || second.take(|()| unreachable!("it broke before")));
            assert!(waits.join().is_ok());
        });
    }
}
