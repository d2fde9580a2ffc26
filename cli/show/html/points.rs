//! Which duty points are drawn: first the one with the gravest finding, then those of its variant and of the others.

use std::collections::BTreeSet;

use loadworthy_checks::corner;
use loadworthy_unit::LaneState;

use crate::permits::Accepted;
use crate::reviewed::Made;
use crate::show::balance::{Account, accounts};
use crate::show::layout::free_text;
use crate::show::stress::Stresses;
use crate::solutions::Solutions;

use super::markup::Markup;

/// Duty points that are drawn at most; a page is to be read, and a drawing takes room.
const MOST: usize = 8;
/// Stages that are drawn at most, over all duty points but the first.
const MOST_STAGES: usize = 240;

/// A duty point that is drawn.
pub(crate) struct Point<'s, 'u> {
    pub(crate) account: Account<'s, 'u>,
    /// Place of its variant in the unit.
    pub(crate) variant: usize,
    /// Place of the duty point in the variant.
    pub(crate) duty: usize,
    /// Duty point and variant.
    pub(crate) name: String,
    /// Whether it is the one that is shown first.
    pub(crate) is_first: bool,
}

/// The duty points that are drawn, in the order of the description, and how many are not.
pub(crate) struct Points<'s, 'u> {
    pub(crate) drawn: Vec<Point<'s, 'u>>,
    pub(crate) left_out: usize,
    /// Why the first one is the first.
    pub(crate) why: &'static str,
}

impl<'s, 'u> Points<'s, 'u> {
    pub(crate) fn of(made: &'u Made, solutions: &'s Solutions<'u>) -> Self {
        let (chosen, why) = worst(made);
        let unit = &made.described.unit;
        let mut drawn: Vec<Point<'s, 'u>> = Vec::new();
        for account in accounts(solutions) {
            let lane = account.solved.variant.lane(account.lane);
            let place = unit.variants.iter().position(|one| std::ptr::eq(one, account.solved.variant));
            let Some(variant) = place else { continue };
            let duty = lane.duty.index();
            let name = account.solved.variant.duties.get(duty).map_or("", |duty| duty.name.as_str());
            let name = match account.solved.variant.name.as_deref() {
                Some(variant) => format!("{}, {}", free_text(name), free_text(variant)),
                None => free_text(name),
            };
            drawn.push(Point { account, variant, duty, name, is_first: false });
        }
        let is_chosen = |point: &Point<'_, '_>| chosen == Some((point.variant, point.duty));
        let first = drawn.iter().position(is_chosen).unwrap_or(0);
        if let Some(point) = drawn.get_mut(first) {
            point.is_first = true;
        }
        // Where there are too many, those of its own variant stay before those of others.
        let own = drawn.get(first).map_or(0, |point| point.variant);
        let mut order: Vec<usize> = (0..drawn.len()).collect();
        order.sort_by_key(|&place| (!drawn[place].is_first, drawn[place].variant != own, place));
        let stages = unit.variants.iter().map(|variant| variant.plan.stages.len()).max().unwrap_or_default();
        let most = (MOST_STAGES / stages.max(1)).clamp(1, MOST);
        let kept: BTreeSet<usize> = order.into_iter().take(most).collect();
        let all = drawn.len();
        let mut place = 0;
        drawn.retain(|_| {
            place += 1;
            kept.contains(&(place - 1))
        });
        let left_out = all - drawn.len();
        Self { drawn, left_out, why }
    }

    /// The choice among them, which works without a script; nothing where there is none.
    pub(crate) fn choice(&self, sheet: usize) -> Markup {
        let mut out = Markup::new();
        let Some(first) = self.drawn.iter().find(|point| point.is_first) else { return out };
        if self.drawn.len() == 1 {
            out.raw("<p>Drawn: <strong>").text(&first.name).raw("</strong>.</p>\n");
            return out;
        }
        out.raw("<fieldset class=\"choice\"><legend>Duty point that is drawn</legend>\n");
        for (place, point) in self.drawn.iter().enumerate() {
            out.raw("<span><input type=\"radio\" name=\"u").count(sheet).raw("-point\" id=\"u").count(sheet);
            out.raw("-p").count(place).raw("\"").raw(if point.is_first { " checked" } else { "" });
            out.raw("><label for=\"u").count(sheet).raw("-p").count(place).raw("\">").text(&point.name);
            out.raw("</label></span>\n");
        }
        out.raw("</fieldset>\n<p class=\"aside\">Drawn first: <strong>").text(&first.name).raw("</strong>, ");
        out.raw(self.why).raw(".");
        if self.left_out > 0 {
            out.raw(" Not drawn: ").count(self.left_out).raw(" more; the tables cover them all.");
        }
        out.raw("</p>\n");
        out
    }

    /// Rules by which the chosen one is shown. Where a browser does not know them, all are.
    pub(crate) fn rules(&self, sheet: usize) -> Markup {
        let mut out = Markup::new();
        if self.drawn.len() < 2 {
            return out;
        }
        out.raw("@supports selector(:has(*)){");
        for place in 0..self.drawn.len() {
            out.raw(".u").count(sheet).raw(":not(:has(#u").count(sheet).raw("-p").count(place);
            out.raw(":checked)) .p").count(place).raw("{display:none}");
        }
        out.raw("}\n");
        out
    }
}

impl Point<'_, '_> {
    /// Under which condition its figures are, where that is more than its name: the corner, and that it lasts a while.
    pub(crate) fn condition(&self) -> String {
        let variant = self.account.solved.variant;
        let mut parts = vec![self.name.clone()];
        parts.extend(corner::long(variant.lane(self.account.lane)).filter(|_| self.account.corners > 1));
        match self.account.state() {
            LaneState::Solved { .. } => {}
            LaneState::NoSolution { .. } => parts.push("no solution".to_owned()),
            LaneState::Undecided { .. } => parts.push("not solved".to_owned()),
        }
        parts.join("; ")
    }
}

/// The variant and duty point of the gravest finding; where there is none, of the least headroom.
fn worst(made: &Made) -> (Option<(usize, usize)>, &'static str) {
    let unit = &made.described.unit;
    for (findings, why) in [
        (&made.review.findings, "the duty point of the worst finding that belongs to one"),
        (&made.review.accepted, "the duty point of the worst finding that is accepted"),
    ] {
        for finding in findings {
            let Some(duty) = finding.duty.as_deref() else { continue };
            let duties = unit.variants.get(finding.variant).map_or(&[][..], |variant| &variant.duties);
            if let Some(place) = duties.iter().position(|one| one.name == duty) {
                return (Some((finding.variant, place)), why);
            }
        }
    }
    let all: Vec<usize> = (0..unit.variants.len()).collect();
    let stresses =
        Stresses::of(unit, &made.review, &all, None, &Accepted::on(unit, &made.review, made.besides.day));
    let least = stresses.worst.iter().find_map(|stress| {
        let variant = unit.variants.iter().position(|one| std::ptr::eq(one, stress.variant))?;
        Some((variant, stress.verdict.duty()?.index()))
    });
    (least, "the duty point with the least headroom")
}
