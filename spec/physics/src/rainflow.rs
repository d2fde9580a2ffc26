//! Counting of a temperature that comes and goes: each swing with the one that takes it back.
//!
//! Of four turning points in a row the two in the middle are a cycle where their range is no larger than those beside it; what
//! is left at the end counts as if the course began again. Turning points are rounded to a step, and which cycle came first is
//! not told. Source: ASTM E1049-85, rainflow counting, repeating histories.
//!
//! The share of life that cycles use is `D = Σ n/N(ΔT)`, N on straight lines between stated points as logarithms. Valid: cycles
//! one after another, whatever their order; swings of the stated points. Source: Palmgren-Miner, linear accumulation of damage;
//! Coffin-Manson, N a power of the swing.

/// A cycle: its swing in K and the mean of its ends in °C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cycle {
    /// From its lower end to its upper one, in K.
    pub swing: f64,
    /// Between them, in °C.
    pub mean: f64,
}

/// Turning points that no cycle has taken yet. Their ranges first grow and then shrink, each by a step at least, so there are
/// never more of them than twice the steps between the lowest and the highest.
#[derive(Clone, Debug)]
pub struct Rainflow {
    step: f64,
    points: Vec<i32>,
}

impl Rainflow {
    /// None yet, of a temperature that is rounded to a step in K.
    #[must_use]
    pub const fn new(step: f64) -> Self {
        Self { step, points: Vec::new() }
    }

    /// Takes the temperature in °C at the next moment; what is no number is passed over. Each cycle that closes is told.
    pub fn take(&mut self, celsius: f64, closed: &mut impl FnMut(Cycle)) {
        let steps = (celsius / self.step).round();
        if steps.abs() < f64::from(i32::MAX) {
            #[expect(clippy::cast_possible_truncation, reason = "it is within the range")]
            self.put(steps as i32, closed);
        }
    }

    /// Begins again where it ended, and tells the cycles that close then: with those told before they are all of a course
    /// that repeats.
    pub fn repeat(&mut self, closed: &mut impl FnMut(Cycle)) {
        for point in self.points.clone() {
            self.put(point, closed);
        }
    }

    /// How many turning points are left.
    #[must_use]
    pub fn left(&self) -> usize {
        self.points.len()
    }

    /// Ranges in K between those that are left, in their order.
    pub fn ranges(&self) -> impl Iterator<Item = f64> + '_ {
        self.points.windows(2).map(|pair| f64::from(pair[0].abs_diff(pair[1])) * self.step)
    }

    fn put(&mut self, point: i32, closed: &mut impl FnMut(Cycle)) {
        let count = self.points.len();
        match self.points.as_slice() {
            [.., last] if *last == point => return,
            // Further the same way it is the same turning point.
            [.., before, last] if (before < last) == (*last < point) => self.points[count - 1] = point,
            _ => self.points.push(point),
        }
        while let [.., a, b, c, d] = *self.points {
            let inner = b.abs_diff(c);
            if inner > a.abs_diff(b) || inner > c.abs_diff(d) {
                return;
            }
            let (low, high) = (f64::from(b.min(c)) * self.step, f64::from(b.max(c)) * self.step);
            closed(Cycle { swing: high - low, mean: 0.5 * (low + high) });
            let kept = self.points.len() - 3;
            self.points.truncate(kept);
            // The way on from the first of the four to the last is one.
            self.points.push(d);
        }
    }
}

/// Cycles that are stood over their swing: swings in K, rising, with numbers of cycles, falling.
#[derive(Clone, Copy, Debug)]
pub struct CycleLife<'c>(pub &'c [(f64, f64)]);

impl CycleLife<'_> {
    /// How many cycles of a swing in K are stood, on straight lines between the points as logarithms; missing beyond them.
    #[must_use]
    pub fn cycles(&self, swing: f64) -> f64 {
        let after = self.0.iter().skip(1);
        for (&(x, y), &(next_x, next_y)) in self.0.iter().zip(after) {
            if x <= swing && swing <= next_x {
                let share = libm::log(swing / x) / libm::log(next_x / x);
                return y * libm::exp(share * libm::log(next_y / y));
            }
        }
        f64::NAN
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn counted(points: &[f64]) -> (Vec<(f64, f64)>, Rainflow) {
        let mut flow = Rainflow::new(0.5);
        let mut cycles = Vec::new();
        for &point in points {
            flow.take(point, &mut |cycle| cycles.push((cycle.swing, cycle.mean)));
        }
        (cycles, flow)
    }

    /// The example of ASTM E1049.
    const TEXTBOOK: [f64; 9] = [-2.0, 1.0, -3.0, 5.0, -1.0, 3.0, -4.0, 4.0, -2.0];

    #[test]
    fn the_textbook_closes_one_cycle_and_leaves_six_halves() {
        let (cycles, flow) = counted(&TEXTBOOK);
        assert_eq!(format!("{cycles:?}"), "[(4.0, 1.0)]");
        // With the cycle: 3 half a time, 4 one and a half, 6 half, 8 once, 9 half.
        assert_eq!(format!("{:?}", flow.ranges().collect::<Vec<_>>()), "[3.0, 4.0, 8.0, 9.0, 8.0, 6.0]");
    }

    #[test]
    fn points_on_the_way_and_pauses_change_nothing() {
        let between: Vec<f64> = TEXTBOOK
            .windows(2)
            .flat_map(|pair| [pair[0], pair[0], 0.5 * (pair[0] + pair[1])])
            .chain([-2.0])
            .collect();
        let (cycles, flow) = counted(&between);
        let (plain, left) = counted(&TEXTBOOK);
        assert_eq!(format!("{cycles:?}{:?}", flow.points), format!("{plain:?}{:?}", left.points));
    }

    /// Cycles of a course that repeats, counted from its highest point on, each time the smallest range of all first.
    fn by_hand(points: &[f64]) -> Vec<f64> {
        let most = (0..points.len()).max_by(|&a, &b| points[a].total_cmp(&points[b])).expect("points");
        let mut round: Vec<f64> = points[most..].iter().chain(&points[..=most]).copied().collect();
        let mut swings = Vec::new();
        loop {
            round.dedup_by(|a, b| a.to_bits() == b.to_bits());
            let mut place = 1;
            while place + 1 < round.len() {
                if (round[place - 1] < round[place]) == (round[place] < round[place + 1]) {
                    round.remove(place);
                } else {
                    place += 1;
                }
            }
            if round.len() < 3 {
                return swings;
            }
            let range = |k: usize| (round[k + 1] - round[k]).abs();
            let least = (0..round.len() - 1).min_by(|&a, &b| range(a).total_cmp(&range(b))).expect("a range");
            swings.push(range(least));
            // The last cycle is the way down and up again.
            if round.len() == 3 {
                return swings;
            }
            // An end stays: it is the highest of all.
            let first = if least == 0 {
                1
            } else if least + 2 == round.len() {
                least - 1
            } else {
                least
            };
            round.drain(first..first + 2);
        }
    }

    #[test]
    fn a_course_that_repeats_closes_all_its_cycles() {
        let mut seed = 7_u64;
        let mut random = || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (seed >> 33) as f64 / (1_u64 << 31) as f64
        };
        for length in [3, 5, 9, 20, 60, 200] {
            for _ in 0..50 {
                let points: Vec<f64> = (0..length).map(|_| (random() * 160.0).round() * 0.5).collect();
                let (cycles, mut flow) = counted(&points);
                let mut swings: Vec<f64> = cycles.iter().map(|cycle| cycle.0).collect();
                flow.repeat(&mut |cycle| swings.push(cycle.swing));
                let mut expected = by_hand(&points);
                swings.sort_by(f64::total_cmp);
                expected.sort_by(f64::total_cmp);
                assert_eq!(format!("{swings:?}"), format!("{expected:?}"), "{points:?}");
            }
        }
    }

    #[test]
    fn what_is_left_stays_few_however_long_it_takes() {
        let mut flow = Rainflow::new(0.5);
        let mut cycles = 0;
        for k in 0..200_000 {
            let t = f64::from(k);
            let celsius = 80.0 + 30.0 * libm::sin(0.01 * t) + 20.0 * libm::sin(0.37 * t) + 1e-4 * t;
            flow.take(celsius, &mut |_| cycles += 1);
            // The span is at most 120 K, 240 steps.
            assert!(flow.left() <= 480);
        }
        assert!(cycles > 10_000);
        flow.take(f64::NAN, &mut |_| panic!("no cycle"));
    }

    #[test]
    fn cycles_are_read_on_straight_lines_over_logarithms() {
        let life = CycleLife(&[(40.0, 1e6), (80.0, 4e4)]);
        assert!((life.cycles(40.0) - 1e6).abs() < 1e-3 && (life.cycles(80.0) / 4e4 - 1.0).abs() < 1e-12);
        // Halfway as logarithms: √(40·80) K and √(1e6·4e4).
        assert!((life.cycles(3200.0_f64.sqrt()) / 2e5 - 1.0).abs() < 1e-9);
        assert!(life.cycles(39.0).is_nan() && life.cycles(81.0).is_nan() && life.cycles(f64::NAN).is_nan());
    }
}
