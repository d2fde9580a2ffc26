//! Parts that differ by their leg alone, drawn together: `drive_bridge.high_side.u, v, w.transistor`.

use std::collections::BTreeMap;

use loadworthy_unit::{PartId, Variant};

/// Where a part stands: what its path says before its leg, the leg, and what it says behind.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) struct Seat<'u> {
    pub(crate) before: &'u str,
    pub(crate) leg: &'u str,
    pub(crate) behind: &'u str,
}

/// The switch positions of a variant by their part.
pub(crate) struct Positions(BTreeMap<PartId, ()>);

impl Positions {
    pub(crate) fn of(variant: &Variant) -> Self {
        let positions = variant.plan.stages.iter().flat_map(|stage| &stage.positions);
        Self(positions.map(|position| (position.part, ())).collect())
    }

    /// Where a part stands; without a leg where it is no part of a switch position.
    pub(crate) fn seat<'u>(&self, variant: &'u Variant, part: PartId) -> Seat<'u> {
        let path = variant.path(part);
        let mut at = Some(part);
        while let Some(position) = at.filter(|position| !self.0.contains_key(position)) {
            at = variant.tables.part_of(position).of;
        }
        let own = at.map(|position| variant.path(position)).filter(|own| own.matches('.').count() >= 2);
        match own.and_then(|own| Some((own.rsplit_once('.')?, path.strip_prefix(own)?))) {
            Some(((before, leg), behind)) => Seat { before, leg, behind },
            None => Seat { before: path, leg: "", behind: "" },
        }
    }
}

/// Several legs of one seat as a path.
pub(crate) fn drawn(before: &str, legs: &[&str], behind: &str) -> String {
    match legs {
        [] | [""] => format!("{before}{behind}"),
        _ => format!("{before}.{}{behind}", legs.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::drawn;

    #[test]
    fn legs_share_a_path() {
        assert_eq!(
            drawn("drive_bridge.high_side", &["u", "v", "w"], ".transistor"),
            "drive_bridge.high_side.u, v, w.transistor"
        );
        assert_eq!(drawn("drive_bridge.high_side", &["u"], ""), "drive_bridge.high_side.u");
        assert_eq!(drawn("drive_bridge", &[""], ""), "drive_bridge");
        assert_eq!(drawn("pack", &[], ""), "pack");
    }
}
