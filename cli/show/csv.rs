//! Figures for a spreadsheet: a line for each figure in each lane, numbers unrounded in the unit beside them.

use loadworthy_unit::FigureId;

use crate::solutions::{Found, Solutions};

use super::json;
use loadworthy_checks::corner;

const HEAD: &str = "variant,duty_point,corner,figure,value,unit\n";

/// All figures that were asked for.
pub(crate) fn table(solutions: &Solutions<'_>) -> String {
    let mut text = HEAD.to_owned();
    for solved in &solutions.solved {
        for lane in solutions.lanes(solved) {
            for place in 0..solved.variant.tables.figures().len() {
                text.push_str(&line(Found { solved, figure: FigureId::new(place), lane }));
            }
        }
    }
    text
}

/// One figure in every lane that was asked for.
pub(crate) fn one(found: &[Found<'_, '_>]) -> String {
    found.iter().fold(HEAD.to_owned(), |text, one| text + &line(*one))
}

fn line(Found { solved, figure, lane }: Found<'_, '_>) -> String {
    let variant = solved.variant;
    let dimension = variant.tables.figure_of(figure).dimension;
    let value = solved.figure(figure, lane).map(|value| value.to_string());
    let fields = [
        variant.name.clone().unwrap_or_default(),
        variant.duty_of(lane).name.clone(),
        corner::short(variant.lane(lane)).unwrap_or_default(),
        variant.tables.figure_path(figure),
        value.unwrap_or_default(),
        json::unit(dimension).to_owned(),
    ];
    fields.map(|field| quoted(&field)).join(",") + "\n"
}

/// A field as RFC 4180 wants it.
pub(crate) fn quoted(field: &str) -> String {
    let field = loadworthy_source::escape_text(field);
    if field.contains([',', '"']) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field.into_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::quoted;

    #[test]
    fn fields_with_commas_are_quoted() {
        assert_eq!(quoted("plain"), "plain");
        assert_eq!(quoted("a,\"b\""), "\"a,\"\"b\"\"\"");
    }
}
