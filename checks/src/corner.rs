//! The corners of a duty point in words.

use loadworthy_unit::Lane;

/// Where a lane holds the rotor, in short: `u+` has the crest of the current leaving the bridge in phase u. Nothing where
/// the rotor turns.
#[must_use]
pub fn short(lane: Lane) -> Option<String> {
    Some(format!("{}{}", leg(lane)?, if lane.crest > 0 { '+' } else { '-' }))
}

/// The same in words.
#[must_use]
pub fn long(lane: Lane) -> Option<String> {
    let leg = leg(lane)?;
    let way = if lane.crest > 0 { "out of" } else { "into" };
    Some(format!("rotor held with the crest of the current {way} leg {leg}"))
}

fn leg(lane: Lane) -> Option<char> {
    match lane.crest.unsigned_abs() {
        1 => Some('u'),
        2 => Some('v'),
        3 => Some('w'),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use loadworthy_unit::DutyId;

    #[test]
    fn corners_have_short_and_long_names() {
        let lane = |crest| Lane { duty: DutyId::new(0), crest };
        assert_eq!(short(lane(0)), None);
        assert_eq!(short(lane(1)).as_deref(), Some("u+"));
        assert_eq!(short(lane(-3)).as_deref(), Some("w-"));
        assert!(long(lane(-2)).is_some_and(|text| text.ends_with("into leg v")));
        assert!(long(lane(1)).is_some_and(|text| text.ends_with("out of leg u")));
    }
}
