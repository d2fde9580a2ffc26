//! Values on the command line that are more than a word.

use jiff::civil::Date;

pub(super) fn override_of(text: &str) -> Result<(String, String), &'static str> {
    match text.split_once('=') {
        Some((path, value)) if !path.is_empty() => Ok((path.to_owned(), value.to_owned())),
        _ => Err("write the path of a value, `=`, and the value to try"),
    }
}

pub(super) fn day_of(text: &str) -> Result<Date, &'static str> {
    // The only form of a day that permits know as well.
    let is_plain = text.len() == "2027-03-31".len();
    text.parse().ok().filter(|_| is_plain).ok_or("write year, month and day of the calendar: 2027-03-31")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_to_try_has_a_path() {
        assert_eq!(override_of("a.b=6 kHz"), Ok(("a.b".to_owned(), "6 kHz".to_owned())));
        assert_eq!(override_of("a.b=c=d"), Ok(("a.b".to_owned(), "c=d".to_owned())));
        assert!(override_of("=6").is_err() && override_of("a.b").is_err());
    }

    #[test]
    fn a_day_is_one_of_the_calendar() {
        assert_eq!(day_of("2028-02-29"), Ok(jiff::civil::date(2028, 2, 29)));
        for bad in ["2027-02-29", "20270331", "2027-03-31T12:00", "31.03.2027", "today", ""] {
            assert!(day_of(bad).is_err(), "{bad}");
        }
    }
}
