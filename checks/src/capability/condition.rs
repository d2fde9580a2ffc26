//! What may vary: the numbers that a duty point states.

use loadworthy_unit::{Dimension, DutyId, InputId, Variant};

const DUTY: &str = "duty.*.";

/// Why something cannot vary.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unvaried {
    /// The duty point states no such number.
    Unknown,
    /// It is what is scaled.
    Demand,
    /// The duty point stands still, and turning would be another one.
    Standstill,
}

/// The numbers that a duty point states, each under its name within the duty point, in the order of the tables.
pub fn conditions(variant: &Variant, duty: DutyId) -> impl Iterator<Item = (&str, InputId)> {
    let inputs = variant.tables.inputs().iter().enumerate();
    inputs.filter_map(move |(place, input)| {
        let id = InputId::new(place);
        let stated = variant.tables.stated(id, duty);
        // What is not stated leaves the structure as it is: a voltage behind a resistance is no stated one.
        let is_stated = stated.origin.is_written() && stated.value.is_finite();
        let name = input.path.strip_prefix(DUTY).filter(|_| is_stated)?;
        (!matches!(name, "lasts" | "every")).then_some((name, id))
    })
}

/// The number of that name, where it may vary.
///
/// # Errors
/// Says why it may not.
pub fn condition(
    variant: &Variant,
    duty: DutyId,
    name: &str,
    scaled: &[InputId],
) -> Result<InputId, Unvaried> {
    let found = conditions(variant, duty).find(|(known, _)| *known == name);
    let (_, id) = found.ok_or(Unvaried::Unknown)?;
    if scaled.contains(&id) {
        return Err(Unvaried::Demand);
    }
    let turns = matches!(variant.tables.input_of(id).dimension, Dimension::Frequency | Dimension::Speed);
    if turns && variant.tables.stated(id, duty).value.abs() <= 0.0 {
        return Err(Unvaried::Standstill);
    }
    Ok(id)
}
