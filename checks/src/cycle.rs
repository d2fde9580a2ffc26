//! What a current of a duty point that recurs comes to over its cycle.
//!
//! Heat goes with the square of the current. A conductor or a winding that is heated for a time and then carries less feels
//! the RMS current of both, as long as the time is short beside its own.

use loadworthy_unit::{Dimension, FigureId, LaneId, Solved};

use crate::figure_text::value;
use crate::verdict::Missing;

/// Seconds after which a conductor or a winding counts as warmed through: a cable of 16 mm² takes some six minutes for two
/// thirds of its rise, a connector or a thinner wire less.
pub(crate) const WARMED_THROUGH: f64 = 300.0;

/// Share by which a current may differ from the one in between and still count as one that stays.
const STEADY: f64 = 0.1;

/// A current of a duty point that recurs, with the one that flows in between.
#[derive(Clone, Copy)]
pub(crate) struct Cycle {
    /// RMS current of the duty point.
    pub(crate) current: f64,
    /// How long it lasts in s.
    pub(crate) lasts: f64,
    /// Time from one occurrence to the next in s.
    pub(crate) every: f64,
    /// RMS current in between, the same way: of the duty point that it starts from, 0 where it names none.
    pub(crate) between: f64,
}

impl Cycle {
    /// The cycle of a lane, where its duty point ends and recurs; the figure is an RMS current.
    pub(crate) fn of(
        current: FigureId,
        solved: &Solved<'_>,
        lane: LaneId,
    ) -> Result<Option<Self>, Vec<Missing>> {
        let variant = solved.variant;
        let duty = variant.duty_of(lane);
        let (Some(lasts), Some(every)) = (duty.lasts, duty.every) else { return Ok(None) };
        let own = solved.figure(current, lane).ok_or_else(|| vec![Missing::Figure(current)])?;
        let mut between: f64 = 0.0;
        if let Some(from) = duty.starts_from {
            for other in variant.lane_ids().filter(|&other| variant.lane(other).duty == from) {
                let before =
                    solved.figure(current, other).ok_or_else(|| vec![Missing::FigureIn(current, other)])?;
                // A source that is charged after it gave is held against two ratings, each by its own current alone.
                if own * before > 0.0 {
                    between = between.max(before.abs());
                }
            }
        }
        Ok(Some(Self { current: own.abs(), lasts, every: every.max(lasts), between }))
    }

    /// Whether it comes and goes: what flows in between is another current.
    pub(crate) fn comes_and_goes(&self) -> bool {
        (self.current - self.between).abs() > STEADY * self.current.max(self.between)
    }

    /// RMS current over the whole cycle.
    pub(crate) fn rms(&self) -> f64 {
        let rest = self.every - self.lasts;
        ((self.current * self.current * self.lasts + self.between * self.between * rest) / self.every).sqrt()
    }

    /// How it comes about.
    pub(crate) fn worked(&self) -> String {
        let amps = |amps| value(amps, Dimension::Current);
        let time = |seconds| value(seconds, Dimension::Time);
        format!(
            "over the cycle = {}: √((I²·t + I₀²·(T − t))/T) with I {}, t {}, I₀ {}, T {}",
            amps(self.rms()),
            amps(self.current),
            time(self.lasts),
            amps(self.between),
            time(self.every)
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cycle_lies_between_its_currents_and_meets_them_at_its_ends() {
        let cycle = |lasts| Cycle { current: 200.0, lasts, every: 100.0, between: 50.0 };
        assert!((cycle(100.0).rms() - 200.0).abs() < 1e-9);
        assert!((cycle(1e-9).rms() - 50.0).abs() < 1e-6);
        // (200²·25 + 50²·75)/100 = 11 875.
        assert!((cycle(25.0).rms() - 108.972).abs() < 1e-3);
        assert!(cycle(10.0).rms() < cycle(11.0).rms());
        assert!(cycle(25.0).comes_and_goes());
        assert!(!Cycle { between: 190.0, ..cycle(25.0) }.comes_and_goes());
        assert!(!Cycle { current: 0.0, between: 0.0, ..cycle(25.0) }.comes_and_goes());
    }
}
