//! Converters.

use loadworthy_physics::{Current, Frequency, Inductance};
use loadworthy_source::Problem;

use super::{Rules, Scope};
use crate::quantity::{Angle, Given, shown};
use crate::sections::stages::{CurrentSensing, Stage};

impl Rules for Stage {
    fn check(&self, scope: &mut Scope<'_>) {
        scope.dead_time(self);
        scope.two_buses(self);
        scope.shift(self);
        match self {
            Self::ThreePhaseBridge(bridge) => {
                scope.share_above_zero("field_weakening", bridge.field_weakening, 1.0);
                scope.above_zero("trip", bridge.trip, Current::si);
                scope.sensing(bridge.current_sensing.as_ref());
            }
            Self::ActiveClampForward(forward) => {
                scope.share_above_zero("largest_duty", forward.largest_duty, 1.0);
                scope.share("rectifier_overshoot", forward.rectifier_overshoot, 2.0);
            }
            Self::PhaseShiftedFullBridge(bridge) => {
                scope.share("rectifier_overshoot", bridge.rectifier_overshoot, 2.0);
                scope.share("choke_imbalance", bridge.choke_imbalance, 1.0);
            }
            Self::Boost(boost) => {
                scope.share("leg_imbalance", boost.leg_imbalance, 1.0);
                scope.sensing(boost.current_sensing.as_ref());
            }
            Self::Buck(buck) => {
                scope.share("leg_imbalance", buck.leg_imbalance, 1.0);
                scope.sensing(buck.current_sensing.as_ref());
            }
        }
    }
}

impl Scope<'_> {
    /// What reads the currents of a stage.
    fn sensing(&mut self, sensing: Option<&CurrentSensing>) {
        let Some(sensing) = sensing else { return };
        self.above_zero("range", sensing.range, Current::si);
        self.credible_amps("range", sensing.range);
        self.share("trip_tolerance", sensing.trip_tolerance, 0.5);
        self.credible_tolerance(
            "trip_tolerance",
            sensing.trip_tolerance,
            (1e-3, "a share of at least 0.1 %"),
        );
        self.above_zero("fault_inductance", sensing.fault_inductance, Inductance::si);
    }

    /// A stage stands between two buses.
    fn two_buses(&mut self, stage: &Stage) {
        if let [(_, Some(one)), (key, Some(other))] = stage.buses()[..]
            && one.value == other.value
        {
            let (at, also) = (self.tree.span(other.at), self.tree.span(one.at));
            self.ledger.note("conflict", at, key, || {
                let message = format!("both sides of the stage are on {}", shown(&one.value));
                Problem::new("conflict", at, message, "one side").with_also(also, "the other side")
            });
        }
    }

    /// A carrier lags behind another one.
    fn shift(&mut self, stage: &Stage) {
        if let Some(carrier) = stage.carrier()
            && let Some(shift) = carrier.shift
            && carrier.synchronised_with.is_none()
        {
            let message =
                || "`shift` says how far a carrier lags behind another, and none is named".to_owned();
            self.refuse(shift.at, message, "behind which one?", Some("add `synchronised_with`"));
            return;
        }
        // Zero is written as zero, a whole period is none.
        let shift = stage.carrier().and_then(|carrier| carrier.shift);
        let degrees = |of: &Given<Angle>| 360.0 * of.value.si().abs();
        if let Some(shift) = shift.filter(|of| degrees(of) > 360.0 || 0.0 < degrees(of) && degrees(of) < 1.0)
        {
            let message =
                || "`shift` expects an angle from 1 to 360 degrees of the carrier, or none".to_owned();
            self.refuse(shift.at, message, "hardly a lag, or more than a period", Some("look at its unit"));
        }
    }

    fn dead_time(&mut self, stage: &Stage) {
        let frequency = stage.carrier().and_then(|carrier| carrier.frequency);
        self.above_zero("frequency", frequency, Frequency::si);
        let is_isolated = matches!(stage, Stage::PhaseShiftedFullBridge(_) | Stage::ActiveClampForward(_));
        if let Some(none) = stage.dead_time().filter(|time| is_isolated && time.value.si() <= 0.0) {
            let message = || "without a dead time both switches of a leg conduct at each edge".to_owned();
            self.refuse(none.at, message, "no time between them", Some("write e.g. `150 ns`"));
        }
        if let (Some(frequency), Some(dead_time)) = (frequency, stage.dead_time())
            // Each carrier period holds two dead times of a leg.
            && 2.0 * dead_time.value.si() * frequency.value.si() >= 1.0
        {
            let (at, also) = (self.tree.span(dead_time.at), self.tree.span(frequency.at));
            self.ledger.note("conflict", at, "dead_time", || {
                Problem::new(
                    "conflict",
                    at,
                    "the dead time fills the whole carrier period",
                    "twice in each period",
                )
                .with_also(also, "carrier frequency")
                .with_way_out("write e.g. `2 us`")
            });
        }
    }
}
