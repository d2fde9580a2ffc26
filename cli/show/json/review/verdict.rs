//! A verdict, and how a figure compares.

use loadworthy_checks::cause::missing_text;
use loadworthy_checks::corner;
use loadworthy_checks::verdict::{Comparison, Missing, Outcome as Judged, Verdict};
use loadworthy_source::Tree;
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Dimension, DutyId, Variant};
use schemars::JsonSchema;
use serde::Serialize;

use crate::show::json::{Quantity, quantity};
use crate::show::places::{self, Place};

#[derive(Serialize, JsonSchema)]
pub(in crate::show::json) struct Compared {
    /// The path of the carried figure.
    figure: String,
    /// What it carries.
    carried: Option<Quantity>,
    /// What it may carry.
    limit: Option<Quantity>,
    /// What the policy leaves of the limit.
    allowed: Option<Quantity>,
    /// In kelvin below allowed for temperatures, otherwise a share of allowed; negative where it fails.
    headroom: Option<Quantity>,
    /// The policy item that makes allowed of the limit.
    policy: Option<&'static str>,
    /// Where the limit stands.
    limit_at: Option<Place>,
}

#[derive(Serialize, JsonSchema)]
pub(in crate::show::json) struct VerdictShown {
    /// The name of the check.
    check: &'static str,
    /// The path of the part.
    part: String,
    /// What is wrong or would be, in one word of the check.
    defect: &'static str,
    /// The variant; null where the unit has no named variants.
    variant: Option<String>,
    /// Absent where the structure is judged, whatever is asked.
    duty_point: Option<String>,
    /// The corner of the duty point, in words; null where it has but one.
    corner: Option<String>,
    /// `holds`, `fails` or `not judged`.
    verdict: &'static str,
    /// Of a failure: `major`, `minor` or `note`.
    grade: Option<&'static str>,
    /// How the figure compares, where there is one.
    comparison: Option<Compared>,
    /// What is missing.
    waits_for: Vec<String>,
    /// What a reader should know with it.
    remarks: Vec<String>,
    /// Where it stands.
    at: Place,
}

impl Compared {
    pub(in crate::show::json) fn of(
        tree: &Tree,
        variant: &Variant,
        duty: Option<DutyId>,
        compared: &Comparison,
    ) -> Self {
        let origin = match compared.limit_from {
            Some(Operand::Input(id)) => duty.and_then(|duty| variant.tables.stated(id, duty).origin.node()),
            Some(Operand::Curve(id)) => variant.tables.curve_of(id).origin.node(),
            Some(Operand::Figure(_)) | None => None,
        };
        let headroom =
            if compared.is_in_kelvin() { Dimension::TemperatureDifference } else { Dimension::Ratio };
        Self {
            figure: variant.tables.figure_path(compared.carried),
            carried: quantity(compared.carried_value, compared.dimension),
            limit: quantity(compared.limit, compared.dimension),
            allowed: quantity(compared.allowed, compared.dimension),
            headroom: quantity(compared.headroom, headroom),
            policy: compared.policy.map(|item| item.name),
            limit_at: origin.map(|node| places::of_node(tree, node)),
        }
    }
}

impl VerdictShown {
    pub(in crate::show::json) fn of(tree: &Tree, variant: &Variant, verdict: &Verdict) -> Self {
        let (word, grade) = match &verdict.outcome {
            Judged::Holds(_) => ("holds", None),
            Judged::Fails { grade, .. } => ("fails", Some(grade.word())),
            Judged::NotJudged(_) => ("not judged", None),
        };
        let duty = verdict.duty().map(|duty| variant.duties[duty.index()].name.as_str());
        let waits_for = match &verdict.outcome {
            Judged::NotJudged(missing) => {
                // A star stays where no duty point is meant.
                let text = |&one: &Missing| {
                    let duty =
                        one.duty(verdict).map_or("*", |duty| variant.duties[duty.index()].name.as_str());
                    missing_text(variant, verdict.duty(), one).subject_in(duty)
                };
                missing.iter().map(text).collect()
            }
            _ => Vec::new(),
        };
        Self {
            check: verdict.check,
            part: variant.path(verdict.part).to_owned(),
            defect: verdict.defect,
            variant: variant.name.clone(),
            duty_point: duty.map(str::to_owned),
            corner: verdict.duty().and(verdict.lane()).and_then(|lane| corner::short(variant.lane(lane))),
            verdict: word,
            grade,
            comparison: verdict.comparison().map(|compared| {
                let looked_up = verdict.lane().map(|lane| variant.lane(lane).duty);
                Compared::of(tree, variant, looked_up, compared)
            }),
            waits_for,
            remarks: verdict.remarks.iter().map(ToString::to_string).collect(),
            at: places::of_node(tree, variant.tables.part_of(verdict.part).at),
        }
    }
}
