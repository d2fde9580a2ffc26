//! Policy and permits.

use super::{Rules, Scope};
use crate::quantity::{Dimension, QuantityKind, shown};
use crate::sections::policy::{Permit, PolicyEntry};

/// Characters of a day: `2027-03-31`.
const LONGEST_DATE: usize = 10;

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
        if !is_date(&self.until.value) {
            let message =
                || format!("`until` expects a day of the calendar, found {}", shown(&self.until.value));
            scope.refuse(
                self.until.at,
                message,
                "not a day",
                Some("write year, month and day: `2027-03-31`"),
            );
        }
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

/// Whether a text is a day of the Gregorian calendar as in ISO 8601: `2027-03-31`.
fn is_date(text: &str) -> bool {
    // Other ways to write a day, with a time or without its dashes, are other lengths.
    text.len() == LONGEST_DATE && text.parse::<jiff::civil::Date>().is_ok()
}

/// A share in per cent, without digits that nobody wrote.
fn percent(share: f64) -> String {
    format!("{} %", (share * 1e4).round() / 1e2)
}

#[cfg(test)]
mod tests {
    use super::is_date;

    #[test]
    fn days_of_the_calendar() {
        for good in ["2027-03-31", "2028-02-29", "2000-02-29", "2026-12-01"] {
            assert!(is_date(good), "{good}");
        }
        for bad in [
            "2027-02-29",
            "2100-02-29",
            "2027-13-01",
            "2027-00-10",
            "2027-04-31",
            "2027-4-3",
            "31.03.2027",
            "",
            "2027-03-3x",
        ] {
            assert!(!is_date(bad), "{bad}");
        }
    }
}
