//! What is watched of each row of a mission, for whoever wants them one by one.

use loadworthy_unit::FigureId;
use loadworthy_unit::mission::Chunk;

/// Something of each row: the largest of some figures.
#[derive(Clone, Debug)]
pub struct Watched(pub Vec<FigureId>);

/// How much is known of a row.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Known {
    /// It has a solution, and its heat was followed.
    Followed,
    /// It has a solution; what went before is not known in full, nor what hangs on it.
    InDoubt,
    /// It has a solution, and not all that heat follows from is known.
    Solved,
    /// It has no solution.
    Unsolved,
}

/// Rows as they were watched.
#[derive(Clone, Debug, Default)]
pub struct Seen {
    /// How much is known of each row.
    pub known: Vec<Known>,
    /// What was watched, row after row; not a number where it is not known.
    pub values: Vec<f64>,
}

impl Seen {
    /// Forgets the rows, and keeps the room.
    pub(super) fn clear(&mut self) {
        self.known.clear();
        self.values.clear();
    }

    /// Adds those of a chunk.
    pub(super) fn add(&mut self, chunk: &Chunk<'_>, rows: usize, watched: &[Watched]) {
        for row in 0..rows {
            let known = match (chunk.is_solved(row), chunk.is_in_doubt(row), chunk.is_followed(row)) {
                (false, ..) => Known::Unsolved,
                (_, true, _) => Known::InDoubt,
                (_, _, true) => Known::Followed,
                _ => Known::Solved,
            };
            self.known.push(known);
            self.values.extend(watched.iter().map(|Watched(figures)| match known {
                Known::Unsolved => f64::NAN,
                _ => largest(figures.iter().map(|&figure| chunk.raw(figure, row))),
            }));
        }
    }

    pub(super) fn append(&mut self, other: &Self) {
        self.known.extend(&other.known);
        self.values.extend(&other.values);
    }
}

/// The largest of some numbers; not a number where one of them is not known, or there is none.
fn largest(numbers: impl Iterator<Item = f64>) -> f64 {
    numbers.reduce(|one, other| if one.is_nan() || one > other { one } else { other }).unwrap_or(f64::NAN)
}

#[cfg(test)]
mod tests {
    use super::largest;

    #[test]
    fn what_is_not_known_is_no_smaller_than_the_rest() {
        assert_eq!(largest([1.0, 3.0, 2.0].into_iter()).to_bits(), 3.0_f64.to_bits());
        for unknown in [[f64::NAN, 3.0, 2.0], [1.0, f64::NAN, 2.0], [1.0, 3.0, f64::NAN]] {
            assert!(largest(unknown.into_iter()).is_nan());
        }
        assert!(largest(std::iter::empty()).is_nan());
    }
}
