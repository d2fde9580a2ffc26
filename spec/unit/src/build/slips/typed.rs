//! What may have been meant where a number was typed wrongly, and round numbers beside one.

/// The numbers that come of one key too much, too few or too early: ten times as much, a tenth, and two digits that stand beside one
/// another exchanged. What is common comes first.
pub(super) fn mistyped(number: f64) -> Vec<f64> {
    let text = format!("{number}");
    let swapped = (1..text.len()).filter_map(|place| {
        let mut digits: Vec<char> = text.chars().collect();
        digits.swap(place - 1, place);
        let is_number = digits[place - 1].is_ascii_digit() && digits[place].is_ascii_digit();
        digits.into_iter().collect::<String>().parse().ok().filter(|_| is_number)
    });
    [number / 10.0, number * 10.0].map(four_digits).into_iter().chain(swapped).collect()
}

/// The least number of two digits that is no less than another one.
pub(super) fn two_digits_above(number: f64) -> f64 {
    four_digits((number / step(number)).ceil() * step(number))
}

/// The greatest number of two digits that is no more than another one.
pub(super) fn two_digits_below(number: f64) -> f64 {
    four_digits((number / step(number)).floor() * step(number))
}

/// What the second digit of a number counts.
fn step(number: f64) -> f64 {
    let exponent =
        format!("{number:e}").split_once('e').and_then(|(_, exponent)| exponent.parse::<i32>().ok());
    exponent.and_then(|exponent| format!("1e{}", exponent - 1).parse().ok()).unwrap_or(f64::NAN)
}

/// A number as a person would write it: without what binary fractions leave in its last digits.
fn four_digits(number: f64) -> f64 {
    format!("{number:.3e}").parse().unwrap_or(number)
}

/// A voltage as it would be written.
pub(super) fn written(volts: f64) -> String {
    format!("{volts} V")
}

#[cfg(test)]
mod tests {
    use super::{mistyped, two_digits_above, two_digits_below, written};

    #[test]
    fn slips_of_a_finger_are_tenfold_and_neighbours_exchanged() {
        let told = |number: f64| mistyped(number).into_iter().map(written).collect::<Vec<_>>();
        assert_eq!(told(860.0), ["86 V", "8600 V", "680 V", "806 V"]);
        assert_eq!(told(34.6), ["3.46 V", "346 V", "43.6 V"]);
    }

    #[test]
    fn round_numbers_beside_one_have_two_digits() {
        let told = |number: f64| [two_digits_below(number), two_digits_above(number)].map(written);
        assert_eq!(told(690.2), ["690 V", "700 V"]);
        assert_eq!(told(14.28), ["14 V", "15 V"]);
        assert_eq!(told(3.333), ["3.3 V", "3.4 V"]);
        assert_eq!(told(400.0), ["400 V", "400 V"]);
    }
}
