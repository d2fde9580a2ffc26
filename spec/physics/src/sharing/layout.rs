//! Sharing that the layout decides: where the rails are fed, and what the inductances do first.

use crate::{Inductance, Law, Resistance, Time};

/// Law of [`rail_shares`].
pub static RAIL_SHARES: Law = Law {
    name: "shares of branches on two rails fed at one end",
    formula: "u_k = u_{k+1} + R_s·Σ_{j>k} i_j, i_k = u_k/r",
    validity: "equal branches, equal segments (both rails together); first order (R_s/r)·(n − 1)·(2·n − 1)/6 at the nearest",
    source: "node equations, solved from the far end",
};

/// Law of [`inductive_share`].
pub static INDUCTIVE_SHARE: Law = Law {
    name: "share of a branch after a step of current",
    formula: "x(t) = r_2/(r_1 + r_2) + (L_2/(L_1 + L_2) − r_2/(r_1 + r_2))·e^(−t/τ), τ = (L_1 + L_2)/(r_1 + r_2)",
    validity: "two branches without coupling; with coupling M put L − M for L",
    source: "first-order linear circuit",
};

/// Shares of equal branches on two rails that are fed at the same end; fills `shares`, the nearest branch
/// first.
///
/// `branch` is one branch's resistance, `segment` that of one piece of both rails. The shares add up to 1.
/// See [`RAIL_SHARES`].
pub fn rail_shares(branch: Resistance, segment: Resistance, shares: &mut [f64]) {
    let step = segment / branch;
    // The farthest branch carries one; each nearer one sees the drop of all that passes it.
    let (mut voltage, mut passed) = (1.0, 0.0);
    for share in shares.iter_mut().rev() {
        voltage += step * passed;
        *share = voltage;
        passed += voltage;
    }
    for share in shares.iter_mut() {
        *share /= passed;
    }
}

/// Share of the first of two branches, a time after the current has stepped up. See [`INDUCTIVE_SHARE`].
#[inline]
pub fn inductive_share(one: (Resistance, Inductance), other: (Resistance, Inductance), after: Time) -> f64 {
    let at_once = other.1 / (one.1 + other.1);
    let in_the_end = other.0 / (one.0 + other.0);
    let settling = (one.1 + other.1).si() / (one.0 + other.0).si();
    in_the_end + (at_once - in_the_end) * libm::exp(-after.si() / settling)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_branch_carries_the_first_order_excess() {
        let mut shares = [0.0; 4];
        rail_shares(Resistance::new(2e-3), Resistance::new(1e-6), &mut shares);
        assert!((shares.iter().sum::<f64>() - 1.0).abs() < 1e-14);
        assert!((shares[0] * 4.0 - 1.0 - 3.5 * 5e-4).abs() < 1e-5);
        rail_shares(Resistance::new(2e-3), Resistance::ZERO, &mut shares);
        assert!(shares.iter().all(|share| (share - 0.25).abs() < 1e-15));
        rail_shares(Resistance::new(f64::NAN), Resistance::ZERO, &mut shares);
        assert!(shares[0].is_nan());
    }

    #[test]
    fn inductance_decides_at_once_and_resistance_in_the_end() {
        let one = (Resistance::new(2e-3), Inductance::new(20e-9));
        let other = (Resistance::new(1e-3), Inductance::new(60e-9));
        assert!((inductive_share(one, other, Time::ZERO) - 0.75).abs() < 1e-15);
        assert!((inductive_share(one, other, Time::new(1.0)) - 1.0 / 3.0).abs() < 1e-12);
    }
}
