//! Reads the rows of a mission's file, a chunk at a time, and everything that is wrong with them.

use std::io::Read;

use loadworthy_unit::mission::Rows;
use loadworthy_unit::{DutyId, InputId, Variant};

use super::header::Header;
use crate::show::layout::free_text;

/// Mistakes of a file that are told before reading ends.
const MOST_TOLD: usize = 20;

/// A file of rows.
pub(crate) struct Reader<'v, R> {
    variant: &'v Variant,
    header: Header,
    rows: csv::Reader<R>,
    record: csv::StringRecord,
    /// The duty point of rows that name none.
    duty: Option<DutyId>,
    /// For each duty point, whether it states every column.
    stated: Vec<Option<Result<(), String>>>,
}

/// What is wrong, each with its line and, where it is about one, its column from 1.
pub(crate) type Mistakes = Vec<(u64, Option<usize>, String)>;

impl<'v, R: Read> Reader<'v, R> {
    /// Reads the first line.
    ///
    /// # Errors
    /// Everything that is wrong with it.
    pub(crate) fn new(variant: &'v Variant, duty: Option<DutyId>, file: R) -> Result<Self, Mistakes> {
        let mut rows = csv::ReaderBuilder::new().trim(csv::Trim::None).from_reader(file);
        let header = rows.headers().map_err(|why| vec![unreadable(&why, &csv::StringRecord::new())])?.clone();
        if header.len() == 1 && header.get(0).is_some_and(|field| field.contains(';')) {
            let told = "columns are separated by commas, and numbers have a decimal point".to_owned();
            return Err(vec![(1, Some(1), told)]);
        }
        let header = Header::read(variant, header.iter()).map_err(|refused| {
            let more = refused.len().saturating_sub(MOST_TOLD);
            let told = refused.into_iter().take(MOST_TOLD);
            let mut told =
                told.map(|(place, why)| (1, place.map(|place| place + 1), why)).collect::<Vec<_>>();
            if more > 0 {
                told.push((1, None, format!("and {more} more columns that cannot be used")));
            }
            told
        })?;
        if header.duty.is_none() && duty.is_none() {
            let told =
                "no column `duty`, and the mission names no `duty`: which duty point are the rows made of?";
            return Err(vec![(1, None, told.to_owned())]);
        }
        let stated = vec![None; variant.duties.len()];
        Ok(Self { variant, header, rows, record: csv::StringRecord::new(), duty, stated })
    }

    /// The inputs that the columns state.
    pub(crate) fn columns(&self) -> Vec<InputId> {
        self.header.values.iter().filter_map(|column| column.input).collect()
    }

    /// How many bytes were read.
    pub(crate) fn position(&self) -> u64 {
        self.rows.position().byte()
    }

    /// Reads up to so many rows.
    ///
    /// # Errors
    /// What is wrong, up to a number of mistakes.
    pub(crate) fn read(&mut self, rows: &mut Rows, most: usize) -> Result<(), Mistakes> {
        rows.clear();
        let mut mistakes = Vec::new();
        while rows.len() < most && mistakes.len() < MOST_TOLD {
            match self.rows.read_record(&mut self.record) {
                Ok(true) => self.row(rows, &mut mistakes),
                Ok(false) => break,
                Err(why) => {
                    mistakes.push(unreadable(&why, &self.record));
                    if !matches!(
                        why.kind(),
                        csv::ErrorKind::UnequalLengths { .. } | csv::ErrorKind::Utf8 { .. }
                    ) {
                        break;
                    }
                }
            }
        }
        if mistakes.len() >= MOST_TOLD {
            let line = self.record.position().map_or(0, csv::Position::line);
            mistakes.push((
                line,
                None,
                "rows behind this one were not looked at: mend these first".to_owned(),
            ));
        }
        if mistakes.is_empty() { Ok(()) } else { Err(mistakes) }
    }

    fn row(&mut self, rows: &mut Rows, mistakes: &mut Mistakes) {
        let line = self.record.position().map_or(0, csv::Position::line);
        let field = |place: usize| self.record.get(place).unwrap_or_default();
        let before = mistakes.len();
        let duty = match self.header.duty.map(|place| (place, field(place).trim())) {
            Some((place, name)) => {
                let found = self.variant.duties.iter().position(|duty| duty.name == name);
                if found.is_none() {
                    let names = self.variant.duties.iter().map(|duty| duty.name.as_str());
                    let told = crate::solutions::unknown("duty point", name, names);
                    mistakes.push((line, Some(place + 1), told));
                }
                found.map(DutyId::new)
            }
            None => self.duty,
        };
        let lasts = self.header.lasts.value(field(self.header.lasts.place));
        let lasts =
            lasts.map_err(|why| mistakes.push((line, Some(self.header.lasts.place + 1), why))).unwrap_or(0.0);
        let start = rows.values.len();
        for column in &self.header.values {
            match column.value(field(column.place)) {
                Ok(value) => rows.values.push(value),
                Err(why) => {
                    let told = format!("{why}, in `{}`", free_text(&column.path));
                    mistakes.push((line, Some(column.place + 1), told));
                }
            }
        }
        if let Some(duty) = duty.filter(|_| mistakes.len() == before) {
            let is_new = self.stated[duty.index()].is_none();
            let known =
                self.stated[duty.index()].get_or_insert_with(|| states(self.variant, &self.header, duty));
            match known {
                Ok(()) => {
                    rows.duties.push(duty);
                    rows.lasts.push(lasts);
                    return;
                }
                // The same is wrong with every row of that duty point.
                Err(why) if is_new => mistakes.push((line, None, why.clone())),
                Err(_) => {}
            }
        }
        rows.values.truncate(start);
    }
}

/// Whether a duty point states what the columns change: only then is it known what a row asks.
fn states(variant: &Variant, header: &Header, duty: DutyId) -> Result<(), String> {
    let name = &variant.duties[duty.index()].name;
    for column in &header.values {
        let value = |input: InputId| variant.tables.stated(input, duty).value;
        let is_named = column.consumer.is_none_or(|consumer| value(consumer) > 0.0);
        if !is_named || !column.input.map_or(f64::NAN, value).is_finite() {
            let path = free_text(&column.path);
            return Err(format!(
                "duty point `{name}` states no `{path}`, so rows cannot change it; state it there"
            ));
        }
    }
    Ok(())
}

fn unreadable(why: &csv::Error, record: &csv::StringRecord) -> (u64, Option<usize>, String) {
    let line = why.position().map_or(1, csv::Position::line);
    let (column, told) = match why.kind() {
        // A quote that is never closed takes all that follows into its field.
        csv::ErrorKind::UnequalLengths { len, .. }
            if record.iter().next_back().is_some_and(|field| field.contains('\n')) =>
        {
            (usize::try_from(*len).ok(), "a quote opens here and is never closed".to_owned())
        }
        csv::ErrorKind::UnequalLengths { expected_len, len, .. } => {
            let columns = if *len == 1 { "column" } else { "columns" };
            let told = format!("{len} {columns}, where the first line has {expected_len}");
            (usize::try_from(*len.min(expected_len) + 1).ok(), told)
        }
        csv::ErrorKind::Utf8 { err, .. } => (Some(err.field() + 1), "it is not UTF-8".to_owned()),
        csv::ErrorKind::Io(why) => (None, crate::output::reason(why)),
        _ => (None, "it cannot be read".to_owned()),
    };
    (line, column, told)
}
