//! A review as JSON. The form only grows: a key that is there keeps its meaning.

use loadworthy_checks::Review;
use loadworthy_checks::cause::missing_text;
use loadworthy_checks::corner;
use loadworthy_checks::review::{self as checked, Counts};
use loadworthy_checks::verdict::{Comparison, Outcome as Judged, Verdict};
use loadworthy_source::{Problem, Tree};
use loadworthy_unit::trace::Operand;
use loadworthy_unit::{Dimension, NodeId, Variant};
use serde::Serialize;

use crate::described::Described;
use crate::outcome::Outcome;
use crate::show::patch;
use crate::show::places::{self, Place};
use crate::show::terminal::CAUTION;

use super::{Quantity, quantity, text};

const FORM: &str = "loadworthy-review";
const VERSION: u32 = 1;

/// All reviews of a run.
pub(crate) fn reviews(reviews: Vec<Reviewed>, outcome: Outcome) -> String {
    #[derive(Serialize)]
    struct Run {
        form: &'static str,
        version: u32,
        program: &'static str,
        exit: u8,
        caution: &'static str,
        reviews: Vec<Reviewed>,
    }
    let program = concat!("loadworthy ", env!("CARGO_PKG_VERSION"));
    text(&Run { form: FORM, version: VERSION, program, exit: outcome.number(), caution: CAUTION, reviews })
}

/// The review of one file, or why there is none.
#[derive(Serialize)]
pub(crate) struct Reviewed {
    file: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    unreadable: Option<String>,
    unit: Unit,
    counts: Count,
    problems: Vec<ProblemShown>,
    findings: Vec<Finding>,
    not_judged: Vec<NotJudged>,
    /// What is stated and judged by nothing yet.
    stated_not_judged: Vec<&'static str>,
    assumptions: Vec<Assumption>,
    unsolved: Vec<Unsolved>,
    broken_checks: Vec<BrokenCheck>,
    verdicts: Vec<VerdictShown>,
}

#[derive(Default, Serialize)]
struct Unit {
    name: Option<String>,
    revision: Option<String>,
    edition: Option<u32>,
    variants: Vec<Option<String>>,
    duty_points: Vec<String>,
}

#[derive(Default, Serialize)]
struct Count {
    hold: usize,
    fail: usize,
    not_judged: usize,
}

#[derive(Serialize)]
struct ProblemShown {
    kind: &'static str,
    message: String,
    at: Marked,
    also: Vec<Marked>,
    way_out: Option<String>,
    variants: Vec<String>,
}

/// A place with what is to be said about it.
#[derive(Serialize)]
struct Marked {
    #[serde(flatten)]
    place: Place,
    label: String,
}

#[derive(Serialize)]
struct Compared {
    figure: String,
    carried: Option<Quantity>,
    limit: Option<Quantity>,
    allowed: Option<Quantity>,
    /// In kelvin below allowed for temperatures, otherwise a share of allowed; negative where it fails.
    headroom: Option<Quantity>,
    policy: Option<&'static str>,
    limit_at: Option<Place>,
}

#[derive(Serialize)]
struct Finding {
    check: &'static str,
    defect: &'static str,
    grade: &'static str,
    fingerprint: String,
    part: String,
    variant: Option<String>,
    duty_point: String,
    corner: Option<String>,
    message: String,
    comparison: Option<Compared>,
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
}

#[derive(Serialize)]
struct Proposal {
    change: String,
    set: Vec<Setting>,
    /// The same as a merge patch in YAML, to paste.
    patch: Option<String>,
    leaves: String,
    side_effects: Vec<String>,
}

#[derive(Serialize)]
struct Setting {
    path: String,
    value: String,
    instead_of: Option<Place>,
}

#[derive(Serialize)]
struct NotJudged {
    missing: String,
    path: Option<String>,
    near: Option<Place>,
    checks: Vec<&'static str>,
    verdicts: usize,
    duty_points: Vec<String>,
    variants: Vec<String>,
}

#[derive(Serialize)]
struct Assumption {
    name: String,
    value: String,
    usual: Option<String>,
    why: &'static str,
    paths: Vec<String>,
    near: Option<Place>,
    decides: Vec<String>,
    /// Whether the usual range was tried; where it was not, an empty `decides` says nothing.
    tried: bool,
}

#[derive(Serialize)]
struct Unsolved {
    variant: Option<String>,
    duty_point: String,
    corner: Option<String>,
    part: String,
    /// Largest share of what is asked that has a solution; absent where neither it nor its absence was found.
    largest_share: Option<f64>,
}

#[derive(Serialize)]
struct BrokenCheck {
    check: &'static str,
    variant: Option<String>,
    said: String,
}

#[derive(Serialize)]
struct VerdictShown {
    check: &'static str,
    part: String,
    defect: &'static str,
    variant: Option<String>,
    duty_point: String,
    corner: Option<String>,
    verdict: &'static str,
    grade: Option<&'static str>,
    comparison: Option<Compared>,
    waits_for: Vec<String>,
    remarks: Vec<String>,
    at: Place,
}

impl Reviewed {
    /// A file that could not be opened.
    pub(crate) fn unreadable(file: String, why: String) -> Self {
        Self {
            file,
            unreadable: Some(why),
            unit: Unit::default(),
            counts: Count::default(),
            problems: Vec::new(),
            findings: Vec::new(),
            not_judged: Vec::new(),
            stated_not_judged: Vec::new(),
            assumptions: Vec::new(),
            unsolved: Vec::new(),
            broken_checks: Vec::new(),
            verdicts: Vec::new(),
        }
    }

    /// A review of what could be read.
    pub(crate) fn of(described: &Described, review: &Review) -> Self {
        let Described { name, tree, problems, unit } = described;
        let place = |node: Option<NodeId>| node.map(|node| places::of_node(tree, node));
        let Counts { hold, fail, not_judged } = review.counts;
        let variants = || unit.variants.iter().zip(&review.verdicts);
        Self {
            file: name.clone(),
            unreadable: None,
            unit: Unit::of(unit),
            counts: Count { hold, fail, not_judged },
            problems: problems.iter().map(|problem| ProblemShown::of(tree, problem)).collect(),
            findings: review.findings.iter().map(|finding| Finding::of(described, finding)).collect(),
            not_judged: review
                .not_judged
                .iter()
                .map(|one| NotJudged {
                    missing: one.missing.clone(),
                    path: one.path.clone(),
                    near: place(one.near),
                    checks: one.checks.clone(),
                    verdicts: one.verdicts,
                    duty_points: one.duties.clone(),
                    variants: one.variants.clone(),
                })
                .collect(),
            stated_not_judged: described.unit.unjudged.clone(),
            assumptions: review
                .assumed
                .iter()
                .map(|one| Assumption {
                    name: one.id.clone(),
                    value: one.value.clone(),
                    usual: one.usual.clone(),
                    why: one.why,
                    paths: one.paths.clone(),
                    near: place(one.near),
                    decides: one.decides.clone(),
                    tried: one.tried,
                })
                .collect(),
            unsolved: review
                .unsolved
                .iter()
                .map(|one| Unsolved {
                    variant: one.variant_name.clone(),
                    duty_point: one.duty.clone(),
                    corner: one.corner.clone(),
                    part: one.path.clone(),
                    largest_share: one.largest.filter(|share| share.is_finite()),
                })
                .collect(),
            broken_checks: review
                .broken_checks
                .iter()
                .map(|one| BrokenCheck {
                    check: one.check,
                    variant: one.variant_name.clone(),
                    said: one.said.clone(),
                })
                .collect(),
            verdicts: variants()
                .flat_map(|(variant, verdicts)| {
                    verdicts.iter().map(|verdict| VerdictShown::of(tree, variant, verdict))
                })
                .collect(),
        }
    }
}

impl Unit {
    fn of(unit: &loadworthy_unit::Unit) -> Self {
        let mut duty_points: Vec<String> = Vec::new();
        for duty in unit.variants.iter().flat_map(|variant| &variant.duties) {
            if !duty_points.contains(&duty.name) {
                duty_points.push(duty.name.clone());
            }
        }
        Self {
            name: unit.name.clone(),
            revision: unit.revision.clone(),
            edition: unit.edition,
            variants: unit.variants.iter().map(|variant| variant.name.clone()).collect(),
            duty_points,
        }
    }
}

impl ProblemShown {
    fn of(tree: &Tree, problem: &Problem) -> Self {
        let marked =
            |span, label: &String| Marked { place: places::of_span(tree, span), label: label.clone() };
        Self {
            kind: problem.kind,
            message: problem.message.clone(),
            at: marked(problem.at, &problem.label),
            also: problem.also.iter().map(|(span, label)| marked(*span, label)).collect(),
            way_out: problem.way_out.clone(),
            variants: problem.variants.clone(),
        }
    }
}

impl Compared {
    fn of(tree: &Tree, variant: &Variant, duty: loadworthy_unit::DutyId, compared: &Comparison) -> Self {
        let origin = match compared.limit_from {
            Some(Operand::Input(id)) => variant.tables.stated(id, duty).origin.node(),
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

impl Finding {
    fn of(described: &Described, finding: &checked::Finding) -> Self {
        let tree = &described.tree;
        let marked = |place: &checked::Place| Marked {
            place: places::of_node(tree, place.node),
            label: place.label.clone(),
        };
        let variant = described.unit.variants.get(finding.variant);
        let duty =
            variant.and_then(|variant| variant.duties.iter().position(|duty| duty.name == finding.duty));
        let comparison = match (variant, duty, &finding.comparison) {
            (Some(variant), Some(duty), Some(compared)) => {
                Some(Compared::of(tree, variant, loadworthy_unit::DutyId::new(duty), compared))
            }
            _ => None,
        };
        let setting = |setting: &checked::Setting| Setting {
            path: setting.path.clone(),
            value: setting.written.clone(),
            instead_of: setting.instead_of.map(|node| places::of_node(tree, node)),
        };
        let proposal = |held: &checked::Held| Proposal {
            change: held.say.clone(),
            set: held.set.iter().map(setting).collect(),
            patch: patch::text(&held.set),
            leaves: held.leaves.clone(),
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
        }
    }
}

impl VerdictShown {
    fn of(tree: &Tree, variant: &Variant, verdict: &Verdict) -> Self {
        let (word, grade) = match &verdict.outcome {
            Judged::Holds(_) => ("holds", None),
            Judged::Fails { grade, .. } => ("fails", Some(grade.word())),
            Judged::NotJudged(_) => ("not judged", None),
        };
        let waits_for = match &verdict.outcome {
            Judged::NotJudged(missing) => {
                let duty = &variant.duties[verdict.duty.index()].name;
                let text = |one| missing_text(variant, verdict.duty, one).subject_in(duty);
                missing.iter().copied().map(text).collect()
            }
            _ => Vec::new(),
        };
        Self {
            check: verdict.check,
            part: variant.path(verdict.part).to_owned(),
            defect: verdict.defect,
            variant: variant.name.clone(),
            duty_point: variant.duties[verdict.duty.index()].name.clone(),
            corner: corner::short(variant.lane(verdict.lane)),
            verdict: word,
            grade,
            comparison: verdict
                .comparison()
                .map(|compared| Compared::of(tree, variant, verdict.duty, compared)),
            waits_for,
            remarks: verdict.remarks.iter().map(ToString::to_string).collect(),
            at: places::of_node(tree, variant.tables.part_of(verdict.part).at),
        }
    }
}
