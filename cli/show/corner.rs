//! The corners of a duty point in words.

use loadworthy_unit::Lane;

/// Where a lane holds the rotor, in short: `u+` has the crest of the current leaving the bridge in phase u. Nothing where
/// the rotor turns.
pub(crate) fn short(lane: Lane) -> Option<String> {
    let phase = match lane.crest.unsigned_abs() {
        1 => 'u',
        2 => 'v',
        3 => 'w',
        _ => return None,
    };
    Some(format!("{phase}{}", if lane.crest > 0 { '+' } else { '-' }))
}

/// The same in words.
pub(crate) fn long(lane: Lane) -> Option<String> {
    let short = short(lane)?;
    let phase = short.chars().next()?;
    let way = if lane.crest > 0 { "leaving the bridge" } else { "entering the bridge" };
    Some(format!("rotor held with the crest of the current {way} in phase {phase}"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use loadworthy_unit::DutyId;

    #[test]
    fn corners_have_short_names() {
        let lane = |crest| Lane { duty: DutyId::new(0), crest };
        assert_eq!(short(lane(0)), None);
        assert_eq!(short(lane(1)).as_deref(), Some("u+"));
        assert_eq!(short(lane(-3)).as_deref(), Some("w-"));
        assert!(long(lane(-2)).is_some_and(|text| text.contains("entering the bridge in phase v")));
    }
}
