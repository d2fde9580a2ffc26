//! Are windings and cores cool enough?
//!
//! The hottest place of each winding stands against its insulation, the core against its material. A temperature that
//! lacks a loss is none: where it is not known what a winding is wound of, or what a core loses, nothing is judged.

use loadworthy_unit::plan::{Magnetic, MagneticRole, Stage, Winding};
use loadworthy_unit::{Cause, Dimension, InputId, LaneId, PolicyForm, PolicyItem, Solved};

use crate::check::{About, Check, Failure, Family, Told};
use crate::collect::{Limit, Subject, Verdicts, compare, outcome};
use crate::figure_text::{comparison, value};
use crate::remarks::{self, Remark};
use crate::review::Place;
use crate::steps::{family, more_flow, scaled};
use crate::tell::{above, demand, in_its_choke, part_at, place, policy_place, within};
use crate::verdict::{Comparison, Grade, Missing};
use crate::wound::{all, everywhere, of, stands};

/// Distance kept from the limit of an insulation.
pub(crate) static WINDING_TEMPERATURE: PolicyItem = PolicyItem {
    name: "winding_temperature",
    help: "Kelvins that the hottest place of a winding keeps from the limit of its insulation",
    form: PolicyForm::Keep { dimension: Dimension::TemperatureDifference, default: 10.0, usual: (5.0, 20.0) },
    since: 2026,
};

/// Distance kept from the limit of a core.
pub(crate) static CORE_TEMPERATURE: PolicyItem = PolicyItem {
    name: "core_temperature",
    help: "Kelvins that a core keeps from the highest temperature of its material",
    form: PolicyForm::Keep { dimension: Dimension::TemperatureDifference, default: 10.0, usual: (5.0, 20.0) },
    since: 2026,
};

const HOT_WINDING: &str = "hot-winding";
const HOT_CORE: &str = "hot-core";

/// Shares of a resistance to heat that are tried.
const BETTER_PATH: [f64; 5] = [0.8, 0.65, 0.5, 0.4, 0.3];
/// Shares of a resistance to current that are tried: more copper.
const MORE_COPPER: [f64; 5] = [0.9, 0.8, 0.7, 0.6, 0.5];

static ABOUT: About = About {
    name: "winding-loading",
    former_names: &[],
    question: "Do windings and cores stay cool enough, skin effect, layers and the real waveform of the flux counted?",
    page: include_str!("page.md"),
    fails: include_str!("fails.yaml"),
    holds: include_str!("holds.yaml"),
    defects: &[
        (HOT_WINDING, "the hottest place of a winding gets hotter than the policy leaves of its insulation"),
        (HOT_CORE, "a core gets hotter than the policy leaves of its material"),
    ],
    policy: &[&WINDING_TEMPERATURE, &CORE_TEMPERATURE],
    since: 2026,
};

/// The check.
pub(crate) struct WindingLoading;

impl Check for WindingLoading {
    fn about(&self) -> &'static About {
        &ABOUT
    }

    fn feels_the_coolant(&self) -> bool {
        true
    }

    fn judge(&self, solved: &Solved<'_>, out: &mut Verdicts) {
        for (stage, magnetic) in all(&solved.variant.plan) {
            for lane in solved.variant.lane_ids() {
                judge((stage, magnetic), solved, lane, out);
            }
        }
    }

    fn tell(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
        let (stage, magnetic) = of(&solved.variant.plan, failure.worst.part)?;
        told(stage, magnetic, failure, solved)
    }

    fn outruns(&self, defect: &str) -> &'static [&'static str] {
        if defect == HOT_CORE { &["core temperature"] } else { &[] }
    }

    fn propose(&self, failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
        let plan = &solved.variant.plan;
        let (Some(lane), Some((_, magnetic))) = (failure.worst.lane(), of(plan, failure.worst.part)) else {
            return Vec::new();
        };
        let ladder = |what: &str, input: InputId, dimension, factors: &[f64]| {
            let steps = scaled(what, &everywhere(solved, input), dimension, factors, solved, lane);
            family(&format!("{what} down to"), steps)
        };
        let thermal = Dimension::ThermalResistance;
        let mut families = vec![ladder("case to coolant", magnetic.heat.case, thermal, &BETTER_PATH)];
        if magnetic.place.is_none() {
            families[0] = ladder("case to air", magnetic.heat.case, thermal, &BETTER_PATH);
        }
        let failing = failing_windings(magnetic, failure);
        if !failing.is_empty() {
            // What fails together is mended together.
            let together = |what: &str, inputs: Vec<InputId>, dimension, factors: &[f64]| {
                let all: Vec<InputId> =
                    inputs.into_iter().flat_map(|input| everywhere(solved, input)).collect();
                family(&format!("{what} down to"), scaled(what, &all, dimension, factors, solved, lane))
            };
            let keys: Vec<&str> = failing.iter().map(|winding| winding.key).collect();
            let to_case = failing.iter().map(|winding| winding.to_case).collect();
            families.push(together(
                &format!("{} to case", keys.join(" and ")),
                to_case,
                thermal,
                &BETTER_PATH,
            ));
            let names: Vec<String> = failing.iter().map(|winding| named(magnetic, winding)).collect();
            let copper = format!("resistance of the {}", names.join(" and the "));
            let ohms = failing.iter().map(|winding| winding.resistance).collect();
            families.push(together(&copper, ohms, Dimension::Resistance, &MORE_COPPER));
        } else {
            families.push(ladder("core to case", magnetic.core.to_case, thermal, &BETTER_PATH));
        }
        if magnetic.place.is_some() {
            families.push(more_flow(solved, lane));
        }
        families
    }
}

fn judge((stage, magnetic): (&Stage, &Magnetic), solved: &Solved<'_>, lane: LaneId, out: &mut Verdicts) {
    let mut remarks: Vec<Remark> = remarks::of_feedback(solved, lane).into_iter().collect();
    remarks.extend(remarks::of_choke(stage, solved, lane));
    if magnetic.core.material.is_some()
        && magnetic.core.bias.is_none()
        && magnetic.role != MagneticRole::Transformer
    {
        remarks.push(Remark::CoreBiased);
    }
    let lacks = lacks(magnetic, solved, lane);
    let with = |compared: Result<Comparison, Vec<Missing>>| match (compared, lacks.is_empty()) {
        (Ok(compared), true) => Ok(compared),
        (Ok(_), false) => Err(lacks.clone()),
        (Err(mut missing), _) => {
            missing.extend(lacks.iter().copied());
            Err(missing)
        }
    };
    let subject = |part, defect| Subject { part, defect, lane: Some(lane), kin: None };
    let lasts = solved.variant.duty_of(lane).lasts;
    // The settled temperature, or what it comes to while the duty point lasts, with how much a failure matters.
    let mut put = |(part, defect), settled, reached, holds_heat: bool, hottest, policy| {
        let (figure, unsure) = match (lasts, solved.is_warmed(lane)) {
            (None, _) => (settled, None),
            (Some(lasts), true) => (reached, remarks::of_body(holds_heat, magnetic.place, lasts, solved)),
            (Some(lasts), false) if holds_heat => (settled, Some(Remark::FromNothing { lasts })),
            (Some(lasts), false) => (settled, Some(Remark::HeldContinuously { lasts })),
        };
        let grade = if unsure.is_some() { Grade::Minor } else { Grade::Major };
        let carried = (figure, Dimension::Temperature);
        let compared = compare(solved, lane, carried, Limit::Input(hottest), Some(policy));
        let mut own = remarks.clone();
        own.extend(unsure);
        out.put(solved, subject(part, defect), outcome(with(compared), grade), own);
    };
    for winding in &magnetic.windings {
        let (settled, reached, policy) = (winding.temperature, winding.highest(), &WINDING_TEMPERATURE);
        put((winding.part, HOT_WINDING), settled, reached, winding.holds_heat(), winding.hottest, policy);
    }
    let core = &magnetic.core;
    let (settled, reached) = (core.figures.temperature, core.highest());
    put(
        (magnetic.part, HOT_CORE),
        settled,
        reached,
        core.capacity.is_some(),
        core.hottest,
        &CORE_TEMPERATURE,
    );
}

/// Losses that are left out of what was solved, so that its temperatures are none.
fn lacks(magnetic: &Magnetic, solved: &Solved<'_>, lane: LaneId) -> Vec<Missing> {
    let mut lacks = Vec::new();
    let duty = solved.variant.lane(lane).duty;
    if magnetic.core.material.is_none() {
        let loss = magnetic.core.stated_loss;
        if !solved.variant.tables.stated(loss, duty).origin.is_written() {
            lacks.push(Missing::Cause(Cause::Input(loss)));
        }
    }
    for winding in magnetic.windings.iter().filter(|winding| winding.conductor.is_none()) {
        let key = match winding.key {
            "primary" => "primary.conductor",
            "secondary" => "secondary.conductor",
            _ => "winding.conductor",
        };
        let missing = Missing::Key { of: magnetic.part, key };
        if !lacks.contains(&missing) {
            lacks.push(missing);
        }
    }
    lacks
}

/// The winding that the worst verdict is about.
/// Windings of a component that fail, the worst first; none where its core does.
fn failing_windings<'m>(magnetic: &'m Magnetic, failure: &Failure<'_>) -> Vec<&'m Winding> {
    let Some(worst) = worst_winding(magnetic, failure) else { return Vec::new() };
    let fails = |winding: &&Winding| {
        winding.part != worst.part && failure.all.iter().any(|verdict| verdict.part == winding.part)
    };
    core::iter::once(worst).chain(magnetic.windings.iter().filter(fails)).collect()
}

fn worst_winding<'m>(magnetic: &'m Magnetic, failure: &Failure<'_>) -> Option<&'m Winding> {
    let carried = failure.worst.comparison()?.carried;
    magnetic.windings.iter().find(|winding| [winding.temperature, winding.highest()].contains(&carried))
}

/// A winding in words.
fn named(magnetic: &Magnetic, winding: &Winding) -> String {
    if magnetic.role == MagneticRole::Transformer { winding.key.to_owned() } else { "winding".to_owned() }
}

fn told(stage: &Stage, magnetic: &Magnetic, failure: &Failure<'_>, solved: &Solved<'_>) -> Option<Told> {
    let (variant, lane) = (solved.variant, failure.worst.lane()?);
    let compared = failure.worst.comparison()?;
    let part = variant.path(magnetic.part);
    let carried = comparison(compared).carried;
    let watts = |figure| solved.figure(figure, lane).map(|watts| value(watts, Dimension::Power));
    let core_loss = watts(magnetic.core.figures.loss)?;
    let winding = worst_winding(magnetic, failure);
    let (what, limit, label) = match winding {
        Some(winding) => {
            let ratio = winding.ratio.and_then(|ratio| solved.figure(ratio, lane));
            let more = ratio.map_or_else(String::new, |ratio| {
                format!(", {} times what direct current would lose", value(ratio, Dimension::Ratio))
            });
            let label = format!(
                "{} lost in the {}{more}, {core_loss} in the core",
                watts(winding.loss)?,
                named(magnetic, winding)
            );
            (format!("the {} of `{part}`", named(magnetic, winding)), "its insulation", label)
        }
        None => {
            let all = watts(magnetic.loss)?;
            (
                format!("the core of `{part}`"),
                "its material",
                format!("{core_loss} lost in the core, {all} in all"),
            )
        }
    };
    let holds_heat = winding.map_or(magnetic.core.capacity.is_some(), Winding::holds_heat);
    let within = within(solved, lane, solved.is_warmed(lane) && holds_heat);
    let saying =
        format!("{what} reaches {carried}{within}, {}", above(compared, &format!("the limit of {limit}")));
    let mut because: Vec<Place> = demand(stage, solved, lane).into_iter().collect();
    because.extend(winding.and_then(|_| in_its_choke(magnetic, solved, lane)));
    because.extend(stands(solved, magnetic.heat.case, lane, |resistance| {
        format!("{} from its case on", value(resistance, Dimension::ThermalResistance))
    }));
    let around = match (magnetic.place, variant.plan.coolant.as_ref()) {
        (Some(_), Some(path)) => Some((path.inlet, "coolant arrives at")),
        _ => Some((magnetic.heat.air, "the air around it is at")),
    };
    because.extend(around.and_then(|(input, says)| {
        let at = value(solved.input(input, lane)?, Dimension::Temperature);
        place(solved, input, lane, format!("{says} {at}"))
    }));
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    Some(Told { because, ..Told::new(saying, part_at(solved, magnetic.part, label)) })
}
