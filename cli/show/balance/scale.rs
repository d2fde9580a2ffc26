//! Units and digits of the amounts of a balance: one unit for a column, and so many digits that what is printed adds up.

/// Share of the whole that the rounding of all terms together may come to.
const ROUNDED: f64 = 5e-4;

/// How the amounts of a column are written.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Scale {
    pub(super) unit: &'static str,
    factor: f64,
    decimals: usize,
}

impl Scale {
    /// For so many powers that come to a total.
    pub(super) fn of_powers(total: f64, terms: usize) -> Self {
        let (unit, factor) = if total >= 10e6 {
            ("MW", 1e6)
        } else if total >= 100.0 {
            ("kW", 1e3)
        } else {
            ("W", 1.0)
        };
        Self { unit, factor, decimals: decimals(total / factor, terms) }
    }

    /// For so many losses that come to a total; they are told apart in the small unit.
    pub(super) fn of_losses(total: f64, terms: usize) -> Self {
        let (unit, factor) = if total >= 1e6 { ("kW", 1e3) } else { ("W", 1.0) };
        Self { unit, factor, decimals: decimals(total / factor, terms) }
    }

    /// An amount without its unit.
    pub(super) fn number(self, value: f64) -> String {
        let text = format!("{:.*}", self.decimals, value / self.factor);
        // Nothing is not less than nothing.
        if text.starts_with('-') && text.chars().all(|c| matches!(c, '-' | '0' | '.')) {
            text[1..].to_owned()
        } else {
            text
        }
    }

    /// An amount with its unit.
    pub(super) fn text(self, value: f64) -> String {
        format!("{} {}", self.number(value), self.unit)
    }
}

/// Decimals with which rounding every term changes their sum by no more than a small share of it.
fn decimals(total: f64, terms: usize) -> usize {
    const MOST: usize = 6;
    let coarsest = 2.0 * ROUNDED * total.abs() / terms.max(1) as f64;
    let mut step = 1.0;
    for decimals in 0..MOST {
        if step <= coarsest {
            return decimals;
        }
        step *= 0.1;
    }
    // Where there is nothing, digits tell nothing.
    if total.abs() > 0.0 { MOST } else { 0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn printed_terms_add_up() {
        for (total, terms) in [(63_412.0, 12), (1_204.3, 5), (0.8, 3), (40e6, 2000), (5e8, 4)] {
            let scale = Scale::of_powers(total, terms);
            let term = total / terms as f64 * 1.000_123;
            let printed: f64 = scale.number(term).parse().unwrap();
            let off = (printed * scale.factor - term).abs() * terms as f64;
            assert!(off <= ROUNDED * total * 1.01, "{total} of {terms}: {off}");
        }
    }

    #[test]
    fn nothing_has_no_sign_and_no_needless_digits() {
        assert_eq!(Scale::of_powers(0.0, 4).text(0.0), "0 W");
        assert_eq!(Scale::of_powers(63_412.0, 6).text(-1.0), "0.00 kW");
        assert_eq!(Scale::of_losses(2_013.0, 6).text(845.21), "845.2 W");
    }
}
