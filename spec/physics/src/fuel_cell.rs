//! Voltage of a fuel-cell stack from its stated polarisation curve.

use crate::{Current, Voltage};

/// The two stated points between which a current lies.
fn around(curve: &[(Current, Voltage)], current: Current) -> Option<[(Current, Voltage); 2]> {
    let rising = curve.windows(2).all(|pair| matches!(pair, [one, other] if one.0 < other.0));
    if !rising {
        return None;
    }
    curve.windows(2).find_map(|pair| match *pair {
        [one, other] if one.0 <= current && current <= other.0 => Some([one, other]),
        _ => None,
    })
}

/// Voltage of a stack at a current, on straight lines between the points of its curve.
///
/// `curve` has rising currents. Outside its ends, with fewer than two points or with a missing figure it is not a
/// number.
///
/// `V = V_a + (V_b − V_a)·(I − I_a)/(I_b − I_a)`. Valid: between the first and the last stated current, at the stated
/// operating condition; steady. Source: linear interpolation of the stated curve.
pub fn voltage(curve: &[(Current, Voltage)], current: Current) -> Voltage {
    around(curve, current).map_or(Voltage::new(f64::NAN), |[one, other]| {
        let risen = (other.1 - one.1).si() * (current - one.0).si() / (other.0 - one.0).si();
        one.1 + Voltage::new(risen)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_are_met_and_ends_are_ends() {
        let curve =
            [(0.0, 400.0), (50.0, 340.0), (300.0, 260.0)].map(|(i, v)| (Current::new(i), Voltage::new(v)));
        for (current, volts) in curve {
            assert_eq!(voltage(&curve, current), volts);
        }
        assert_eq!(voltage(&curve, Current::new(175.0)), Voltage::new(300.0));
        for outside in [-1.0, 301.0, f64::NAN] {
            assert!(voltage(&curve, Current::new(outside)).si().is_nan());
        }
        assert!(voltage(&curve[..1], Current::ZERO).si().is_nan());
    }
}
