//! Work whose parts know nothing of one another, done on the cores there are. What comes of it does not depend on how many.

use std::sync::OnceLock;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;

/// Does each piece of work, and hands back what came of it in the order of the work.
pub fn side_by_side<'w, W: Sync, T: Send>(work: &'w [W], run: impl Fn(&'w W) -> T + Sync) -> Vec<T> {
    let threads = cores().min(work.len());
    if threads < 2 {
        return work.iter().map(run).collect();
    }
    let next = AtomicUsize::new(0);
    let take = || {
        let mut done = Vec::new();
        loop {
            let place = next.fetch_add(1, Ordering::Relaxed);
            let Some(one) = work.get(place) else { return done };
            done.push((place, run(one)));
        }
    };
    let mut done: Vec<(usize, T)> = thread::scope(|scope| {
        let others: Vec<_> = (1..threads).map(|_| scope.spawn(take)).collect();
        let mut done = take();
        for other in others {
            match other.join() {
                Ok(its) => done.extend(its),
                // A defect is met by whoever asked for the work, as if it had been done here.
                Err(panic) => std::panic::resume_unwind(panic),
            }
        }
        done
    });
    done.sort_unstable_by_key(|&(place, _)| place);
    done.into_iter().map(|(_, one)| one).collect()
}

/// Two different pieces of work at once.
pub fn both<A: Send, B>(one: impl FnOnce() -> A + Send, other: impl FnOnce() -> B) -> (A, B) {
    if cores() < 2 {
        return (one(), other());
    }
    thread::scope(|scope| {
        let one = scope.spawn(one);
        let other = other();
        match one.join() {
            Ok(one) => (one, other),
            Err(panic) => std::panic::resume_unwind(panic),
        }
    })
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
        assert_eq!(side_by_side(&work, slow_first), work.iter().map(slow_first).collect::<Vec<_>>());
        assert_eq!(side_by_side(&[] as &[u64], slow_first), Vec::<u64>::new());
        assert_eq!(both(|| 1, || "two"), (1, "two"));
    }
}
