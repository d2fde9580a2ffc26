//! Findings that are accepted beforehand, on record.

use jiff::civil::Date;
use loadworthy_language::Description;
use loadworthy_language::quantity::{Amount, Dimension, QuantityKind};
use loadworthy_language::sections::policy;
use loadworthy_physics::insulation::protection::Insulation;
use loadworthy_source::{Located, NodeId};

use crate::build::isolation::insulation;

/// A finding that is accepted beforehand.
#[derive(Clone, Debug)]
pub struct Permit {
    /// Where it stands.
    pub at: NodeId,
    /// The check.
    pub check: Located<String>,
    /// A part of the finding, or a stage that it lies in.
    pub part: Located<String>,
    /// What is wrong with it, where it says so.
    pub defect: Option<Located<String>>,
    /// The variant, where it holds for one alone.
    pub variant: Option<Located<String>>,
    /// The duty point, where it holds for one alone.
    pub duty: Option<Located<String>>,
    /// Up to which figure.
    pub up_to: Option<UpTo>,
    /// Which of the parts that the finding names, where it says so.
    pub only: Option<Located<Vec<Located<String>>>>,
    /// Which kind of insulation, where it says so.
    pub kind: Option<Located<Insulation>>,
    /// Why.
    pub reason: String,
    /// Who accepts it.
    pub accepted_by: String,
    /// The last day it holds.
    pub until: Date,
    /// Where that stands.
    pub until_at: NodeId,
}

/// Up to which figure something is accepted.
#[derive(Clone, Debug)]
pub struct UpTo {
    /// Where it stands.
    pub at: NodeId,
    /// As it is written.
    pub written: String,
    dimension: Dimension,
    value: f64,
}

impl UpTo {
    fn read(written: &Located<String>) -> Option<Self> {
        let kinds = [QuantityKind::Margin, QuantityKind::Plain(Dimension::Temperature)];
        let (dimension, value) = kinds.iter().find_map(|kind| match kind.read(&written.value) {
            Ok(Amount::Of(dimension, value)) => Some((dimension, value)),
            Ok(Amount::Continuous) | Err(_) => None,
        })?;
        Some(Self { at: written.at, written: written.value.clone(), dimension, value })
    }

    /// The largest figure of a dimension that is accepted beside a limit; nothing where the two do not fit. A share of a
    /// temperature says nothing, because its zero is arbitrary.
    #[must_use]
    pub fn figure(&self, dimension: Dimension, limit: f64) -> Option<f64> {
        match self.dimension {
            Dimension::Ratio if dimension != Dimension::Temperature => Some(self.value * limit),
            own if own == dimension => Some(self.value),
            _ => None,
        }
    }

    /// The same as a share, where it is one.
    #[must_use]
    pub fn share(&self) -> Option<f64> {
        (self.dimension == Dimension::Ratio).then_some(self.value)
    }
}

/// The permits of a description that could be read, in the order of the file. A variant does not change them.
pub(crate) fn permits(description: &Description) -> Vec<Permit> {
    let read = description.permits.iter().filter_map(|permit| Some((permit.at()?, permit.read()?)));
    read.filter_map(|(at, permit)| one(at, permit)).collect()
}

fn one(at: NodeId, permit: &policy::Permit) -> Option<Permit> {
    let up_to = match &permit.up_to {
        // A bound that cannot be read must not become none.
        Some(written) => Some(UpTo::read(written)?),
        None => None,
    };
    Some(Permit {
        at,
        check: permit.check.clone(),
        part: permit.part.clone(),
        defect: permit.defect.clone(),
        variant: permit.variant.clone(),
        duty: permit.duty_point.clone(),
        up_to,
        only: permit.only.clone(),
        kind: permit.kind.as_ref().map(|kind| Located { value: insulation(kind.value), at: kind.at }),
        reason: permit.reason.value.clone(),
        accepted_by: permit.accepted_by.value.clone(),
        until: permit.until.value.parse().ok()?,
        until_at: permit.until.at,
    })
}
