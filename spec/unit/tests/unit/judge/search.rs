//! Roots of what can only be tried.

/// The place where a function of several unknowns is nothing, by Newton's way with differences for slopes. `scale` says
/// how far to step and how near is near enough.
pub(crate) fn root<const N: usize>(
    start: [f64; N],
    scale: [f64; N],
    mut misses: impl FnMut([f64; N]) -> [f64; N],
) -> [f64; N] {
    let mut at = start;
    for _ in 0..60 {
        let here = misses(at);
        let mut slopes = [[0.0; N]; N];
        for k in 0..N {
            let mut beside = at;
            beside[k] += 1e-4 * scale[k];
            let there = misses(beside);
            for (row, slope) in slopes.iter_mut().enumerate() {
                slope[k] = (there[row] - here[row]) / (1e-4 * scale[k]);
            }
        }
        let step = solve(slopes, here);
        for k in 0..N {
            // No further than a fifth of what is usual: the slopes bend where a current changes its way.
            let far = 0.2 * scale[k];
            at[k] -= step[k].clamp(-far, far);
        }
        if step.iter().zip(&scale).all(|(step, scale)| step.abs() < 1e-10 * scale) {
            return at;
        }
    }
    let left = misses(at);
    panic!("no root: {left:?} is left at {at:?}");
}

/// A small set of linear equations, by elimination with the largest pivot.
fn solve<const N: usize>(mut rows: [[f64; N]; N], mut right: [f64; N]) -> [f64; N] {
    for pivot in 0..N {
        let best = (pivot..N).max_by(|&a, &b| rows[a][pivot].abs().total_cmp(&rows[b][pivot].abs()));
        let best = best.unwrap_or(pivot);
        rows.swap(pivot, best);
        right.swap(pivot, best);
        for row in 0..N {
            if row != pivot {
                let factor = rows[row][pivot] / rows[pivot][pivot];
                let above = rows[pivot];
                rows[row].iter_mut().zip(above).for_each(|(value, above)| *value -= factor * above);
                right[row] -= factor * right[pivot];
            }
        }
    }
    core::array::from_fn(|k| right[k] / rows[k][k])
}

/// The place between two ends where a rising function reaches nothing.
pub(crate) fn halve(mut low: f64, mut high: f64, mut rising: impl FnMut(f64) -> f64) -> f64 {
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if rising(middle) < 0.0 { low = middle } else { high = middle }
    }
    0.5 * (low + high)
}
