//! The first line of a mission's file: what each column states, and in which unit.

use loadworthy_language::quantity::{Amount, Dimension, QuantityKind};
use loadworthy_source::nearest;
use loadworthy_unit::{InputId, Variant};

use crate::show::layout::free_text;

/// What the columns state.
#[derive(Debug)]
pub(crate) struct Header {
    /// The column of the time that a row lasts.
    pub(crate) lasts: Column,
    /// The column that names the duty point of a row.
    pub(crate) duty: Option<usize>,
    /// The columns that state values of a duty point.
    pub(crate) values: Vec<Column>,
}

/// A column of numbers.
#[derive(Debug)]
pub(crate) struct Column {
    /// Its place in a row.
    pub(crate) place: usize,
    /// What it is headed by, without the unit.
    pub(crate) path: String,
    /// The unit as it is written.
    pub(crate) unit: String,
    /// The input that it states; none for the time.
    pub(crate) input: Option<InputId>,
    /// The machine or load that it asks of, as an input that says whether a duty point names it.
    pub(crate) consumer: Option<InputId>,
    kind: QuantityKind,
    /// In the unit of the dimension: what a zero is, and what one more adds.
    scale: (f64, f64),
}

/// Why a header cannot be used: the place of the column, from 0, where it is about one, and what is wrong.
pub(crate) type Refused = (Option<usize>, String);

/// The longest that a row may last, in s: no machine lasts longer.
const LONGEST: f64 = 1e9;

impl Header {
    /// Reads the fields of the first line.
    ///
    /// # Errors
    /// Everything that is wrong, column by column.
    pub(crate) fn read<'f>(
        variant: &Variant,
        fields: impl Iterator<Item = &'f str>,
    ) -> Result<Self, Vec<Refused>> {
        let mut refused = Vec::new();
        let (mut lasts, mut duty, mut values) = (None, None, Vec::<Column>::new());
        // A column `lasts` that is refused is there all the same.
        let mut is_named = false;
        for (place, field) in fields.enumerate() {
            let (path, unit) = split(field);
            if path == "duty" && unit.is_empty() {
                if duty.replace(place).is_some() {
                    refused.push((Some(place), "a second column `duty`".to_owned()));
                }
                continue;
            }
            match Column::read(variant, place, path, unit) {
                Err(why) => {
                    is_named |= path == "lasts";
                    refused.push((Some(place), why));
                }
                Ok(column) if column.input.is_none() => {
                    if lasts.replace(column).is_some() {
                        refused.push((Some(place), "a second column `lasts`".to_owned()));
                    }
                }
                Ok(column) => {
                    if values.iter().any(|known| known.input == column.input) {
                        refused.push((Some(place), format!("a second column `{}`", free_text(path))));
                    }
                    values.push(column);
                }
            }
        }
        match lasts {
            Some(lasts) if refused.is_empty() => Ok(Self { lasts, duty, values }),
            Some(_) => Err(refused),
            None if is_named => Err(refused),
            None => {
                refused.push((None, "no column `lasts [s]` says how long a row lasts".to_owned()));
                Err(refused)
            }
        }
    }
}

impl Column {
    fn read(variant: &Variant, place: usize, path: &str, unit: &str) -> Result<Self, String> {
        let (input, kind) = if path == "lasts" {
            (None, QuantityKind::Plain(Dimension::Time))
        } else {
            let Some(input) = variant.duty_input(path) else { return Err(unknown(variant, path)) };
            (Some(input), kind_of(path, variant.tables.input_of(input).dimension))
        };
        let at = |number: &str| match kind.read(format!("{number} {unit}").trim_end()) {
            Ok(Amount::Of(_, value)) => Ok(value),
            _ => Err(format!(
                "`{}` states {}, and `[{}]` is no unit of it; write one as in `{}`",
                free_text(path),
                kind.expected(),
                free_text(unit),
                kind.example()
            )),
        };
        // Where a number may not be negative, one and two say what a zero would be.
        let (one, half) = (at("1")?, at("0.5")?);
        let consumer = path.strip_prefix("loads.").and_then(|rest| {
            variant.duty_input(&format!("loads.{}", rest.split_once('.').map_or(rest, |(name, _)| name)))
        });
        Ok(Self {
            place,
            path: path.to_owned(),
            unit: unit.to_owned(),
            input,
            consumer: consumer.filter(|consumer| Some(*consumer) != input),
            kind,
            scale: (2.0 * half - one, 2.0 * (one - half)),
        })
    }

    /// Whether the description refuses a zero of it as well.
    fn is_above_zero(&self) -> bool {
        let last = self.path.rsplit('.').next().unwrap_or_default();
        let is_voltage =
            self.path.starts_with("buses.") || matches!(last, "terminal" | "open_circuit" | "line_voltage");
        is_voltage || self.path == "coolant.flow"
    }

    /// A number of the column in the unit of its dimension.
    ///
    /// # Errors
    /// Says why it is none, or may not stand here.
    pub(crate) fn value(&self, text: &str) -> Result<f64, String> {
        let text = text.trim();
        if text.is_empty() {
            return Err("nothing is stated; a row states every column".to_owned());
        }
        let Ok(number) = text.parse::<f64>() else {
            return Err(format!("`{}` is no number", free_text(text)));
        };
        if !number.is_finite() {
            return Err(format!("`{}` is no number that can be reckoned with", free_text(text)));
        }
        if self.path == "lasts" && number <= 0.0 {
            return Err("a row lasts for some time".to_owned());
        }
        let seconds = self.scale.0 + self.scale.1 * number;
        if self.path == "lasts" && LONGEST < seconds {
            return Err(format!("`{}` is too long: a row lasts up to {LONGEST:e} s", free_text(text)));
        }
        // A share has an upper end as well; elsewhere only what is negative may be out of range.
        let may_be_out = number < 0.0 || self.kind.is_dimensionless();
        if may_be_out && self.kind.read(format!("{number} {}", self.unit).trim_end()).is_err() {
            return Err(format!("`{}` cannot be: expected {}", free_text(text), self.kind.expected()));
        }
        if number <= 0.0 && self.is_above_zero() {
            return Err(format!("`{}` cannot be: it is above zero", free_text(text)));
        }
        Ok(self.scale.0 + self.scale.1 * number)
    }
}

/// A path with its unit in brackets.
fn split(field: &str) -> (&str, &str) {
    let field = field.trim().trim_start_matches('\u{feff}');
    match field.strip_suffix(']').and_then(|field| field.rsplit_once('[')) {
        Some((path, unit)) => (path.trim(), unit.trim()),
        None => (field, ""),
    }
}

fn kind_of(path: &str, dimension: Dimension) -> QuantityKind {
    match path.rsplit('.').next() {
        Some("phase_current") => QuantityKind::RmsCurrent,
        Some("line_voltage") => QuantityKind::RmsVoltage,
        Some("power_factor") => QuantityKind::SignedRatio,
        _ => QuantityKind::Plain(dimension),
    }
}

fn unknown(variant: &Variant, path: &str) -> String {
    let inputs = variant.tables.inputs().iter();
    let known = inputs.filter_map(|input| input.path.strip_prefix("duty.*."));
    let shown = free_text(path);
    match nearest(path, known.clone()) {
        Some(near) => format!("duty points state no `{shown}`; is it `{near}`?"),
        None => format!("duty points state no `{shown}`; write a path such as `coolant.inlet [degC]`"),
    }
}
