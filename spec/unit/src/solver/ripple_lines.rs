//! Lines of the ripple that a stage sends into a bus: how much of it lies at each multiple of its first.

use loadworthy_physics::converters::wave::Wave;
use loadworthy_physics::link_lines::{self, LINES};
use loadworthy_physics::link_ring::Edges;
use loadworthy_physics::{Current, Frequency};

use crate::plan::{Bridge, Chopper, Isolated, IsolatedKind, Plan, RippleTerm, Stage, Topology};
use crate::solver::bridge::modulation;
use crate::solver::carried::Point;
use crate::solver::operating_point;
use crate::trace::Operand;

/// Ripple of a stage at one of its ports.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RippleLines {
    /// Frequency of the first line; the others lie at its multiples.
    pub first: Frequency,
    /// Share of the mean square that lies at each.
    pub shares: [f64; LINES],
}

impl RippleLines {
    pub(crate) const UNKNOWN: Self = Self { first: Frequency::new(f64::NAN), shares: [f64::NAN; LINES] };

    /// Frequency of each line, and its share.
    pub fn each(&self) -> impl Iterator<Item = (Frequency, f64)> {
        let at = |(place, &share): (usize, &f64)| (self.first * (place as f64 + 1.0), share);
        self.shares.iter().enumerate().map(at)
    }
}

impl Plan {
    /// Frequency of the first line of a ripple, of what `read` gives for each input.
    #[must_use]
    pub fn first_line(&self, term: &RippleTerm, read: impl Fn(Operand) -> f64) -> Frequency {
        let stage = &self.stages[term.stage];
        let times = match &stage.topology {
            Topology::Bridge(_) => 1.0,
            Topology::Chopper(chopper) => read(chopper.inputs.legs.into()),
            Topology::Isolated(isolated) if isolated.kind == IsolatedKind::Forward => 1.0,
            Topology::Isolated(_) => 2.0,
        };
        Frequency::new(read(stage.carrier.into()) * times)
    }

    /// Lines of the ripple of a stage at one of its ports, of what `read` gives for each figure and input.
    #[must_use]
    pub fn ripple_lines(&self, term: &RippleTerm, read: impl Fn(Operand) -> f64 + Copy) -> RippleLines {
        let stage = &self.stages[term.stage];
        let ripple = read(term.current.into());
        let all = ripple * ripple;
        let shares = match &stage.topology {
            Topology::Bridge(bridge) => of_bridge(bridge, read),
            Topology::Chopper(chopper) => {
                of_wave(&sent(chopper, term.port, read), read(chopper.inputs.legs.into()), all)
            }
            Topology::Isolated(isolated) => {
                let (wave, shifted) = passed(self, (stage, isolated), term.port, read);
                of_wave(&wave, shifted, all)
            }
        };
        RippleLines { first: self.first_line(term, read), shares }
    }

    /// Ripple of a chopper or a stage with a transformer at one of its ports from crest to crest; that of several legs is no
    /// more than that of one.
    pub(crate) fn swing(&self, term: &RippleTerm, read: impl Fn(Operand) -> f64 + Copy) -> Current {
        let stage = &self.stages[term.stage];
        match &stage.topology {
            Topology::Bridge(_) => Current::new(f64::NAN),
            Topology::Chopper(chopper) => {
                let wave = sent(chopper, term.port, read);
                let flows = read(chopper.figures.leg_current.into()).abs();
                // Triangles of several legs that never rest make a triangle.
                if term.port == 0 && flows >= 0.5 * read(chopper.figures.ripple.into()) {
                    Current::new(2.0 * 3f64.sqrt() * read(term.current.into()))
                } else {
                    wave.swing()
                }
            }
            Topology::Isolated(isolated) => passed(self, (stage, isolated), term.port, read).0.swing(),
        }
    }

    /// Edges of the current of a chopper or a stage with a transformer at one of its ports; none are asked of a bridge.
    pub(crate) fn edges(&self, term: &RippleTerm, read: impl Fn(Operand) -> f64 + Copy) -> Edges {
        let stage = &self.stages[term.stage];
        match &stage.topology {
            Topology::Bridge(_) => Edges { jumps: Current::new(f64::NAN), bends: Current::new(f64::NAN) },
            Topology::Chopper(chopper) => {
                sent(chopper, term.port, read).edges(read(chopper.inputs.legs.into()))
            }
            Topology::Isolated(isolated) => {
                let (wave, shifted) = passed(self, (stage, isolated), term.port, read);
                wave.edges(shifted)
            }
        }
    }
}

fn of_bridge(bridge: &Bridge, read: impl Fn(Operand) -> f64) -> [f64; LINES] {
    let figures = &bridge.figures;
    link_lines::shares(
        read(figures.formed_index.into()),
        read(figures.power_factor.into()),
        modulation(read(bridge.inputs.modulation.into())),
    )
}

/// What the figures of a port's lines follow from, beside its carrier.
pub(crate) fn from(stage: &Stage, out: &mut Vec<Operand>) {
    out.push(stage.carrier.into());
    match &stage.topology {
        Topology::Bridge(bridge) => {
            let figures = &bridge.figures;
            out.extend([figures.formed_index, figures.power_factor].map(Operand::Figure));
            out.push(bridge.inputs.modulation.into());
        }
        Topology::Chopper(chopper) => {
            let figures = &chopper.figures;
            out.extend([figures.leg_current, figures.ripple, figures.duty].map(Operand::Figure));
            out.push(chopper.inputs.legs.into());
        }
        Topology::Isolated(isolated) => {
            let figures = &isolated.figures;
            out.extend([figures.effective_duty, figures.duty, figures.ripple].map(Operand::Figure));
        }
    }
}

/// What one leg of a chopper sends into a port: its whole current into the low bus, what runs while its high side conducts
/// into the high one.
fn sent(chopper: &Chopper, port: usize, read: impl Fn(Operand) -> f64) -> Wave {
    let figures = &chopper.figures;
    let of = |figure: crate::ids::FigureId| read(figure.into());
    let (leg, ripple) = (of(figures.leg_current), of(figures.ripple));
    let low = of(figures.duty).clamp(0.0, 1.0);
    let (none, is_low) = (Current::ZERO, port == 0);
    // A leg whose diode lets its current rest makes a triangle that begins and ends without current.
    if chopper.diode_side.is_some() && leg.abs() < 0.5 * ripple {
        let peak = Current::new(ripple);
        let conducts = 2.0 * leg.abs() / ripple;
        let rising = if is_low { peak } else { none };
        return Wave::NONE.then(low, none, rising).then(conducts - low, peak, none).then(
            1.0 - conducts,
            none,
            none,
        );
    }
    let (mean, swing) = (Current::new(leg), Current::new(ripple));
    if is_low {
        return Wave::triangle(mean, swing, low);
    }
    Wave::NONE.then(1.0 - low, mean + swing * 0.5, mean - swing * 0.5).then(low, none, none)
}

/// The current of a stage with a transformer at a port, and how many of it are evenly shifted there.
fn passed(
    plan: &Plan,
    (stage, isolated): (&Stage, &Isolated),
    port: usize,
    read: impl Fn(Operand) -> f64 + Copy,
) -> (Wave, f64) {
    match operating_point::point(plan, stage, isolated, read) {
        // The bus carries the primary current while it reverses and is driven.
        Point::Bridge(point) if port == 0 => (point.primary_wave.passing(2), 1.0),
        Point::Bridge(point) => {
            let is_tapped = isolated.kind == IsolatedKind::CentreTap;
            (point.inductor_wave, if is_tapped { 1.0 } else { 2.0 })
        }
        Point::Forward(point) if port == 0 => (point.primary_wave.passing(2), 1.0),
        Point::Forward(point) => (point.inductor_wave, 1.0),
    }
}

fn of_wave(wave: &Wave, shifted: f64, all: f64) -> [f64; LINES] {
    link_lines::completed(wave.interleaved(shifted).map(|square| square.si()), all)
}
