//! Units as a person writes them: `kV`, `µH`, `K cm^2/W`, `A²s`, `1/min`.

use super::decimal::Factor;
use super::dimension::Exponents;

/// What a unit expression means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Unit {
    pub(super) exponents: Exponents,
    pub(super) factor: Factor,
    /// `degC` and nothing else: a place on the scale.
    pub(super) celsius: bool,
    /// Whether a force is named in it, which tells a torque from an energy.
    pub(super) force: bool,
}

/// Why a unit expression is refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum UnitFault {
    /// This symbol is no unit.
    Unknown(String),
    /// `degC` inside an expression, where only differences make sense.
    CelsiusInside,
    /// More than one factor after the slash, without parentheses.
    Ambiguous,
    /// Not an expression at all.
    Malformed,
}

impl Unit {
    pub(super) const ONE: Self =
        Self { exponents: [0; 6], factor: Factor::ONE, celsius: false, force: false };

    fn times(self, other: Self, power: i32) -> Result<Self, UnitFault> {
        let mut exponents = self.exponents;
        for (mine, its) in exponents.iter_mut().zip(other.exponents) {
            let sum = i32::from(*mine) + i32::from(its) * power;
            *mine = i8::try_from(sum).map_err(|_| UnitFault::Malformed)?;
        }
        let factor = self.factor.times(other.factor, power).ok_or(UnitFault::Malformed)?;
        Ok(Self { exponents, factor, celsius: false, force: self.force || other.force })
    }
}

/// A symbol, its exponents, its factor, and whether a prefix may stand before it.
type Symbol = (&'static str, Exponents, u64, i32, bool);

const SYMBOLS: &[Symbol] = &[
    ("V", [2, 1, -3, -1, 0, 0], 1, 0, true),
    ("A", [0, 0, 0, 1, 0, 0], 1, 0, true),
    ("W", [2, 1, -3, 0, 0, 0], 1, 0, true),
    ("J", [2, 1, -2, 0, 0, 0], 1, 0, true),
    ("Ω", [2, 1, -3, -2, 0, 0], 1, 0, true),
    ("ohm", [2, 1, -3, -2, 0, 0], 1, 0, true),
    ("Ohm", [2, 1, -3, -2, 0, 0], 1, 0, true),
    ("H", [2, 1, -2, -2, 0, 0], 1, 0, true),
    ("F", [-2, -1, 4, 2, 0, 0], 1, 0, true),
    ("S", [-2, -1, 3, 2, 0, 0], 1, 0, true),
    ("C", [0, 0, 1, 1, 0, 0], 1, 0, true),
    ("T", [0, 1, -2, -1, 0, 0], 1, 0, true),
    ("Wb", [2, 1, -2, -1, 0, 0], 1, 0, true),
    ("Hz", [0, 0, -1, 0, 0, 1], 1, 0, true),
    ("s", [0, 0, 1, 0, 0, 0], 1, 0, true),
    ("min", [0, 0, 1, 0, 0, 0], 60, 0, false),
    ("h", [0, 0, 1, 0, 0, 0], 3600, 0, false),
    ("m", [1, 0, 0, 0, 0, 0], 1, 0, true),
    ("g", [0, 1, 0, 0, 0, 0], 1, -3, true),
    ("N", [1, 1, -2, 0, 0, 0], 1, 0, true),
    ("Pa", [-1, 1, -2, 0, 0, 0], 1, 0, true),
    ("bar", [-1, 1, -2, 0, 0, 0], 1, 5, true),
    ("L", [3, 0, 0, 0, 0, 0], 1, -3, true),
    ("l", [3, 0, 0, 0, 0, 0], 1, -3, true),
    ("K", [0, 0, 0, 0, 1, 0], 1, 0, true),
    ("%", [0, 0, 0, 0, 0, 0], 1, -2, false),
    // Written as one word throughout the trade.
    ("Wh", [2, 1, -2, 0, 0, 0], 3600, 0, true),
    ("Ah", [0, 0, 1, 1, 0, 0], 3600, 0, true),
    ("Nm", [2, 1, -2, 0, 0, 0], 1, 0, true),
    ("Vs", [2, 1, -2, -1, 0, 0], 1, 0, true),
];

/// Symbols that name a force.
const FORCES: &[&str] = &["N", "Nm"];

/// Units of angle, as parts of a turn.
const TURNS: &[(&str, Factor)] = &[
    ("deg", Factor { numerator: 1, denominator: 360, exponent: 0 }),
    ("°", Factor { numerator: 1, denominator: 360, exponent: 0 }),
    // 1/(2π) to the last digit that a double holds.
    ("rad", Factor { numerator: 1_000_000_000_000_000, denominator: 6_283_185_307_179_586, exponent: 0 }),
];

const PREFIXES: &[(&str, i32)] = &[
    ("T", 12),
    ("G", 9),
    ("M", 6),
    ("k", 3),
    ("h", 2),
    ("d", -1),
    ("c", -2),
    ("m", -3),
    ("u", -6),
    ("µ", -6),
    ("n", -9),
    ("p", -12),
    ("f", -15),
];

/// Words that people write for units, and the symbol.
const SPELLINGS: &[(&str, &str)] = &[
    ("celsius", "degC"),
    ("degree", "deg"),
    ("degrees", "deg"),
    ("degc", "degC"),
    ("volt", "V"),
    ("volts", "V"),
    ("amp", "A"),
    ("amps", "A"),
    ("ampere", "A"),
    ("amperes", "A"),
    ("watt", "W"),
    ("watts", "W"),
    ("ohms", "ohm"),
    ("joule", "J"),
    ("hertz", "Hz"),
    ("kelvin", "K"),
    ("sec", "s"),
    ("secs", "s"),
    ("second", "s"),
    ("seconds", "s"),
    ("msec", "ms"),
    ("usec", "us"),
    ("nsec", "ns"),
    ("minute", "min"),
    ("minutes", "min"),
    ("mins", "min"),
    ("hour", "h"),
    ("hours", "h"),
    ("hr", "h"),
    ("rpm", "1/min"),
    ("lpm", "L/min"),
    ("percent", "%"),
    ("pct", "%"),
    ("meter", "m"),
    ("metre", "m"),
    ("liter", "L"),
    ("litre", "L"),
];

/// One spelling for look-alike characters: micro sign, ohm, kelvin, degree, dots and spaces.
pub(super) fn one_spelling(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\u{3BC}' => out.push('\u{B5}'),
            '\u{2126}' => out.push('\u{3A9}'),
            '\u{212A}' => out.push('K'),
            '\u{2103}' => out.push_str("°C"),
            '\u{BA}' => out.push('°'),
            '\u{B7}' | '\u{22C5}' | '*' => out.push('·'),
            '\u{A0}' | '\u{2009}' | '\u{202F}' | '\t' => out.push(' '),
            _ => out.push(c),
        }
    }
    out
}

/// Reads a unit expression in its one spelling.
pub(super) fn read(text: &str) -> Result<Unit, UnitFault> {
    if matches!(text, "degC" | "°C") {
        return Ok(Unit { exponents: [0, 0, 0, 0, 1, 0], celsius: true, ..Unit::ONE });
    }
    let mut reader = Reader { rest: text.trim() };
    let unit = reader.quotient()?;
    if reader.rest.is_empty() { Ok(unit) } else { Err(UnitFault::Malformed) }
}

/// The prefix of an ampere that is squared with it. Data sheets of fuses and thyristors write `48 kA²s` for thousands of
/// A²s, while by the rules of the SI it is a thousand times as much; nobody can tell which was meant.
pub(super) fn squared_prefix(text: &str) -> Option<&str> {
    let ampere = text.find("A^2").or_else(|| text.find("A\u{B2}"))?;
    let before = text.get(..ampere)?;
    let start = before.char_indices().rev().take_while(|(_, c)| c.is_alphabetic()).last()?.0;
    before.get(start..).filter(|prefix| power_of_ten(prefix).is_some())
}

/// The power of ten of a prefix.
pub(super) fn power_of_ten(prefix: &str) -> Option<i32> {
    PREFIXES.iter().find(|(known, _)| *known == prefix).map(|(_, power)| *power)
}

/// The unit that a person may have meant by an unknown symbol.
pub(super) fn meant(unknown: &str) -> Option<String> {
    let lower = unknown.to_lowercase();
    if let Some((_, symbol)) = SPELLINGS.iter().find(|(word, _)| *word == lower) {
        return Some((*symbol).to_owned());
    }
    let same = |candidate: &str| candidate.to_lowercase() == lower;
    if let Some((symbol, ..)) = SYMBOLS.iter().find(|(symbol, ..)| same(symbol)) {
        return Some((*symbol).to_owned());
    }
    // `Khz`, `KW`, `KOHM`: the large and small letters are wrong. `m` and `M` are never exchanged, and where all
    // letters are large nobody knows which of them an `M` is.
    let is_capital = unknown.chars().all(|c| !c.is_lowercase());
    let mut prefixed = PREFIXES.iter().flat_map(|(prefix, _)| {
        let symbols = SYMBOLS.iter().filter(|(.., may)| *may);
        symbols.map(move |(symbol, ..)| (*prefix, format!("{prefix}{symbol}")))
    });
    prefixed
        .find(|(prefix, whole)| same(whole) && (unknown.starts_with(prefix) || *prefix == "k"))
        .filter(|(prefix, _)| !(is_capital && *prefix == "M"))
        .map(|(_, whole)| whole)
}

struct Reader<'t> {
    rest: &'t str,
}

impl Reader<'_> {
    fn quotient(&mut self) -> Result<Unit, UnitFault> {
        let above = self.product()?;
        if !self.take('/') {
            return Ok(above);
        }
        let below = self.power()?;
        let unit = above.times(below, -1)?;
        self.skip_spaces();
        match self.rest.chars().next() {
            None | Some(')') => Ok(unit),
            // `W/m K` is read both ways by different people.
            Some(_) => Err(UnitFault::Ambiguous),
        }
    }

    fn product(&mut self) -> Result<Unit, UnitFault> {
        let mut unit = self.power()?;
        loop {
            self.skip_spaces();
            let dot = self.take('·');
            self.skip_spaces();
            let more = self.rest.chars().next().is_some_and(|c| c != '/' && c != ')');
            if more {
                unit = unit.times(self.power()?, 1)?;
            } else if dot {
                return Err(UnitFault::Malformed);
            } else {
                return Ok(unit);
            }
        }
    }

    fn power(&mut self) -> Result<Unit, UnitFault> {
        self.skip_spaces();
        let base = self.factor()?;
        match self.exponent()? {
            Some(power) => Unit::ONE.times(base, power),
            None => Ok(base),
        }
    }

    fn factor(&mut self) -> Result<Unit, UnitFault> {
        if self.take('(') {
            let unit = self.product()?;
            return if self.take(')') { Ok(unit) } else { Err(UnitFault::Malformed) };
        }
        if let Some(rest) = self.rest.strip_prefix('1').filter(|rest| rest.trim_start().starts_with('/')) {
            self.rest = rest;
            return Ok(Unit::ONE);
        }
        if let Some(rest) = self.rest.strip_prefix('%') {
            self.rest = rest;
            return symbol("%").ok_or(UnitFault::Malformed);
        }
        let letters = |c: char| c.is_alphabetic() || c == '°';
        let end = self.rest.find(|c| !letters(c)).unwrap_or(self.rest.len());
        let (word, rest) = self.rest.split_at(end);
        self.rest = rest;
        match word {
            "" => Err(UnitFault::Malformed),
            "degC" | "°C" => Err(UnitFault::CelsiusInside),
            _ => symbol(word).ok_or_else(|| UnitFault::Unknown(word.to_owned())),
        }
    }

    /// `^2`, `^-1`, `²`, `⁻¹`.
    fn exponent(&mut self) -> Result<Option<i32>, UnitFault> {
        let superscript = |c: char| match c {
            '¹' => Some(1),
            '²' => Some(2),
            '³' => Some(3),
            _ => None,
        };
        if let Some(rest) = self.rest.strip_prefix('^') {
            let (sign, rest) = rest.strip_prefix('-').map_or((1, rest), |rest| (-1, rest));
            let digit = rest.chars().next().and_then(|c| c.to_digit(10));
            let digit = digit.filter(|d| (1..=4).contains(d)).ok_or(UnitFault::Malformed)?;
            self.rest = &rest[1..];
            return Ok(Some(sign * i32::try_from(digit).unwrap_or(1)));
        }
        let (sign, rest) = self.rest.strip_prefix('⁻').map_or((1, self.rest), |rest| (-1, rest));
        match rest.chars().next().and_then(|c| superscript(c).map(|power| (c, power))) {
            Some((c, power)) => {
                self.rest = &rest[c.len_utf8()..];
                Ok(Some(sign * power))
            }
            None if sign < 0 => Err(UnitFault::Malformed),
            None => Ok(None),
        }
    }

    fn take(&mut self, c: char) -> bool {
        self.skip_spaces();
        let rest = self.rest.strip_prefix(c);
        self.rest = rest.unwrap_or(self.rest);
        rest.is_some()
    }

    fn skip_spaces(&mut self) {
        self.rest = self.rest.trim_start_matches(' ');
    }
}

/// A symbol, or a prefix and a symbol. Whole symbols come first: `min` is no milli-inch.
fn symbol(word: &str) -> Option<Unit> {
    if let Some((_, factor)) = TURNS.iter().find(|(symbol, _)| *symbol == word) {
        return Some(Unit { exponents: [0, 0, 0, 0, 0, 1], factor: *factor, ..Unit::ONE });
    }
    let unit = |(name, exponents, numerator, exponent, _): &Symbol, more: i32| Unit {
        exponents: *exponents,
        factor: Factor { numerator: *numerator, denominator: 1, exponent: exponent + more },
        celsius: false,
        force: FORCES.contains(name),
    };
    if let Some(found) = SYMBOLS.iter().find(|(symbol, ..)| *symbol == word) {
        return Some(unit(found, 0));
    }
    PREFIXES.iter().find_map(|(prefix, power)| {
        let rest = word.strip_prefix(prefix)?;
        let found = SYMBOLS.iter().find(|(symbol, .., may)| *may && *symbol == rest)?;
        Some(unit(found, *power))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn capitals_leave_open_whether_mega_or_milli_was_meant() {
        assert_eq!(meant("KOHM").as_deref(), Some("kohm"));
        assert_eq!(meant("Khz").as_deref(), Some("kHz"));
        assert_eq!((meant("MOHM"), meant("MM")), (None, None));
    }
}
