//! An axis with round numbers.

use loadworthy_checks::figure_text::value;
use loadworthy_unit::Dimension;

/// Ticks that an axis has at least about.
const ABOUT: f64 = 6.0;

/// An axis from a range of values to a range of places.
pub(super) struct Axis {
    range: (f64, f64),
    places: (f64, f64),
    step: f64,
    /// What values are divided by for their labels, and the unit that they are then in.
    scale: f64,
    unit: String,
}

impl Axis {
    /// An axis over a range, widened to whole ticks where that is asked.
    pub(super) fn of(range: (f64, f64), places: (f64, f64), dimension: Dimension, widened: bool) -> Self {
        let (scale, unit) = scale(range.0.abs().max(range.1.abs()), dimension);
        let (low, high) = (range.0 / scale, range.1 / scale);
        let step = round_step((high - low) / ABOUT);
        let widen = |low: f64, high: f64| ((low / step).floor() * step, (high / step).ceil() * step);
        let range = if widened { widen(low, high) } else { (low, high) };
        Self { range, places, step, scale, unit }
    }

    /// The unit of the labels; `1` for a ratio.
    pub(super) fn unit(&self) -> &str {
        if self.unit.is_empty() { "1" } else { &self.unit }
    }

    /// The place of a value.
    pub(super) fn place(&self, value: f64) -> f64 {
        let share = (value / self.scale - self.range.0) / (self.range.1 - self.range.0);
        self.places.0 + share * (self.places.1 - self.places.0)
    }

    /// Places of round numbers, with their labels.
    pub(super) fn ticks(&self) -> Vec<(f64, String)> {
        let first = (self.range.0 / self.step - 1e-9).ceil();
        let last = (self.range.1 / self.step + 1e-9).floor();
        let count = (last - first).max(0.0) as usize;
        let tick = |place: usize| {
            let at = (first + place as f64) * self.step;
            (self.place(at * self.scale), value(at, Dimension::Ratio))
        };
        (0..=count).map(tick).collect()
    }
}

/// The largest of 1, 2, 5 times a power of ten that is not above a number by much.
fn round_step(about: f64) -> f64 {
    let power: f64 = format!("1e{}", power_of_ten(about)).parse().unwrap_or(1.0);
    let times = about / power;
    power
        * if times < 1.5 {
            1.0
        } else if times < 3.5 {
            2.0
        } else if times < 7.5 {
            5.0
        } else {
            10.0
        }
}

/// The power of ten at or below a number, from how it is written.
fn power_of_ten(number: f64) -> i32 {
    let written = format!("{number:e}");
    written.split('e').nth(1).and_then(|power| power.parse().ok()).unwrap_or(0)
}

/// The unit in which values of this size are written, and what they are divided by.
fn scale(size: f64, dimension: Dimension) -> (f64, String) {
    let shown = value(size, dimension);
    let unit = shown.split_once(' ').map_or_else(String::new, |(_, unit)| unit.to_owned());
    let number: f64 = shown.split(' ').next().and_then(|number| number.parse().ok()).unwrap_or(1.0);
    // Rounded to three digits a value is off by less than a prefix.
    let ratio = size / number;
    let exact = if dimension == Dimension::Temperature || !(ratio.is_finite() && ratio > 0.0) {
        1.0
    } else {
        nearest_scale(ratio)
    };
    (exact, unit)
}

/// The scale of a unit near a ratio: a power of ten, or one that turns minutes into seconds.
fn nearest_scale(ratio: f64) -> f64 {
    let tens = (-12..=12).map(|power| format!("1e{power}").parse().unwrap_or(1.0));
    let all = tens.chain([1.0 / 60.0, 1.0 / 60_000.0, 60.0, 3600.0]);
    let distance = |scale: f64| (ratio / scale).max(scale / ratio);
    all.fold(1.0, |near, scale| if distance(scale) < distance(near) { scale } else { near })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_cover_the_range() {
        let axis = Axis::of((0.0, 104_200.0), (384.0, 64.0), Dimension::Power, true);
        assert_eq!(axis.unit(), "kW");
        let labels: Vec<String> = axis.ticks().into_iter().map(|(_, label)| label).collect();
        assert_eq!(labels, ["0", "20", "40", "60", "80", "100", "120"]);
        assert!((axis.place(120_000.0) - 64.0).abs() < 1e-9 && (axis.place(0.0) - 384.0).abs() < 1e-9);
        let axis = Axis::of((20.0, 80.0), (0.0, 600.0), Dimension::Temperature, false);
        assert_eq!((axis.unit(), axis.ticks().len()), ("°C", 7));
        let axis = Axis::of((30.0, 60.0), (0.0, 600.0), Dimension::Speed, false);
        assert_eq!((axis.unit(), axis.ticks()[0].1.as_str()), ("1/min", "1800"));
    }
}
