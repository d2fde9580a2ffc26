//! Figures of a lane beside those of the judge.

use loadworthy_unit::{LaneId, Solved};

use crate::bench::value;
use crate::judge::ramps::Chip;

/// Compares, and keeps every disagreement for the end.
pub(crate) struct Agreement<'s, 'u> {
    solved: &'s Solved<'u>,
    lane: LaneId,
    apart: Vec<String>,
}

impl<'s, 'u> Agreement<'s, 'u> {
    pub(crate) fn new(solved: &'s Solved<'u>, lane: LaneId) -> Self {
        Self { solved, lane, apart: Vec::new() }
    }

    /// Agrees within `tolerance`, in the unit of the figure.
    pub(crate) fn within(&mut self, path: &str, expected: f64, tolerance: f64) {
        let found = value(self.solved, self.lane, path);
        if (found - expected).abs() > tolerance {
            let share = (found - expected) / expected.abs().max(1e-12) * 100.0;
            self.apart.push(format!(
                "{path}: {found:.5} against {expected:.5} ({share:.2} %, {tolerance:.3} allowed)"
            ));
        }
    }

    /// Agrees within a share of what is expected.
    pub(crate) fn share(&mut self, path: &str, expected: f64, share: f64) {
        self.within(path, expected, share * expected.abs());
    }

    /// Currents to 2 %, losses to 5 %, the junction to 3 K. What a chip hardly carries counts as an eighth of the crest
    /// `of` of its device, what it hardly loses as a fifth of the loss of `both` chips.
    pub(crate) fn chip(&mut self, path: &str, chip: &Chip, junction: f64, of: f64, both: f64) {
        let share = &chip.share;
        let amps = |expected: f64| 0.02 * expected.abs().max(0.12 * of);
        let watts = |expected: f64| 0.05 * expected.abs().max(0.2 * both);
        self.within(&format!("{path}.average_current"), share.average, amps(share.average));
        self.within(&format!("{path}.rms_current"), share.rms(), amps(share.rms()));
        self.within(&format!("{path}.peak_current"), chip.crest, amps(chip.crest));
        self.within(&format!("{path}.conduction_loss"), share.conduction, watts(share.conduction));
        self.within(&format!("{path}.switching_loss"), share.switching, watts(share.switching));
        self.within(&format!("{path}.mean_junction_temperature"), junction, 3.0);
    }

    /// A MOSFET: its channel and the diode of its body, with one junction.
    pub(crate) fn mosfet(&mut self, path: &str, chips: &[Chip; 2], junction: f64) {
        let [channel, body] = chips;
        let both = channel.share.loss() + body.share.loss();
        let crest = channel.crest.max(body.crest);
        let whole = Chip { crest, ..*channel };
        self.chip(&format!("{path}.transistor"), &whole, junction, crest, both);
        self.within(&format!("{path}.body_diode.conduction_loss"), body.share.conduction, 0.04 * both);
        self.within(&format!("{path}.body_diode.recovery_loss"), body.share.switching, 0.02 * both);
    }

    /// Fails with all that is apart.
    #[track_caller]
    pub(crate) fn done(self, what: &str) {
        assert!(self.apart.is_empty(), "{what}:\n{}", self.apart.join("\n"));
    }
}
