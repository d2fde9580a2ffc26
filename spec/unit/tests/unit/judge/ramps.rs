//! What a switch position carries in time, and what that costs in the device that is fitted there.

use crate::waveform::{Points, Share, Sheet, along, drop_at};

/// A stretch of time in which the current of a position is a straight line. It is positive through the transistor.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Piece {
    pub(crate) lasts: f64,
    pub(crate) from: f64,
    pub(crate) to: f64,
    /// Whether its gate is on.
    pub(crate) gated: bool,
}

/// What happens at an edge.
#[derive(Clone, Copy, PartialEq, Debug)]
pub(crate) enum Event {
    TurnOn,
    TurnOff,
    Recovery,
}

/// An edge at a current, all devices of the position together.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Edge {
    pub(crate) event: Event,
    pub(crate) current: f64,
    pub(crate) volts: f64,
}

/// One period of one position.
#[derive(Clone, Debug, Default)]
pub(crate) struct Record {
    pub(crate) pieces: Vec<Piece>,
    pub(crate) edges: Vec<Edge>,
}

/// What is fitted at a position.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Fitted {
    pub(crate) sheet: Sheet,
    pub(crate) parallel: f64,
    /// Junctions of transistor and diode; a MOSFET has one.
    pub(crate) hot: [f64; 2],
}

impl Fitted {
    pub(crate) fn new(sheet: Sheet, parallel: f64) -> Self {
        Self { sheet, parallel, hot: [100.0; 2] }
    }

    /// Which of the two ways a current takes, and at which junction: 0 transistor or channel, 1 diode.
    fn way(&self, current: f64, gated: bool) -> usize {
        usize::from(if self.sheet.is_mosfet { !gated } else { current < 0.0 })
    }

    /// Voltage across the position, with the sign of the current.
    pub(crate) fn volts(&self, current: f64, gated: bool) -> f64 {
        if current == 0.0 {
            return 0.0;
        }
        let way = self.way(current, gated);
        let curves = if way == 0 { self.sheet.forward } else { self.sheet.diode };
        let hot = self.hot[if self.sheet.is_mosfet { 0 } else { way }];
        drop_at(curves, current.abs() / self.parallel, hot).copysign(current)
    }

    /// Means, losses and crest of transistor and diode over a period.
    pub(crate) fn cost(&self, record: &Record, period: f64) -> [Chip; 2] {
        let mut chips = [Chip::default(); 2];
        for piece in &record.pieces {
            const PARTS: usize = 4;
            for part in 0..PARTS {
                let at = |k: f64| piece.from + (piece.to - piece.from) * k / PARTS as f64;
                let (from, to) = (at(part as f64) / self.parallel, at(part as f64 + 1.0) / self.parallel);
                let middle = 0.5 * (from + to);
                let chip = &mut chips[self.way(middle, piece.gated)];
                let weight = piece.lasts / PARTS as f64 / period;
                let signed = if chip.is_backward(self, middle, piece.gated) { -middle } else { middle };
                chip.share.average += weight * signed;
                chip.share.mean_square += weight * (from * from + from * to + to * to) / 3.0;
                chip.share.conduction += weight * middle * self.volts(middle * self.parallel, piece.gated);
                chip.crest = chip.crest.max(from.abs()).max(to.abs());
            }
        }
        for edge in &record.edges {
            let (chip, curve) = match edge.event {
                Event::TurnOn => (0, self.sheet.turn_on),
                Event::TurnOff => (0, self.sheet.turn_off),
                Event::Recovery => (1, self.sheet.recovery),
            };
            let (exponent, growth) = self.sheet.scale[chip];
            let hot = self.hot[if self.sheet.is_mosfet { 0 } else { chip }];
            let factor = libm::pow(edge.volts / self.sheet.measured.0, exponent)
                * (1.0 + growth * (hot - self.sheet.measured.1));
            if edge.current > 0.0 {
                chips[chip].share.switching += energy(curve, edge.current / self.parallel) * factor / period;
            }
        }
        chips
    }
}

/// Energy of an edge. Below the first current that is drawn the curve goes on, unless that would lead below nothing.
fn energy(curve: Points, current: f64) -> f64 {
    let (first, joules) = curve[0];
    let goes_below = along(curve, 0.0) < 0.0;
    if current < first && goes_below { joules * current / first } else { along(curve, current) }
}

/// What one device's chip made of a period.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Chip {
    pub(crate) share: Share,
    pub(crate) crest: f64,
}

impl Chip {
    /// Whether a current counts against the direction of the transistor: that of a diode counts as it conducts.
    fn is_backward(&self, fitted: &Fitted, current: f64, gated: bool) -> bool {
        current < 0.0 && fitted.way(current, gated) == 1
    }
}

impl Record {
    /// Mean current over a period.
    pub(crate) fn mean(&self, period: f64) -> f64 {
        self.pieces.iter().map(|piece| 0.5 * (piece.from + piece.to) * piece.lasts).sum::<f64>() / period
    }

    /// Mean square current over a period.
    pub(crate) fn square(&self, period: f64) -> f64 {
        let square = |piece: &Piece| piece.from * piece.from + piece.from * piece.to + piece.to * piece.to;
        self.pieces.iter().map(|piece| square(piece) / 3.0 * piece.lasts).sum::<f64>() / period
    }

    /// Highest and lowest current.
    pub(crate) fn ends(&self) -> (f64, f64) {
        let all = || self.pieces.iter().flat_map(|piece| [piece.from, piece.to]);
        (all().fold(f64::MIN, f64::max), all().fold(f64::MAX, f64::min))
    }

    /// Adds a stretch of time.
    pub(crate) fn lead(&mut self, lasts: f64, from: f64, to: f64, gated: bool) {
        self.pieces.push(Piece { lasts, from, to, gated });
    }

    /// Adds an edge.
    pub(crate) fn edge(&mut self, event: Event, current: f64, volts: f64) {
        self.edges.push(Edge { event, current, volts });
    }

    /// RMS of the sum of several such currents, each later than the one before by a share of the period, without its
    /// mean.
    pub(crate) fn ripple_of(&self, count: usize, period: f64) -> f64 {
        const SAMPLES: usize = 2400;
        let mut sums = vec![0.0; SAMPLES];
        for (k, sum) in sums.iter_mut().enumerate() {
            for shift in 0..count {
                let share = (k as f64 + 0.5) / SAMPLES as f64 + shift as f64 / count as f64;
                *sum += self.at(share.fract() * period);
            }
        }
        let mean = sums.iter().sum::<f64>() / SAMPLES as f64;
        (sums.iter().map(|sum| (sum - mean) * (sum - mean)).sum::<f64>() / SAMPLES as f64).sqrt()
    }

    fn at(&self, time: f64) -> f64 {
        let mut start = 0.0;
        for piece in &self.pieces {
            if time < start + piece.lasts {
                return piece.from + (piece.to - piece.from) * (time - start) / piece.lasts;
            }
            start += piece.lasts;
        }
        self.pieces.last().map_or(0.0, |piece| piece.to)
    }
}
