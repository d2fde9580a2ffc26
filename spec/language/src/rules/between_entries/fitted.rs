//! Devices and the positions that they are fitted to.

use loadworthy_source::{Located, Problem};

use super::super::Scope;
use crate::document::Description;
use crate::sections::devices::{Circuit, Device};
use crate::sections::stages::{Stage, SwitchPosition};

/// Whether a device can never be switched on or off.
pub(super) fn is_diode_alone(device: &Device) -> bool {
    device.transistor.is_none() && device.diode.is_some()
}

impl Scope<'_> {
    /// A half-bridge module that serves both positions of a leg is counted once.
    pub(super) fn shared_modules(&mut self, stage: &Stage, description: &Description) {
        if stage.has_legs()
            && let [(_, Some(high)), (_, Some(low)), ..] = stage.positions()[..]
        {
            self.shared_module(high, low, description);
        }
    }

    fn shared_module(&mut self, high: &SwitchPosition, low: &SwitchPosition, description: &Description) {
        let (Some(upper), Some(lower)) = (&high.fitted, &low.fitted) else { return };
        let circuit =
            description.devices.entry(&upper.value).and_then(|device| device.package.as_ref()?.circuit);
        let shared = upper.value == lower.value
            && circuit.is_some_and(|circuit| matches!(circuit.value, Circuit::HalfBridge | Circuit::SixPack));
        let count = |parallel: Option<Located<u32>>| parallel.map_or(1, |given| given.value);
        let (above, below) = (count(high.parallel), count(low.parallel));
        if !shared || above == below {
            return;
        }
        let upper_at = high.parallel.map_or(upper.at, |given| given.at);
        let lower_at = low.parallel.map_or(lower.at, |given| given.at);
        let (at, also) = (self.tree.span(lower_at), self.tree.span(upper_at));
        self.ledger.note("conflict", at, "parallel", || {
            let message = format!(
                "`{}` holds both positions of a leg, so both have the same count in parallel: {above} above, {below} below",
                upper.value,
            );
            Problem::new("conflict", at, message, format!("{below} in parallel"))
                .with_also(also, format!("{above} in parallel"))
                .with_way_out("state the same `parallel` at both positions")
        });
    }

    /// A diode alone where the topology needs a switch.
    pub(super) fn unswitched(&mut self, stage: &Stage, description: &Description) {
        for (position, fitted) in stage.positions() {
            let Some(fitted) = fitted.and_then(|fitted| fitted.fitted.as_ref()) else { continue };
            let Some(device) = description.devices.entry(&fitted.value) else { continue };
            if stage.must_switch(position) && is_diode_alone(device) {
                let at = self.tree.span(fitted.at);
                self.ledger.note("conflict", at, position, || {
                    let message = format!(
                        "`{}` is a diode alone, and `{position}` is a position that switches",
                        fitted.value
                    );
                    Problem::new("conflict", at, message, "cannot be switched")
                        .with_way_out("fit a device with a `transistor`")
                });
            }
        }
    }
}
