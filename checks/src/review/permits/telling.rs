//! What is wrong with a permit, as a finding at the permit.

use jiff::civil::Date;
use loadworthy_physics::insulation::protection::Insulation;
use loadworthy_unit::{NodeId, Permit, Unit};

use super::{Applied, NAME, Standing, State, asks_at_least, is_at};
use crate::check::Proof;
use crate::figure_text::{comparison, percent, value};
use crate::free_text::in_line;
use crate::list::by_name;
use crate::review::fingerprint::fingerprint;
use crate::review::{Finding, Held, JudgedBy, Place};
use crate::verdict::{Comparison, Fault, Grade, Outcome, Verdict};

const EXPIRED: &str = "expired";
const EXCEEDED: &str = "exceeded";
const TOO_BROAD: &str = "too-broad";
const UNFIT: &str = "unfit-bound";
const UNBOUNDED: &str = "unbounded";
const UNUSED: &str = "unused";

/// Failures that are named in a line.
const MOST_NAMED: usize = 4;

/// A permit with what is known of it.
struct About<'a> {
    unit: &'a Unit,
    permit: &'a Permit,
    state: &'a State<'a>,
    verdicts: &'a [Vec<Verdict>],
    on: Date,
}

/// Everything that is wrong with the permits of a unit, in the order of the file. None of it is graver than minor: what a
/// permit does not accept counts by its own grade.
pub(in crate::review) fn findings(
    unit: &Unit,
    on: Date,
    applied: &Applied<'_>,
    verdicts: &[Vec<Verdict>],
) -> Vec<Finding> {
    let permits = unit.permits.iter().zip(&applied.states);
    permits.filter_map(|(permit, state)| About { unit, permit, state, verdicts, on }.finding()).collect()
}

impl About<'_> {
    fn finding(&self) -> Option<Finding> {
        match self.state.standing {
            None => (!self.waits()).then(|| self.unused()),
            Some(Standing::Expired) => Some(self.expired()),
            Some(Standing::TooBroad) => Some(self.too_broad()),
            Some(Standing::Exceeded) => self.exceeded(),
            Some(Standing::Unfit) => self.unfit(),
            Some(Standing::Accepts) => self.unbounded(),
        }
    }

    /// The permit in short: `current-headroom of bridge.high_side.u.diode`.
    fn name(&self) -> String {
        format!("{} of {}", in_line(&self.permit.check.value), in_line(&self.permit.part.value))
    }

    fn worst(&self) -> Option<(usize, &Verdict)> {
        let (v, place) = self.state.worst?;
        Some((v, self.verdicts.get(v)?.get(place)?))
    }

    fn told(&self, defect: &'static str, saying: String, at: NodeId, label: &str) -> Finding {
        let Permit { check, part, .. } = self.permit;
        let identity = format!("{} {}", check.value, part.value);
        Finding {
            check: NAME,
            defect,
            grade: Grade::Minor,
            part: self.name(),
            variant: 0,
            variant_name: self.permit.variant.as_ref().map(|name| in_line(&name.value)),
            verdict: None,
            duty: self.permit.duty.as_ref().map(|name| in_line(&name.value)),
            corner: None,
            saying,
            comparison: None,
            facts: Vec::new(),
            largest_share: None,
            at: Place { node: at, label: label.to_owned() },
            because: Vec::new(),
            also: Vec::new(),
            also_parts: 0,
            also_in: Vec::new(),
            elsewhere: Vec::new(),
            worked: Vec::new(),
            proposals: Vec::new(),
            no_proposal: None,
            estimate: Vec::new(),
            permit: None,
            permits_beside: Vec::new(),
            fingerprint: fingerprint(NAME, &identity, defect),
        }
    }

    fn expired(&self) -> Finding {
        let Permit { until, until_at, .. } = *self.permit;
        let days = until.until(self.on).map_or(0, |span| span.get_days());
        let days = if days == 1 { "1 day".to_owned() } else { format!("{days} days") };
        let now = match self.state.is_left_to_others {
            true => "another permit accepts what it did",
            false => "what it accepted is a finding again",
        };
        let saying = format!("the permit ended on {until}, {days} before {}: {now}", self.on);
        let mut told = self.told(EXPIRED, saying, until_at, "the last day is over");
        told.no_proposal = Some(match self.state.is_left_to_others {
            true => "leave it out".to_owned(),
            false => {
                "whoever accepts it decides anew, with a later day and a reason that still holds".to_owned()
            }
        });
        told
    }

    fn exceeded(&self) -> Option<Finding> {
        if let Some(only) = &self.permit.only {
            let is_more = |name: &&&str| !only.value.iter().any(|one| is_at(&one.value, name));
            let more: Vec<&str> = self.state.named.iter().filter(is_more).copied().collect();
            if !more.is_empty() {
                let saying = format!(
                    "the finding names {} as well, which `only` does not: it is a finding again",
                    listed(&more)
                );
                let mut told = self.told(EXCEEDED, saying, only.at, "names fewer than the finding");
                told.no_proposal =
                    Some("mend the finding, or let whoever accepts it decide on what joined it".to_owned());
                return Some(told);
            }
        }
        if let (Some(kind), Some((v, worst))) = (&self.permit.kind, self.worst()) {
            let variant = self.unit.variants.get(v)?;
            let saying = format!(
                "{} is accepted, and {} is {}: that is a finding again",
                word(kind.value),
                variant.path(worst.part),
                word(worst.kind?)
            );
            let mut told = self.told(EXCEEDED, saying, kind.at, "what is found protects less");
            told.variant = v;
            told.no_proposal =
                Some("mend the finding, or let whoever accepts it decide on that kind".to_owned());
            return Some(told);
        }
        let up_to = self.permit.up_to.as_ref()?;
        let (v, worst) = self.worst()?;
        let is_least = up_to.share().is_none() && asks_at_least(worst);
        let carried = match worst.fault()? {
            Fault::Exceeds(compared) if is_least => {
                let text = comparison(compared);
                format!("has {} of the {} that are asked", text.limit, text.carried)
            }
            Fault::Exceeds(compared) => {
                let share = if up_to.share().is_some() && compared.limit > 0.0 {
                    format!(", {} of the limit", percent(compared.carried_value / compared.limit))
                } else {
                    String::new()
                };
                format!("carries {}{share}", comparison(compared).carried)
            }
            Fault::Unsolved { largest_share } => {
                format!("carries {} of what has a solution", percent(1.0 / largest_share))
            }
            Fault::Structural => return None,
        };
        let variant = self.unit.variants.get(v)?;
        let part = variant.path(worst.part);
        let where_ = worst
            .duty()
            .map_or_else(String::new, |duty| format!(" in {}", variant.duties[duty.index()].name));
        let saying = format!(
            "{} {} is accepted, and {part} {carried}{where_}: {}",
            if is_least { "no less than" } else { "up to" },
            up_to.written,
            match self.state.is_left_to_others {
                true => "another permit accepts that",
                false => "that is a finding again",
            }
        );
        let label = if is_least { "the part has less" } else { "what is carried is worse" };
        let mut told = self.told(EXCEEDED, saying, up_to.at, label);
        told.variant = v;
        told.no_proposal =
            Some("mend the finding, or let whoever accepts it decide on a new bound".to_owned());
        Some(told)
    }

    fn too_broad(&self) -> Finding {
        let keys = &self.state.keys;
        let defects = keys.iter().map(|key| format!("{} of {}", key.defect, key.stage));
        let mut named: Vec<String> = defects.take(MOST_NAMED).collect();
        if keys.len() > MOST_NAMED {
            named.push(format!("{} more", keys.len() - MOST_NAMED));
        }
        let saying = format!(
            "it names {} findings at once and accepts none of them: {}",
            keys.len(),
            named.join(", ")
        );
        let mut told = self.told(TOO_BROAD, saying, self.permit.part.at, "several findings lie here");
        let is_one_defect = keys.iter().all(|key| key.defect == keys[0].defect);
        let way = if is_one_defect { "the part of one" } else { "the `defect` or the part of one" };
        told.no_proposal = Some(format!("write a permit for each finding that is accepted, and state {way}"));
        told
    }

    fn unfit(&self) -> Option<Finding> {
        if let Some(kind) = &self.permit.kind {
            let saying = format!(
                "`as: {}` does not fit, so that nothing is accepted: the finding says of no barrier of which kind it is",
                word(kind.value)
            );
            let mut told = self.told(UNFIT, saying, kind.at, "bounds nothing here");
            told.no_proposal = Some("leave `as` out".to_owned());
            return Some(told);
        }
        let up_to = self.permit.up_to.as_ref()?;
        let (v, worst) = self.worst()?;
        let is_nothing = |compared: &Comparison| {
            let bound = up_to.figure(compared.dimension, compared.limit);
            bound.is_some_and(|bound| bound <= 0.0) && asks_at_least(worst)
        };
        let why = match worst.fault()? {
            Fault::Exceeds(compared) if is_nothing(compared) => {
                format!(
                    "what the part has is {}, and more than that bound whatever it has",
                    value(compared.limit, compared.dimension)
                )
            }
            Fault::Exceeds(compared) => format!(
                "what is compared is a {}, {} against a limit of {}",
                compared.dimension.name(),
                value(compared.carried_value, compared.dimension),
                value(compared.limit, compared.dimension)
            ),
            Fault::Unsolved { .. } => {
                "there is no solution, of which only a share can be accepted".to_owned()
            }
            Fault::Structural => "no figure is compared, so that there is nothing to bound".to_owned(),
        };
        let saying = format!("`up_to: {}` does not fit, so that nothing is accepted: {why}", up_to.written);
        let mut told = self.told(UNFIT, saying, up_to.at, "bounds nothing here");
        told.variant = v;
        told.no_proposal = Some(match worst.fault()? {
            Fault::Structural => "leave `up_to` out".to_owned(),
            _ => "state a figure in that unit, or, save for a temperature, a share of the limit".to_owned(),
        });
        Some(told)
    }

    /// A permit that accepts a figure of whatever size.
    fn unbounded(&self) -> Option<Finding> {
        if self.permit.up_to.is_some() || self.permit.kind.is_some() {
            return None;
        }
        let (v, worst) = self.worst()?;
        if let Some(kind) = worst.kind.filter(|kind| Insulation::Functional < *kind) {
            return Some(self.of_any_kind(v, worst, kind));
        }
        if matches!(worst.fault(), Some(Fault::Structural)) {
            return self.unlisted(worst);
        }
        let (is, bound) = match worst.outcome {
            Outcome::Fails { fault: Fault::Exceeds(compared), .. } if compared.is_in_kelvin() => {
                let up = libm::ceil(compared.carried_value);
                (comparison(&compared).carried, value(up, compared.dimension))
            }
            Outcome::Fails { fault: Fault::Exceeds(compared), .. } if 0.0 < compared.limit => {
                (comparison(&compared).carried, rounded_up(compared.carried_value / compared.limit))
            }
            Outcome::Fails { fault: Fault::Unsolved { largest_share }, .. } if 0.0 < largest_share => (
                format!("{} of what has a solution", percent(1.0 / largest_share)),
                rounded_up(1.0 / largest_share),
            ),
            _ => return None,
        };
        let saying = format!("nothing bounds what it accepts: {is} now, and any worse figure as well");
        let mut told = self.told(UNBOUNDED, saying, self.permit.at, "states no `up_to`");
        told.variant = v;
        told.proposals = vec![Held {
            judged_by: JudgedBy::OwnCheck(Proof::ExactRule),
            say: format!("add `up_to: {bound}`"),
            set: Vec::new(),
            leaves: "what is accepted now accepted, and nothing worse".to_owned(),
            side_effects: Vec::new(),
        }];
        Some(told)
    }

    /// A permit that accepts a barrier of whatever kind.
    fn of_any_kind(&self, v: usize, worst: &Verdict, kind: Insulation) -> Finding {
        let part = self.unit.variants[v].path(worst.part);
        let saying = format!(
            "nothing bounds what it accepts: {part} is {} now, and whatever protects less as well",
            word(kind)
        );
        let mut told = self.told(UNBOUNDED, saying, self.permit.at, "states no `as`");
        told.variant = v;
        told.proposals = vec![Held {
            judged_by: JudgedBy::OwnCheck(Proof::ExactRule),
            say: format!("add `as: {}`", word(kind)),
            set: Vec::new(),
            leaves: "what is accepted now accepted, and nothing less".to_owned(),
            side_effects: Vec::new(),
        }];
        told
    }

    /// A permit that accepts whatever else its finding comes to name.
    fn unlisted(&self, worst: &Verdict) -> Option<Finding> {
        let named: Vec<&str> = self.state.named.iter().copied().collect();
        // What is about one part, and is given there, can name no other.
        if self.permit.only.is_some() || named.len() < 2 && worst.names.is_none() {
            return None;
        }
        let saying =
            format!("nothing bounds what it accepts: {} now, and whatever joins them", listed(&named));
        let mut told = self.told(UNBOUNDED, saying, self.permit.at, "states no `only`");
        told.proposals = vec![Held {
            judged_by: JudgedBy::OwnCheck(Proof::ExactRule),
            say: format!("add `only: [{}]`", named.join(", ")),
            set: Vec::new(),
            leaves: "what is accepted now accepted, and nothing more".to_owned(),
            side_effects: Vec::new(),
        }];
        Some(told)
    }

    /// Whether what it accepts may be found once everything can be read.
    fn waits(&self) -> bool {
        let Permit { check, defect, .. } = self.permit;
        let is_known = |name: &str| {
            by_name(&check.value)
                .is_some_and(|known| known.about().defects.iter().any(|(one, _)| *one == name))
        };
        self.unit.has_problems
            && by_name(&check.value).is_some()
            && defect.as_ref().is_none_or(|defect| is_known(&defect.value))
    }

    fn unused(&self) -> Finding {
        let (at, label, why) = self.why_unused();
        let mut told = self.told(UNUSED, format!("it accepts nothing: {why}"), at, label);
        told.no_proposal = Some("leave it out, so that it does not accept what may come back".to_owned());
        told
    }

    /// Where and why a permit names nothing that fails.
    fn why_unused(&self) -> (NodeId, &'static str, String) {
        let Self { unit, permit, .. } = self;
        let Permit { check, part, defect, variant, duty, .. } = permit;
        let Some(known) = by_name(&check.value) else {
            return (check.at, "no such check", format!("there is no check `{}`", in_line(&check.value)));
        };
        let about = known.about();
        let variants = || unit.variants.iter();
        if let Some(defect) = defect
            && !about.defects.iter().any(|(name, _)| *name == defect.value)
        {
            let all: Vec<&str> = about.defects.iter().map(|(name, _)| *name).collect();
            let why = format!("{} finds no `{}`, but {}", about.name, in_line(&defect.value), all.join(", "));
            return (defect.at, "no such defect", why);
        }
        if let Some(name) = variant
            && !variants().any(|one| one.name.as_deref() == Some(name.value.as_str()))
        {
            return (name.at, "no such variant", format!("there is no variant `{}`", in_line(&name.value)));
        }
        if let Some(name) = duty
            && !variants().flat_map(|one| &one.duties).any(|one| one.name == name.value)
        {
            return (
                name.at,
                "no such duty point",
                format!("there is no duty point `{}`", in_line(&name.value)),
            );
        }
        if !variants().any(|one| one.tables.parts().iter().any(|known| is_at(&part.value, &known.path))) {
            return (part.at, "no such part", format!("there is no part `{}`", in_line(&part.value)));
        }
        if !self.state.keys.is_empty() {
            return (permit.at, "accepts nothing more", "another permit accepts it already".to_owned());
        }
        let own = variants()
            .zip(self.verdicts)
            .flat_map(|(one, all)| all.iter().map(move |verdict| (one, verdict)));
        let own = own.filter(|(one, verdict)| {
            verdict.check == about.name
                && is_at(&part.value, one.path(verdict.part))
                && defect.as_ref().is_none_or(|defect| defect.value == verdict.defect)
        });
        let own: Vec<_> = own.collect();
        let is_throughout = |(_, verdict): &(_, &Verdict)| verdict.fails() && verdict.duty().is_none();
        if let Some(duty) = duty.as_ref().filter(|_| own.iter().any(is_throughout)) {
            let why =
                format!("what {} finds there is so in every duty point: leave `duty_point` out", about.name);
            return (duty.at, "holds in no duty point alone", why);
        }
        let mut own = own.into_iter();
        let why = if own.any(|(_, verdict)| matches!(verdict.outcome, Outcome::NotJudged(_))) {
            format!("{} could not judge it, which no permit accepts", about.name)
        } else {
            format!("{} finds nothing there, or nothing any more", about.name)
        };
        (permit.at, "accepts what does not happen", why)
    }
}

/// A kind of insulation as it is written.
#[must_use]
pub const fn word(kind: Insulation) -> &'static str {
    match kind {
        Insulation::Functional => "functional",
        Insulation::Basic => "basic",
        Insulation::Supplementary => "supplementary",
        Insulation::Double => "double",
        Insulation::Reinforced => "reinforced",
    }
}

/// Names in a line, of many the first.
fn listed(names: &[&str]) -> String {
    let mut text = names[..names.len().min(MOST_NAMED)].join(", ");
    if MOST_NAMED < names.len() {
        text.push_str(&format!(" and {} more", names.len() - MOST_NAMED));
    }
    text
}

/// A share in whole per cent, upward, as a person writes it.
fn rounded_up(share: f64) -> String {
    // A share that is a whole per cent but for rounding is not lifted to the next.
    format!("{} %", libm::ceil(share * 100.0 - 1e-6))
}
