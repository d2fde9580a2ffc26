//! Days of the calendar.

use loadworthy_source::{NodeId, Problem, Scalar};

use super::messages::told;
use super::{Subject, Walker};
use crate::quantity::shown;

/// Characters of a day: `2027-03-31`.
const LENGTH: usize = 10;

/// Whether a text is a day of the Gregorian calendar as in ISO 8601: `2027-03-31`.
pub(super) fn is_day(text: &str) -> bool {
    // Other ways to write a day, with a time or without its dashes, are other lengths.
    text.len() == LENGTH && text.parse::<jiff::civil::Date>().is_ok()
}

/// Whether a text is written like a day.
fn looks_like_one(text: &str) -> bool {
    let is_it = |(place, byte): (usize, u8)| {
        if [4, 7].contains(&place) { byte == b'-' } else { byte.is_ascii_digit() }
    };
    text.len() == LENGTH && text.bytes().enumerate().all(is_it)
}

/// The day that was meant where its dashes are left out, or others stand in their place.
fn meant(text: &str) -> Option<String> {
    let parts: Vec<&str> = text.split(['-', '/', '.', ' ']).collect();
    let whole = |digits: &str| digits.bytes().all(|byte| byte.is_ascii_digit());
    let day = match parts.as_slice() {
        [all] if all.len() == 8 && whole(all) => format!("{}-{}-{}", &all[..4], &all[4..6], &all[6..]),
        // A day or a month first cannot be told apart.
        [year, month, day] if year.len() == 4 => format!("{year}-{month:0>2}-{day:0>2}"),
        _ => return None,
    };
    is_day(&day).then_some(day)
}

impl Walker<'_> {
    pub(super) fn no_day(&mut self, scalar: Scalar<'_>, node: NodeId, subject: Subject) {
        let (tree, at) = (self.tree, self.tree.span(node));
        // What looks like a day and is none of the calendar no schema refuses.
        let kind = if looks_like_one(scalar.text) { "bad-value" } else { "wrong-type" };
        self.ledger.note(kind, at, "", || {
            let found = shown(scalar.text);
            let message = format!("{} expects a day of the calendar, found {found}", told(tree, subject));
            let problem = Problem::new(kind, at, message, "not a day".to_owned());
            problem.with_way_out(match meant(scalar.text) {
                Some(day) => format!("write `{day}`"),
                None => "write year, month and day: `2027-03-31`".to_owned(),
            })
        });
    }
}

#[cfg(test)]
mod tests {
    use super::{is_day, meant};

    #[test]
    fn days_of_the_calendar() {
        for good in ["2027-03-31", "2028-02-29", "2000-02-29", "2026-12-01"] {
            assert!(is_day(good), "{good}");
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
            assert!(!is_day(bad), "{bad}");
        }
    }

    #[test]
    fn a_day_without_its_dashes_is_told() {
        assert_eq!(meant("20270101").as_deref(), Some("2027-01-01"));
        assert_eq!(meant("2027/1/9").as_deref(), Some("2027-01-09"));
        for other in ["01.02.2027", "20271301", "2027", "next spring"] {
            assert_eq!(meant(other), None, "{other}");
        }
    }
}
