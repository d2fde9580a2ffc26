//! Work on many things at once whose results come in their order.
//!
//! Who works may be ahead of what was taken by a few things only, so that what waits to be taken stays small. A thing on
//! which the work breaks down takes no other with it.

use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;

/// How many results may wait for each thread.
const AHEAD: usize = 4;
/// As much as a first thread has, because a description may be nested as deeply.
const STACK: usize = 8 << 20;

/// What became of one thing: its result, or what the work said as it broke down.
pub(crate) type Became<T> = Result<T, String>;

struct Shared<T> {
    /// The next thing that nobody works on.
    next: usize,
    /// How many results were taken.
    taken: usize,
    /// Results that wait for those before them.
    waiting: BTreeMap<usize, Became<T>>,
    /// Nobody takes any more.
    stopped: bool,
}

/// Works on all things on some threads, and hands over each result as soon as all before it were.
pub(crate) fn in_order<I: Sync, T: Send>(
    things: &[I],
    threads: usize,
    work: impl Fn(&I) -> T + Sync,
    mut take: impl FnMut(Became<T>),
) {
    let threads = threads.min(things.len());
    let shared = Mutex::new(Shared { next: 0, taken: 0, waiting: BTreeMap::new(), stopped: false });
    let changed = Condvar::new();
    let ahead = threads * AHEAD;
    let worker = || {
        loop {
            let mut now = lock(&shared);
            while !now.stopped && now.next < things.len() && now.next >= now.taken + ahead {
                now = changed.wait(now).unwrap_or_else(PoisonError::into_inner);
            }
            let at = now.next;
            if now.stopped || at >= things.len() {
                return;
            }
            now.next += 1;
            drop(now);
            let became = guarded(|| work(&things[at]));
            lock(&shared).waiting.insert(at, became);
            changed.notify_all();
        }
    };
    thread::scope(|scope| {
        let mut started = 0;
        while threads > 1 && started < threads {
            // A machine that gives no thread has one that waits for nothing else.
            match thread::Builder::new().stack_size(STACK).spawn_scoped(scope, worker) {
                Ok(_) => started += 1,
                Err(_) => break,
            }
        }
        // Whatever happens to who takes, nobody waits for ever.
        let _stop = Stop { shared: &shared, changed: &changed };
        for (at, thing) in things.iter().enumerate() {
            let became = if started == 0 { guarded(|| work(thing)) } else { awaited(at, &shared, &changed) };
            take(became);
        }
    });
}

fn awaited<T>(at: usize, shared: &Mutex<Shared<T>>, changed: &Condvar) -> Became<T> {
    let mut now = lock(shared);
    loop {
        if let Some(became) = now.waiting.remove(&at) {
            now.taken = at + 1;
            changed.notify_all();
            return became;
        }
        now = changed.wait(now).unwrap_or_else(PoisonError::into_inner);
    }
}

/// Ends the waiting as it goes.
struct Stop<'s, T> {
    shared: &'s Mutex<Shared<T>>,
    changed: &'s Condvar,
}

impl<T> Drop for Stop<'_, T> {
    fn drop(&mut self) {
        lock(self.shared).stopped = true;
        self.changed.notify_all();
    }
}

fn lock<T>(shared: &Mutex<Shared<T>>) -> MutexGuard<'_, Shared<T>> {
    shared.lock().unwrap_or_else(PoisonError::into_inner)
}

fn guarded<T>(work: impl FnOnce() -> T) -> Became<T> {
    catch_unwind(AssertUnwindSafe(work)).map_err(|said| {
        let text = said.downcast_ref::<&str>().map(|text| (*text).to_owned());
        text.or_else(|| said.downcast_ref::<String>().cloned()).unwrap_or_else(|| "without a word".to_owned())
    })
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::*;

    fn results(number: usize, threads: usize) -> Vec<Became<usize>> {
        let things = (0..number).collect::<Vec<_>>();
        let mut taken = Vec::new();
        let work = |&thing: &usize| {
            // Of several at once the later ones are done first.
            thread::sleep(std::time::Duration::from_micros(if thing % 3 == 0 { 300 } else { 0 }));
            assert!(thing != 7, "seven of {number}");
            thing * thing
        };
        in_order(&things, threads, work, |became| taken.push(became));
        taken
    }

    #[test]
    fn results_come_in_order_and_one_that_breaks_down_takes_no_other_with_it() {
        for threads in [1, 2, 5] {
            for number in [0, 1, 6, 40] {
                let expected = (0..number).map(|thing| match thing {
                    7 => Err(format!("seven of {number}")),
                    _ => Ok(thing * thing),
                });
                assert_eq!(results(number, threads), expected.collect::<Vec<_>>(), "{number} on {threads}");
            }
        }
    }

    #[test]
    fn nobody_runs_far_ahead_of_what_was_taken() {
        let (done, threads) = (AtomicUsize::new(0), 3);
        let things = [(); 200];
        let mut taken = 0;
        let mut most = 0;
        let work = |&(): &()| done.fetch_add(1, Ordering::SeqCst);
        in_order(&things, threads, work, |_| {
            thread::sleep(std::time::Duration::from_micros(200));
            most = most.max(done.load(Ordering::SeqCst) - taken);
            taken += 1;
        });
        assert_eq!(taken, 200);
        assert!(most <= threads * AHEAD + 1, "{most}");
    }

    #[test]
    fn who_stops_taking_leaves_nobody_waiting() {
        let things = [(); 100];
        let ended = catch_unwind(AssertUnwindSafe(|| {
            in_order(&things, 2, |&(): &()| (), |_| panic!("enough"));
        }));
        assert!(ended.is_err());
    }
}
