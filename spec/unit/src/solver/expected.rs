//! What a stage is expected to lose in a pass, from what it lost in those before.
//!
//! A loss grows with the power that drives the currents of its stage, nearly along a straight line. What drives them is what the
//! stage passes on, or that with the loss itself, whichever port its currents are reckoned at. Of the line two passes say
//! enough; after the first its slope is guessed from what the loss is made of.

use crate::plan::{Plan, Stage, Topology};

/// Growth of a loss with itself above which no step is lengthened.
const STEEP: f64 = 0.3;

/// A loss as a straight line over what drives it, in each lane.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Expected<const L: usize> {
    /// What drove it in this pass.
    pub(crate) driven: [f64; L],
    /// What drove it in the pass before, and what it came to there.
    before: ([f64; L], [f64; L]),
    slope: [f64; L],
    /// The slope that was guessed in the pass before.
    guess: [f64; L],
}

impl<const L: usize> Default for Expected<L> {
    fn default() -> Self {
        let (unknown, zero) = ([f64::NAN; L], [0.0; L]);
        Self { driven: zero, before: (unknown, zero), slope: zero, guess: unknown }
    }
}

impl<const L: usize> Expected<L> {
    /// The loss that hangs on what drives it alone.
    #[inline]
    pub(crate) fn at(&self, l: usize, driven: f64) -> f64 {
        let (at, came) = (self.before.0[l], self.before.1[l]);
        if self.slope[l] == 0.0 { came } else { came + self.slope[l] * (driven - at) }
    }

    /// The loss that is driven by what is passed on and by itself.
    #[inline]
    pub(crate) fn with_own(&self, l: usize, passes: f64) -> f64 {
        let (at, came, slope) = (self.before.0[l], self.before.1[l], self.slope[l]);
        if slope == 0.0 { came } else { came + slope * (passes + came - at) / (1.0 - slope) }
    }

    /// Takes over what a pass gave for a lane, with a guess of the slope there.
    pub(crate) fn hand_over(&mut self, l: usize, came: f64, guess: f64, is_near_most: bool) {
        let (at, before) = (self.before.0[l], self.before.1[l]);
        let driven = self.driven[l];
        let line = (came - before) / (driven - at);
        // The line between two passes has the slope of the middle between them.
        let slope = if at.is_nan() { guess } else { line + 0.5 * (guess - self.guess[l]) };
        self.slope[l] = if slope.abs() < STEEP && !is_near_most { slope } else { 0.0 };
        (self.before.0[l], self.before.1[l]) = (driven, came);
        self.guess[l] = guess;
    }
}

/// Power that drives the currents of a stage, where it passes on so much: with or without its own loss.
pub(crate) fn drives_itself(stage: &Stage) -> bool {
    let reckoned_at = match stage.topology {
        Topology::Bridge(_) => return true,
        Topology::Chopper(_) => 0,
        Topology::Isolated(_) => 1,
    };
    stage.led_by != Some(reckoned_at)
}

/// What the loss of a stage grows by if its power grows by its own size: what goes with the square of the current counts
/// twice, what does not go with it not at all.
pub(crate) fn growth<const L: usize>(
    plan: &Plan,
    stage: &Stage,
    inputs: &[[f64; L]],
    figures: &[[f64; L]],
    l: usize,
) -> f64 {
    let mut sum = 0.0;
    for position in &stage.positions {
        let many = inputs[stage.parallel(position).index()][l];
        for chip in &plan.chips[position.chips.clone()] {
            let of = |figure: crate::ids::FigureId| figures[figure.index()][l];
            let (rms, slope) = (of(chip.figures.rms_current), of(chip.figures.slope));
            sum += many * (of(chip.figures.loss) + slope * rms * rms);
        }
    }
    for &own in &stage.magnetics {
        let component = &plan.magnetics[own];
        let many = inputs[component.count.index()][l];
        let windings = component.windings.iter().map(|winding| figures[winding.loss.index()][l]);
        sum += many * 2.0 * windings.sum::<f64>();
    }
    sum
}
