//! What a permit says, and how it stands to a finding.

use loadworthy_checks::list::by_name;
use loadworthy_checks::review::{Finding, kind_word};
use loadworthy_source::Located;
use loadworthy_unit::Permit;

use crate::described::Described;
use crate::permits::{Day, DayFrom};
use crate::show::layout::{counted, free_text};

/// Days before its end from which a permit is said to end soon.
const SOON: i32 = 30;

/// What is said where nothing is held against permits.
pub(crate) const NOT_HELD: &str = "Permits do not matter here; `review` says what they accept.";

/// The permit that a finding is on record with, and the word for how it stands to it.
pub(crate) fn of<'d>(described: &'d Described, finding: &Finding) -> Option<(&'d Permit, &'static str)> {
    let of = finding.permit?;
    Some((described.unit.permits.get(of.permit)?, of.standing.word()))
}

/// Others that accept a finding together with the permit that it is on record with.
pub(crate) fn beside<'d>(described: &'d Described, finding: &Finding) -> impl Iterator<Item = &'d Permit> {
    finding.permits_beside.iter().filter_map(|&place| described.unit.permits.get(place))
}

/// The day that the permits of a review are held against, and where it comes from.
pub(crate) fn held_against(day: Day) -> String {
    match day.from {
        DayFrom::Asked => format!("held against {}, as asked by --on", day.date),
        DayFrom::Clock => format!("held against {}, the day of the system clock in UTC", day.date),
    }
}

/// By whom and how long something is accepted, in a few words.
pub(crate) fn in_short(permit: &Permit) -> String {
    format!("accepted by {} until {}", free_text(&permit.accepted_by), permit.until)
}

/// The parts that alone are accepted, where the permit names them.
pub(crate) fn only(permit: &Permit) -> Option<String> {
    let names = |one: &Located<String>| free_text(&one.value);
    let only = permit.only.as_ref()?;
    Some(format!("only {}", only.value.iter().map(names).collect::<Vec<_>>().join(", ")))
}

/// The kind of insulation that is accepted, where the permit says so.
pub(crate) fn kind(permit: &Permit) -> Option<String> {
    permit.kind.as_ref().map(|kind| format!("as {}", kind_word(kind.value)))
}

/// The bound of a permit in words: of a distance or another figure that is asked for, what the part has at least. Where no
/// finding says which defect it is, and the permit does not either, the word leaves that open.
fn bound(permit: &Permit, defect: Option<&str>) -> String {
    let Some(up_to) = &permit.up_to else { return String::new() };
    // A share bounds both sides of a comparison.
    let check = by_name(&permit.check.value).filter(|_| up_to.share().is_none());
    let asks = |defect: &str| check.is_some_and(|check| check.asks_at_least(defect));
    let word = match defect.or(permit.defect.as_ref().map(|defect| defect.value.as_str())) {
        Some(defect) if asks(defect) => "at least",
        None if check.is_some_and(|check| check.about().defects.iter().any(|(one, _)| asks(one))) => {
            "as far as"
        }
        _ => "up to",
    };
    format!("{word} {} ", up_to.written)
}

/// Up to which figure, or from which on, by whom and how long something is accepted; `defect` is that of the finding, where one
/// is at hand.
pub(crate) fn terms(permit: &Permit, defect: Option<&str>, day: Option<Day>) -> String {
    let mut text = bound(permit, defect);
    for bound in [only(permit), kind(permit)].into_iter().flatten() {
        text.push_str(&format!("{bound} "));
    }
    text.push_str(&format!("by {} until {}", free_text(&permit.accepted_by), permit.until));
    let left = day.and_then(|day| day.date.until(permit.until).ok()).map(|span| span.get_days());
    match left {
        Some(0) => text.push_str(", its last day"),
        Some(left @ 1..=SOON) => {
            let days = counted(usize::try_from(left).unwrap_or_default(), "day", "days");
            text.push_str(&format!(", which ends in {days}"));
        }
        _ => {}
    }
    text
}
