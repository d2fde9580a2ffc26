//! Work whose parts know nothing of one another, done on the cores there are. What comes of it does not depend on how many.
//!
//! Threads are started once, ahead of the first work: one that is started where it is needed may wait for milliseconds behind
//! the one that started it, which is as long as most of the work takes. Who is not among them, such as one of several threads
//! that review a unit each, does all of its work itself: the cores are busy already.

use core::time::Duration;
use std::sync::OnceLock;
use std::thread;

use rayon::iter::{
    IndexedParallelIterator, IntoParallelRefIterator, IntoParallelRefMutIterator, ParallelIterator,
};
use rayon::{ThreadPoolBuilder, current_thread_index};

/// As much as a first thread has, because a description may be nested as deeply.
const STACK: usize = 8 << 20;
/// How long a thread sleeps first. The system starts it on the core of the one that started it, and wakes it on one that is
/// free: then both run at once from the first work on.
const SLEEPS_FIRST: Duration = Duration::from_micros(50);

/// Makes the thread that asks for it the first of as many as there are cores. Without it, or where threads cannot be started,
/// all work is done one after another.
pub fn start() {
    let threads = ThreadPoolBuilder::new().use_current_thread().num_threads(cores()).stack_size(STACK);
    // Whoever starts them twice has them already.
    let _ = threads.start_handler(|_| thread::sleep(SLEEPS_FIRST)).build_global();
}

/// Does each piece of work, and hands back what came of it in the order of the work. Pieces may have pieces of their own: a
/// core that has nothing left takes from the others. No piece may wait for another one of them while it has pieces of its own.
pub fn side_by_side<'w, W: Sync, T: Send>(work: &'w [W], run: impl Fn(&'w W) -> T + Sync + Send) -> Vec<T> {
    if current_thread_index().is_none() || work.len() < 2 {
        return work.iter().map(run).collect();
    }
    work.par_iter().with_max_len(1).map(run).collect()
}

/// Works on each of some things where it stands.
pub fn each<W: Send>(things: &mut [W], work: impl Fn(&mut W) + Sync + Send) {
    if current_thread_index().is_none() || things.len() < 2 {
        things.iter_mut().for_each(work);
    } else {
        things.par_iter_mut().with_max_len(1).for_each(work);
    }
}

/// Two different pieces of work at once.
pub fn both<A: Send, B: Send>(one: impl FnOnce() -> A + Send, other: impl FnOnce() -> B + Send) -> (A, B) {
    if current_thread_index().is_none() { (one(), other()) } else { rayon::join(one, other) }
}

/// How many cores there are; the system is asked once, which takes it half a millisecond.
#[must_use]
pub fn cores() -> usize {
    static CORES: OnceLock<usize> = OnceLock::new();
    *CORES.get_or_init(|| thread::available_parallelism().map_or(1, usize::from))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_comes_of_it_stands_in_the_order_of_the_work() {
        let work: Vec<u64> = (0..1000).collect();
        let slow_first =
            |&one: &u64| (0..(1000 - one) * 20).fold(one, |sum, k| sum.wrapping_add(k * one)) % 7;
        let alone: Vec<u64> = work.iter().map(slow_first).collect();
        let asked = || {
            assert_eq!(side_by_side(&work, slow_first), alone);
            assert_eq!(side_by_side(&[] as &[u64], slow_first), Vec::<u64>::new());
            assert_eq!(both(|| 1, || "two"), (1, "two"));
            let mut squares = work.clone();
            each(&mut squares, |one| *one *= *one);
            assert!(squares.iter().zip(&work).all(|(square, one)| *square == one * one));
        };
        asked();
        ThreadPoolBuilder::new().num_threads(3).build().expect("threads").install(asked);
    }
}
