//! Policy and permits.

use super::{Rules, Scope};
use crate::quantity::{Dimension, QuantityKind, shown};
use crate::sections::policy::{Permit, PolicyEntry};

impl Rules for PolicyEntry {
    fn check(&self, scope: &mut Scope<'_>) {
        if let (Some(share), Some(keep)) = (self.use_at_most, self.keep) {
            let (first, second) = (("use_at_most", share.at), ("keep", keep.at));
            scope.only_one(first, second, "one policy item leaves one distance to the limit");
        }
        if let Some(share) = &self.use_at_most
            && 1.0 < share.value()
        {
            let message =
                || format!("`use_at_most` of {} allows more than the limit", percent(share.value()));
            scope.refuse(share.at, message, "above 100 %", Some("write a share of at most `100 %`"));
        }
    }
}

impl Rules for Permit {
    fn check(&self, scope: &mut Scope<'_>) {
        if let Some(up_to) = &self.up_to
            && !is_figure(&up_to.value)
        {
            let message = || {
                format!(
                    "`up_to` expects a share of the limit or a figure in its unit, found {}",
                    shown(&up_to.value)
                )
            };
            scope.refuse(up_to.at, message, "not a figure", Some("write e.g. `94 %`"));
        }
    }
}

fn is_figure(text: &str) -> bool {
    [QuantityKind::Margin, QuantityKind::Plain(Dimension::Temperature)]
        .iter()
        .any(|kind| kind.read(text).is_ok())
}

/// A share in per cent, without digits that nobody wrote.
fn percent(share: f64) -> String {
    format!("{} %", (share * 1e4).round() / 1e2)
}
