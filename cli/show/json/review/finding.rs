//! A finding with its places and proposals.

use loadworthy_checks::review as checked;
use loadworthy_unit::DutyId;
use schemars::JsonSchema;
use serde::Serialize;

use crate::described::Described;
use crate::show::json::permit::PermitShown;
use crate::show::patch;
use crate::show::places::{self, Place};
use crate::show::words::permit::beside;

use super::verdict::Compared;

/// A place with what is to be said about it.
#[derive(Serialize, JsonSchema)]
pub(super) struct Marked {
    #[serde(flatten)]
    pub(super) place: Place,
    /// What is to be said about it.
    pub(super) label: String,
}

#[derive(Serialize, JsonSchema)]
pub(in crate::show::json) struct Finding {
    /// The name of the check.
    check: &'static str,
    /// What is wrong or would be, in one word of the check.
    defect: &'static str,
    /// `major`, `minor` or `note`.
    grade: &'static str,
    /// Its identity over edits of the file: 16 hexadecimal digits of check, part and defect.
    fingerprint: String,
    /// The path of the part.
    part: String,
    /// The variant; null where the unit has no named variants.
    variant: Option<String>,
    /// Absent where it is so whatever is asked.
    duty_point: Option<String>,
    /// The corner of the duty point, in words; null where it has but one.
    corner: Option<String>,
    /// What is wrong, in one sentence.
    message: String,
    /// How the figure compares, where there is one.
    comparison: Option<Compared>,
    /// What is known where no figure is compared.
    facts: Vec<String>,
    /// Without a solution: the largest share of what is asked that has one.
    largest_share: Option<f64>,
    /// The place that it is about.
    at: Marked,
    /// Places that caused it.
    because: Vec<Marked>,
    /// Other parts with the same cause, in short.
    also: Vec<String>,
    /// How many other parts that is.
    also_parts: usize,
    /// Other duty points in which it fails.
    also_in: Vec<String>,
    /// How the carried figure comes about, a line for each step.
    worked: Vec<String>,
    /// Changes that hold.
    proposals: Vec<Proposal>,
    /// Why there is no proposal, where there is none.
    no_proposal: Option<String>,
    /// What makes the figures less sure than they look.
    estimate: Vec<String>,
    /// The permit that accepts it, or that names it and does not.
    #[serde(skip_serializing_if = "Option::is_none")]
    permit: Option<OnRecord>,
    /// Other permits that accept it together with that one, each a part of what it names.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    permits_beside: Vec<PermitShown>,
}

#[derive(Serialize, JsonSchema)]
struct OnRecord {
    /// How the permit stands to it.
    standing: &'static str,
    #[serde(flatten)]
    permit: PermitShown,
}

#[derive(Serialize, JsonSchema)]
struct Proposal {
    /// The change in words.
    change: String,
    /// Values to be written.
    set: Vec<Setting>,
    /// The same as a merge patch in YAML, to paste.
    patch: Option<String>,
    /// What the change leaves.
    leaves: String,
    /// Who found out that it holds.
    judged_by: &'static str,
    /// What else it changes.
    side_effects: Vec<String>,
}

#[derive(Serialize, JsonSchema)]
struct Setting {
    /// Where in the description.
    path: String,
    /// What to write there.
    value: String,
    /// What stands there now.
    instead_of: Option<Place>,
}

impl Finding {
    pub(in crate::show::json) fn of(described: &Described, finding: &checked::Finding) -> Self {
        let tree = &described.tree;
        let marked = |place: &checked::Place| Marked {
            place: places::of_node(tree, place.node),
            label: place.label.clone(),
        };
        let variant = described.unit.variants.get(finding.variant);
        let duty = variant.and_then(|variant| {
            variant.duties.iter().position(|duty| finding.duty.as_ref() == Some(&duty.name))
        });
        // What is so in every duty point stands on the first.
        let duty = duty.or_else(|| variant.filter(|variant| !variant.duties.is_empty()).map(|_| 0));
        let comparison = variant
            .zip(finding.comparison.as_ref())
            .map(|(variant, compared)| Compared::of(tree, variant, duty.map(DutyId::new), compared));
        let setting = |setting: &checked::Setting| Setting {
            path: setting.path.clone(),
            value: setting.written.clone(),
            instead_of: setting.instead_of.map(|node| places::of_node(tree, node)),
        };
        let proposal = |held: &checked::Held| Proposal {
            change: held.say.clone(),
            set: held.set.iter().map(setting).collect(),
            patch: if held.set.is_empty() { None } else { patch::text(&held.set) },
            leaves: held.leaves.clone(),
            judged_by: held.judged_by.words(),
            side_effects: held.side_effects.clone(),
        };
        Self {
            check: finding.check,
            defect: finding.defect,
            grade: finding.grade.word(),
            fingerprint: finding.fingerprint.clone(),
            part: finding.part.clone(),
            variant: finding.variant_name.clone(),
            duty_point: finding.duty.clone(),
            corner: finding.corner.clone(),
            message: finding.saying.clone(),
            comparison,
            facts: finding.facts.clone(),
            largest_share: finding.largest_share.filter(|share| share.is_finite()),
            at: marked(&finding.at),
            because: finding.because.iter().map(marked).collect(),
            also: finding.also.clone(),
            also_parts: finding.also_parts,
            also_in: finding.also_in.clone(),
            worked: finding.worked.clone(),
            proposals: finding.proposals.iter().map(proposal).collect(),
            no_proposal: finding.no_proposal.clone(),
            estimate: finding.estimate.clone(),
            permit: finding.permit.and_then(|of| {
                let permit = described.unit.permits.get(of.permit)?;
                Some(OnRecord { standing: of.standing.word(), permit: PermitShown::of(tree, permit) })
            }),
            permits_beside: beside(described, finding).map(|permit| PermitShown::of(tree, permit)).collect(),
        }
    }
}
