//! A finding with its places and proposals.

use loadworthy_checks::review as checked;
use loadworthy_unit::DutyId;
use serde::Serialize;

use crate::described::Described;
use crate::show::json::permit::PermitShown;
use crate::show::patch;
use crate::show::places::{self, Place};

use super::verdict::Compared;

/// A place with what is to be said about it.
#[derive(Serialize)]
pub(super) struct Marked {
    #[serde(flatten)]
    pub(super) place: Place,
    pub(super) label: String,
}

#[derive(Serialize)]
pub(in crate::show::json) struct Finding {
    check: &'static str,
    defect: &'static str,
    grade: &'static str,
    fingerprint: String,
    part: String,
    variant: Option<String>,
    /// Absent where it is so whatever is asked.
    duty_point: Option<String>,
    corner: Option<String>,
    message: String,
    comparison: Option<Compared>,
    /// What is known where no figure is compared.
    facts: Vec<String>,
    largest_share: Option<f64>,
    at: Marked,
    because: Vec<Marked>,
    also: Vec<String>,
    also_parts: usize,
    also_in: Vec<String>,
    worked: Vec<String>,
    proposals: Vec<Proposal>,
    no_proposal: Option<String>,
    estimate: Vec<String>,
    /// The permit that accepts it, or that names it and does not.
    #[serde(skip_serializing_if = "Option::is_none")]
    permit: Option<OnRecord>,
}

#[derive(Serialize)]
struct OnRecord {
    standing: &'static str,
    #[serde(flatten)]
    permit: PermitShown,
}

#[derive(Serialize)]
struct Proposal {
    change: String,
    set: Vec<Setting>,
    /// The same as a merge patch in YAML, to paste.
    patch: Option<String>,
    leaves: String,
    /// Who found out that it holds.
    judged_by: &'static str,
    side_effects: Vec<String>,
}

#[derive(Serialize)]
struct Setting {
    path: String,
    value: String,
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
        }
    }
}
