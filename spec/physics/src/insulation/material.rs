//! How well a material stands a creeping current on its surface.

use crate::{OutOfRange, Voltage};

/// Material group by comparative tracking index (CTI).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum MaterialGroup {
    /// CTI from 600.
    I,
    /// CTI from 400.
    II,
    /// CTI from 175, such as most boards of glass and epoxy.
    IIIa,
    /// CTI from 100.
    IIIb,
}

/// Material group by comparative tracking index, which is a voltage.
///
/// `I from a comparative tracking index of 600, II from 400, IIIa from 175, IIIb from 100`. Valid: index by IEC 60112;
/// below 100 a material has no group. Source: IEC 60664-1, material groups.
///
/// # Errors
/// The index is missing or below 100 V.
pub fn material_group(tracking_index: Voltage) -> Result<MaterialGroup, OutOfRange> {
    let volts = tracking_index.si();
    OutOfRange::check("comparative tracking index", volts, 100.0, f64::INFINITY, "V")?;
    Ok(match volts {
        _ if volts >= 600.0 => MaterialGroup::I,
        _ if volts >= 400.0 => MaterialGroup::II,
        _ if volts >= 175.0 => MaterialGroup::IIIa,
        _ => MaterialGroup::IIIb,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_group_begins_with_its_index() {
        let of = |volts| material_group(Voltage::new(volts)).ok();
        let at = [600.0, 599.0, 400.0, 399.0, 175.0, 174.0, 100.0].map(of);
        use MaterialGroup::{I, II, IIIa, IIIb};
        assert_eq!(at, [I, II, II, IIIa, IIIa, IIIb, IIIb].map(Some));
        assert_eq!(of(99.0), None);
        assert_eq!(of(f64::NAN), None);
    }
}
