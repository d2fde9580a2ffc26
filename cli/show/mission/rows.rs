//! The rows of a mission for a spreadsheet: a line for each, numbers unrounded in the unit that its column is headed by.

use loadworthy_checks::mission::{Known, Seen, Watched};
use loadworthy_unit::mission::Rows;
use loadworthy_unit::{FigureId, PartId, Variant};

use crate::show::csv::quoted;
use crate::show::json;
use crate::solutions::no_figure;

/// The lines of a mission, one after another.
pub(crate) struct Lines<'v> {
    variant: &'v Variant,
    columns: Vec<Column>,
    /// Rows so far, and how long they last in s.
    rows: usize,
    begins: f64,
}

struct Column {
    head: String,
    figures: Vec<FigureId>,
}

impl<'v> Lines<'v> {
    /// Lines with the figures that were asked for, or with those that tell how every part fares.
    ///
    /// # Errors
    /// Says which figure there is none of, and which are near.
    pub(crate) fn of(variant: &'v Variant, asked: &[String]) -> Result<Self, String> {
        let columns = if asked.is_empty() { usual(variant) } else { named(variant, asked)? };
        Ok(Self { variant, columns, rows: 0, begins: 0.0 })
    }

    /// What has to be watched for them.
    pub(crate) fn watched(&self) -> Vec<Watched> {
        self.columns.iter().map(|column| Watched(column.figures.clone())).collect()
    }

    fn head(&self) -> String {
        let mut line = "row,begins [s],lasts [s],duty,state".to_owned();
        for column in &self.columns {
            line.push(',');
            line.push_str(&quoted(&column.head));
        }
        line + "\n"
    }

    /// The lines of rows that were followed after those before; the first of all say what they show.
    pub(crate) fn next(&mut self, all: &[Rows], seen: &Seen) -> String {
        let mut text = if self.rows == 0 { self.head() } else { String::new() };
        let rows = all.iter().flat_map(|rows| rows.duties.iter().zip(&rows.lasts));
        for (place, ((duty, lasts), known)) in rows.zip(&seen.known).enumerate() {
            self.rows += 1;
            let name = quoted(&self.variant.duties[duty.index()].name);
            let state = match known {
                Known::Followed => "followed",
                Known::InDoubt => "in doubt",
                Known::Solved => "not followed",
                Known::Unsolved => "no solution",
            };
            text.push_str(&format!("{},{},{lasts},{name},{state}", self.rows, self.begins));
            self.begins += lasts;
            let width = self.columns.len();
            for value in &seen.values[place * width..(place + 1) * width] {
                text.push(',');
                if value.is_finite() {
                    text.push_str(&value.to_string());
                }
            }
            text.push('\n');
        }
        text
    }
}

/// A figure under its path and unit.
fn headed(variant: &Variant, path: &str, figures: Vec<FigureId>) -> Option<Column> {
    let dimension = variant.tables.figure_of(*figures.first()?).dimension;
    let unit = json::unit(dimension);
    let head = if unit.is_empty() { path.to_owned() } else { format!("{path} [{unit}]") };
    Some(Column { head, figures })
}

fn named(variant: &Variant, asked: &[String]) -> Result<Vec<Column>, String> {
    let paths =
        || (0..variant.tables.figures().len()).map(|place| variant.tables.figure_path(FigureId::new(place)));
    let mut columns = Vec::new();
    for path in asked {
        let figure = paths().position(|known| known == *path).map(FigureId::new);
        let column = figure.and_then(|figure| headed(variant, path, vec![figure]));
        columns.push(column.ok_or_else(|| no_figure(path, &paths().collect::<Vec<_>>()))?);
    }
    Ok(columns)
}

/// Figures that tell how every part fares.
fn usual(variant: &Variant) -> Vec<Column> {
    let (plan, tables) = (&variant.plan, &variant.tables);
    let mut columns = Vec::new();
    let mut add =
        |figure: FigureId| columns.extend(headed(variant, &tables.figure_path(figure), vec![figure]));
    plan.buses.iter().for_each(|bus| add(bus.voltage));
    plan.sources.iter().for_each(|source| [source.current, source.power].into_iter().for_each(&mut add));
    plan.stages.iter().for_each(|stage| add(stage.figures.loss));
    for (place, stage) in plan.stages.iter().enumerate() {
        let packages = plan.packages.iter().filter(|package| package.stage == place);
        let chips = packages.flat_map(|package| &package.chips);
        let hottest = chips.map(|&chip| plan.chips[chip].figures.hottest()).collect();
        columns.extend(headed(variant, &format!("{}.hottest_junction", path(variant, stage.part)), hottest));
    }
    let mut add =
        |figure: FigureId| columns.extend(headed(variant, &tables.figure_path(figure), vec![figure]));
    for figures in plan.conductors.iter().filter_map(|conductor| Some(&conductor.heat.as_ref()?.figures)) {
        add(figures.hottest.unwrap_or(figures.temperature));
    }
    for magnetic in &plan.magnetics {
        for winding in &magnetic.windings {
            add(winding.warms.as_ref().map_or(winding.temperature, |warms| warms.hottest));
        }
        let core = &magnetic.core.figures;
        add(core.hottest.unwrap_or(core.temperature));
    }
    if let Some(path) = &plan.coolant {
        [path.total_flow, path.heat, path.outlet].into_iter().for_each(&mut add);
    }
    columns
}

fn path(variant: &Variant, part: PartId) -> &str {
    &variant.tables.part_of(part).path
}
