//! What each position of a stage with a transformer carries over a period, from its operating point.

use loadworthy_physics::converters::forward::{self, ForwardPoint};
use loadworthy_physics::converters::full_bridge::FullBridgePoint;
use loadworthy_physics::converters::ramp::Split;
use loadworthy_physics::{Capacitance, Current, Inductance, SquaredCurrent, Time, Voltage};

use crate::plan::{Position, Role};

/// The operating point of one lane.
#[derive(Clone, Copy)]
pub(crate) enum Point {
    Bridge(FullBridgePoint),
    Forward(ForwardPoint),
}

impl Point {
    /// Share of its period in which the current of the output choke rests.
    pub(crate) const fn rests(&self) -> f64 {
        match self {
            Self::Bridge(point) => point.rest,
            Self::Forward(point) => point.idle,
        }
    }
}

/// What a position carries in one lane.
#[derive(Clone, Copy)]
pub(crate) struct Carried {
    pub(crate) split: Split,
    pub(crate) forward_peak: f64,
    pub(crate) backward_peak: f64,
    pub(crate) turn_on: f64,
    pub(crate) turn_off: f64,
    pub(crate) recovery: f64,
    /// Energy in each period that a turn-on takes from the node, whatever current it switches.
    pub(crate) burnt: f64,
    /// Mean and mean square over the period of what the body diode conducts in the dead times.
    pub(crate) dead: (f64, f64),
    pub(crate) voltage: f64,
}

/// What shapes the currents at the edges of a lane.
pub(crate) struct Edges {
    /// Dead time as a share of the period.
    pub(crate) dead: f64,
    /// Leakage times carrier frequency.
    pub(crate) leakage: f64,
    pub(crate) turns: f64,
    /// Carrier frequency.
    pub(crate) carrier: f64,
    /// Capacitance of the node between the two primary switches; zero where one of them states none.
    pub(crate) node: f64,
}

impl Edges {
    /// Mean and mean square of a current that stands still during so many dead times.
    fn standing(&self, amps: f64, times: f64) -> (f64, f64) {
        (times * self.dead * amps, times * self.dead * amps * amps)
    }

    /// The same of a rectifier that lets its current go to the other one within a share of the period, its gate off.
    fn let_go(amps: f64, lasts: f64) -> (f64, f64) {
        (0.5 * amps * lasts, amps * amps * lasts / 3.0)
    }

    /// The same of the rectifier that takes a current over within a share of the period, its gate off for a dead time.
    fn take_over(&self, amps: f64, lasts: f64) -> (f64, f64) {
        let rises = if self.dead < lasts { self.dead } else { lasts };
        let reached = if lasts > 0.0 { amps * rises / lasts } else { amps };
        let rest = self.dead - rises;
        (0.5 * reached * rises + amps * rest, reached * reached * rises / 3.0 + amps * amps * rest)
    }

    /// The same of what flows into the clamp in the dead time after the main switch: the current trapped in the leakage
    /// falls against the clamp's voltage, and the magnetising current stays.
    fn decaying(&self, point: &ForwardPoint) -> (f64, f64) {
        let trapped = point.inductor_peak.si() / self.turns;
        let (from, to) = (point.main_peak.si(), point.main_peak.si() - trapped);
        let lasts = self.let_go_lasts(point);
        let falls = if self.dead < lasts { self.dead } else { lasts };
        let end = if lasts > 0.0 { from - trapped * falls / lasts } else { to };
        let ramp = Split::of_ramp(Current::new(from), Current::new(end)) * falls;
        let rest = Split::of_ramp(Current::new(to), Current::new(to)) * (self.dead - falls);
        let both = ramp + rest;
        (both.forward_mean.si(), both.forward_square.si())
    }

    /// Share of the period in which the clamp takes the current of the choke off the leakage of a forward converter.
    fn let_go_lasts(&self, point: &ForwardPoint) -> f64 {
        point.inductor_peak.si() / self.turns * self.leakage / point.clamp_voltage.si()
    }

    /// What the turn-on of the main switch of a forward converter costs: the current that it switches and the energy that
    /// it burns. The leakage holds the current back, so that its node alone counts; where that is not known it counts as
    /// if nothing held the current.
    pub(crate) fn start(&self, point: &ForwardPoint) -> (f64, f64) {
        if self.node == 0.0 || self.leakage == 0.0 {
            let start = self.taken_over(point);
            return (if start < 0.0 { 0.0 } else { start }, 0.0);
        }
        let (leakage, node) = (Inductance::new(self.leakage / self.carrier), Capacitance::new(self.node));
        let dead_time = Time::new(self.dead / self.carrier);
        let volts = forward::turn_on_voltage(point, leakage, node, dead_time).si();
        (0.0, 0.5 * self.node * volts * volts)
    }

    /// Current of the main switch of a forward converter once the forward rectifier has taken over.
    fn taken_over(&self, point: &ForwardPoint) -> f64 {
        point.main_peak.si() - point.inductor_ripple.si() / self.turns - point.magnetising_ripple.si()
    }
}

/// What a position carries at an operating point.
pub(crate) fn carried(position: &Position, point: &Point, load: f64, edges: &Edges) -> Carried {
    // What runs empty leaves a diode nothing to recover, and its gate no current to wait for.
    let recovered = if point.rests() > 0.0 { 0.0 * load } else { load };
    match (point, position.role) {
        (Point::Bridge(point), Role::Rectifier) => of_bridge_rectifier(point, recovered, edges),
        (Point::Bridge(point), _) => of_bridge_leg(point, position.leg, edges),
        (Point::Forward(point), Role::Main) => of_main(point, edges),
        (Point::Forward(point), Role::Clamp) => of_clamp(point, edges),
        (Point::Forward(point), Role::Forward) => of_forward_rectifier(point, recovered, edges),
        (Point::Forward(point), _) => of_freewheel(point, recovered, edges),
    }
}

const NOTHING: Carried = Carried {
    split: Split::NONE,
    forward_peak: 0.0,
    backward_peak: 0.0,
    turn_on: 0.0,
    turn_off: 0.0,
    recovery: 0.0,
    burnt: 0.0,
    dead: (0.0, 0.0),
    voltage: f64::NAN,
};

/// What a rectifier carries: mean, RMS and largest current, and what it blocks.
fn rectified((mean, rms, peak): (Current, Current, Current), blocks: Voltage) -> Carried {
    let square = SquaredCurrent::new(rms.si() * rms.si());
    Carried {
        split: Split { backward_mean: mean, backward_square: square, ..Split::NONE },
        backward_peak: peak.si(),
        voltage: blocks.si(),
        ..NOTHING
    }
}

/// Mean and mean square of currents that follow on one another within a period.
fn in_turn(all: &[(f64, f64)]) -> (f64, f64) {
    all.iter().fold((0.0, 0.0), |sum, one| (sum.0 + one.0, sum.1 + one.1))
}

fn of_bridge_rectifier(point: &FullBridgePoint, recovered: f64, edges: &Edges) -> Carried {
    // As freewheeling ends; both halves of a period have one such moment, in which one rectifier follows on the other.
    let valley = if point.rest > 0.0 { 0.0 } else { recovered - 0.5 * point.output_ripple.si() };
    let lasts = 0.5 * point.duty_loss;
    Carried {
        recovery: recovered,
        dead: in_turn(&[Edges::let_go(valley, lasts), edges.take_over(valley, lasts)]),
        ..rectified(
            (point.rectifier_mean, point.rectifier_rms, point.rectifier_peak),
            point.rectifier_voltage,
        )
    }
}

/// A switch of the bridge; leg 0 leads, leg 1 lags.
fn of_bridge_leg(point: &FullBridgePoint, number: usize, edges: &Edges) -> Carried {
    let leg = if number == 0 { &point.leading } else { &point.lagging };
    let amps = leg.turn_off.si();
    let (off, against) = if amps < 0.0 { (0.0, -amps) } else { (amps, 0.0 * amps) };
    Carried {
        split: leg.switch,
        forward_peak: point.primary_peak.si(),
        backward_peak: off,
        // A current that has reversed is taken over from the diode of the other switch.
        turn_on: against,
        burnt: leg.burnt().si(),
        turn_off: off,
        dead: edges.standing(off, 1.0),
        voltage: point.switch_voltage.si(),
        ..NOTHING
    }
}

fn of_main(point: &ForwardPoint, edges: &Edges) -> Carried {
    let (turn_on, burnt) = edges.start(point);
    Carried {
        split: point.main,
        forward_peak: point.main_peak.si(),
        turn_on,
        burnt,
        turn_off: point.main_peak.si(),
        voltage: point.switch_voltage.si(),
        ..NOTHING
    }
}

fn of_clamp(point: &ForwardPoint, edges: &Edges) -> Carried {
    let off = point.clamp_turn_off.si();
    Carried {
        split: point.clamp.reversed(),
        forward_peak: point.clamp_peak.si(),
        backward_peak: point.clamp_peak.si(),
        turn_off: if off < 0.0 { 0.0 } else { off },
        dead: edges.decaying(point),
        voltage: point.switch_voltage.si(),
        ..NOTHING
    }
}

/// The rectifier that conducts while the main switch does.
fn of_forward_rectifier(point: &ForwardPoint, recovered: f64, edges: &Edges) -> Carried {
    let top = point.inductor_peak.si();
    Carried {
        // It is turned off by what the clamp takes over, also where the choke runs empty afterwards.
        recovery: if point.idle > 0.0 { top } else { recovered },
        dead: in_turn(&[Edges::let_go(top, edges.let_go_lasts(point))]),
        ..rectified((point.forward_mean, point.forward_rms, point.rectifier_peak), point.forward_voltage)
    }
}

fn of_freewheel(point: &ForwardPoint, recovered: f64, edges: &Edges) -> Carried {
    // Before the main switch turns on it has the whole current still.
    let (top, bottom) = (point.inductor_peak.si(), point.inductor_valley.si());
    Carried {
        recovery: recovered,
        dead: in_turn(&[
            edges.standing(bottom, 1.0),
            Edges::let_go(bottom, point.duty_loss),
            edges.take_over(top, edges.let_go_lasts(point)),
        ]),
        ..rectified(
            (point.freewheel_mean, point.freewheel_rms, point.rectifier_peak),
            point.freewheel_voltage,
        )
    }
}
