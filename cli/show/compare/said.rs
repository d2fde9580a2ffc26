//! What is said of a change, a finding or a headroom, in words that every form shares. Texts of a description are in it as
//! they are: each form escapes them for itself.

use loadworthy_checks::compare::{Effects, FindingChange, Headroom, HeadroomChange, HeadroomTurn, Turn};
use loadworthy_checks::figure_text::{self, ComparisonText};
use loadworthy_checks::review::{Finding, also_in_words};
use loadworthy_checks::verdict::Comparison;
use loadworthy_language::difference::{Change, ChangeKind, Stated};
use loadworthy_source::NodeId;
use loadworthy_unit::Dimension;

use crate::compared::{self, Compared, Side};
use crate::reviewed::Made;
use crate::show::layout::{counted, cut};

/// Characters of a value that are shown of it.
const LONGEST: usize = 72;
/// Items of a list that are named.
const MOST_ITEMS: usize = 6;

/// A change in words.
pub(crate) struct Said {
    /// What kind of change it is: `changed`, `new`, `gone`, `renamed`, `stated`, `not stated`, `reordered`.
    pub(crate) word: &'static str,
    /// The path.
    pub(crate) path: String,
    /// From what, to what, or what it is; empty where the path says it all.
    pub(crate) what: Vec<String>,
    /// What else is to be known, such as `-20 %`.
    pub(crate) remark: Option<String>,
    /// Where it stands in the new description.
    pub(crate) at: Option<NodeId>,
    /// Where it stood in the old one.
    pub(crate) was_at: Option<NodeId>,
}

/// A change in words.
pub(crate) fn change(change: &Change) -> Said {
    let (old, new) = (change.old.as_ref(), change.new.as_ref());
    let both = || vec![value(old), value(new)];
    let (word, what, remark) = match &change.kind {
        ChangeKind::Added => ("new", Vec::new(), None),
        ChangeKind::Removed => ("gone", Vec::new(), None),
        ChangeKind::Renamed { from, to } => ("renamed", vec![from.clone(), to.clone()], None),
        ChangeKind::Value => ("changed", both(), moved(old, new)),
        ChangeKind::Stated => {
            ("stated", both(), silently(change, "as was assumed").or_else(|| moved(old, new)))
        }
        ChangeKind::Unstated => {
            ("not stated", both(), silently(change, "and assumed the same").or_else(|| moved(old, new)))
        }
        ChangeKind::Order => ("reordered", both(), None),
        ChangeKind::Items { gained, lost } => ("changed", vec![items(gained, lost)], None),
    };
    let at = |stated: Option<&Stated>| stated.and_then(|stated| stated.at);
    Said { word, path: change.path.clone(), what, remark, at: at(new), was_at: at(old) }
}

fn value(stated: Option<&Stated>) -> String {
    match stated {
        None => "not stated".to_owned(),
        Some(Stated { written: Some(written), .. }) if written.is_empty() => "nothing".to_owned(),
        Some(Stated { written: Some(written), .. }) => cut(written, LONGEST),
        Some(Stated { amount: Some((dimension, amount)), .. }) => {
            format!("assumed {}", figure_text::value(*amount, *dimension))
        }
        Some(Stated { .. }) => "assumed".to_owned(),
    }
}

fn silently(change: &Change, words: &str) -> Option<String> {
    change.keeps_the_amount().then(|| words.to_owned())
}

/// By how much a quantity moved: of a temperature in kelvin, else as a share.
fn moved(old: Option<&Stated>, new: Option<&Stated>) -> Option<String> {
    let ((from, old), (to, new)) = (old?.amount?, new?.amount?);
    let sign = if new > old { "+" } else { "" };
    match (from, to) {
        (Dimension::Temperature, Dimension::Temperature) => {
            Some(format!("{sign}{}", figure_text::kelvins(new - old)))
        }
        // Of counts and shares another share would only confuse.
        _ if from == to && from != Dimension::Ratio && old.abs() > 0.0 => {
            Some(format!("{sign}{}", figure_text::percent((new - old) / old.abs())))
        }
        _ => None,
    }
}

fn items(gained: &[String], lost: &[String]) -> String {
    let named = |word: &str, items: &[String]| {
        let mut text = items.iter().take(MOST_ITEMS).map(String::as_str).collect::<Vec<_>>().join(", ");
        if items.len() > MOST_ITEMS {
            text.push_str(&format!(" and {} more", items.len() - MOST_ITEMS));
        }
        format!("{word} {text}")
    };
    let parts = [("with", gained), ("without", lost)].into_iter().filter(|(_, items)| !items.is_empty());
    parts.map(|(word, items)| named(word, items)).collect::<Vec<_>>().join(", ")
}

/// How the change is judged in one word: `worse` where a finding counts against it.
pub(crate) fn verdict(change: &compared::Change) -> &'static str {
    let effects = &change.effects;
    let lighter = [Turn::Better, Turn::Gone, Turn::NowAccepted].iter().any(|turn| effects.count(*turn) > 0);
    let not_judged = effects.unjudged.iter().any(|one| one.is_new)
        || effects.count_headrooms(HeadroomTurn::NoLongerJudged) > 0;
    if effects.findings.iter().any(FindingChange::counts) {
        "worse"
    } else if not_judged {
        "less judged"
    } else if lighter {
        "better"
    } else if change.is_none() {
        "no change"
    } else {
        "no worse"
    }
}

/// How many findings turned which way: `findings: 1 new, 2 worse, 1 gone, 4 unchanged`.
pub(crate) fn findings(effects: &Effects) -> String {
    let counts = Turn::ALL.iter().filter_map(|turn| {
        let number = effects.count(*turn);
        (number > 0).then(|| format!("{number} {}", turn.words()))
    });
    let counts = counts.collect::<Vec<_>>();
    if counts.is_empty() { "no findings".to_owned() } else { format!("findings: {}", counts.join(", ")) }
}

/// How many headrooms turned which way.
pub(crate) fn headrooms(effects: &Effects) -> String {
    use HeadroomTurn::{Fell, Gone, New, NoLongerJudged, NowJudged, Rose};
    let mut counts = [Fell, Rose, New, Gone, NoLongerJudged, NowJudged]
        .into_iter()
        .filter_map(|turn| {
            let number = effects.count_headrooms(turn);
            (number > 0).then(|| format!("{number} {}", turn.words()))
        })
        .collect::<Vec<_>>();
    counts.push(format!("{} unchanged", effects.headrooms_unchanged));
    format!("headrooms: {}", counts.join(", "))
}

/// How many changes the description has.
pub(crate) fn changes(change: &compared::Change) -> String {
    let number = change.difference.changes.len();
    if number == 0 {
        "the descriptions say the same".to_owned()
    } else {
        counted(number, "change", "changes")
    }
}

/// A finding that turned, with its review and its description: the new one, or the old one where it is gone.
pub(crate) struct Turned<'c> {
    /// The finding before.
    pub(crate) old: Option<&'c Finding>,
    /// The finding now.
    pub(crate) new: Option<&'c Finding>,
    /// The side that it is shown from.
    pub(crate) made: &'c Made,
}

impl<'c> Turned<'c> {
    /// The finding of a change; nothing where a side was not read.
    pub(crate) fn of(compared: &'c Compared, change: &FindingChange) -> Option<Self> {
        let made = |side: &'c Side| side.made.as_ref().ok();
        let (before, after) = (made(&compared.old)?, made(&compared.new)?);
        let old = change.old.and_then(|at| at.of(&before.review));
        let new = change.new.and_then(|at| at.of(&after.review));
        Some(Self { old, new, made: if new.is_some() { after } else { before } })
    }

    /// Findings that turned in one of these ways, in the order of the comparison.
    pub(crate) fn all(
        compared: &'c Compared,
        change: &'c compared::Change,
        turns: &[Turn],
    ) -> Vec<(Turn, Self)> {
        let of_turn = change.effects.findings.iter().filter(|one| turns.contains(&one.turn));
        of_turn.filter_map(|one| Some((one.turn, Self::of(compared, one)?))).collect()
    }

    /// The finding that is shown.
    pub(crate) fn shown(&self) -> Option<&'c Finding> {
        self.new.or(self.old)
    }

    /// Its figures, before and now.
    pub(crate) fn figures(&self) -> Vec<String> {
        let compared = |finding: Option<&'c Finding>| finding.and_then(|finding| finding.comparison.as_ref());
        figures(compared(self.old), compared(self.new))
    }

    /// How its grade changed, where it did: `minor -> major`.
    pub(crate) fn grade(&self) -> String {
        match (self.old, self.new) {
            (Some(old), Some(new)) if old.grade != new.grade => {
                format!("{} -> {}", old.grade.word(), new.grade.word())
            }
            _ => self.shown().map_or("", |finding| finding.grade.word()).to_owned(),
        }
    }
}

/// Carried, allowed and headroom, before and now: `carried 163 °C -> 171 °C`, `allowed 155 °C`, `7.9 K over -> 16 K over`.
pub(crate) fn figures(old: Option<&Comparison>, new: Option<&Comparison>) -> Vec<String> {
    let (before, after) = (old.map(figure_text::comparison), new.map(figure_text::comparison));
    let one = |of: fn(&ComparisonText) -> &String| match (&before, &after) {
        (Some(before), Some(after)) if of(before) != of(after) => format!("{} -> {}", of(before), of(after)),
        (_, Some(only)) | (Some(only), None) => of(only).clone(),
        (None, None) => String::new(),
    };
    if before.is_none() && after.is_none() {
        return Vec::new();
    }
    vec![
        format!("carried {}", one(|text| &text.carried)),
        format!("allowed {}", one(|text| &text.allowed)),
        one(|text| &text.headroom),
    ]
}

/// Whether each side is one variant, so that its name is said once, at the head.
pub(crate) fn is_of_variants(compared: &Compared) -> bool {
    let named = |side: &Side| {
        let variants = side.made.as_ref().ok().map(|made| made.described.unit.variants.as_slice());
        match variants {
            Some([only]) => only.name.clone(),
            _ => None,
        }
    };
    matches!((named(&compared.old), named(&compared.new)), (Some(old), Some(new)) if old != new)
}

/// Duty point, corner and variant in one line.
fn place(duty: Option<&str>, corner: Option<&str>, variant: Option<&str>) -> String {
    let corner = corner.map(|corner| format!(" ({corner})")).unwrap_or_default();
    let duty = duty.map(|duty| format!("{duty}{corner}"));
    duty.into_iter().chain(variant.map(str::to_owned)).collect::<Vec<_>>().join(", ")
}

/// A place before and now, where these differ.
fn moved_to(old: Option<String>, new: Option<String>) -> String {
    match (old, new) {
        (Some(old), Some(new)) if old != new && !old.is_empty() && !new.is_empty() => {
            format!("{old} -> {new}")
        }
        (old, new) => new.filter(|new| !new.is_empty()).or(old).unwrap_or_default(),
    }
}

/// Where a headroom is worst: duty point, corner, variant; before and now where these differ.
pub(crate) fn where_worst(compared: &Compared, change: &HeadroomChange) -> String {
    let is_named = !is_of_variants(compared);
    let at = |of: &Headroom| {
        let variant = of.variant_name.as_deref().filter(|_| is_named);
        place(of.duty.as_deref(), of.corner.as_deref(), variant)
    };
    moved_to(change.old.as_ref().map(at), change.new.as_ref().map(at))
}

/// Where a finding is worst, and where else; before and now where these differ.
pub(crate) fn where_found(compared: &Compared, turned: &Turned<'_>) -> String {
    let is_named = !is_of_variants(compared);
    let at = |finding: &Finding| {
        let variant = finding.variant_name.as_deref().filter(|_| is_named);
        place(finding.duty.as_deref(), None, variant)
    };
    let mut text = moved_to(turned.old.map(at), turned.new.map(at));
    let Some(finding) = turned.shown() else { return text };
    if finding.also_parts > 0 {
        text.push_str(&format!(" (also {}: +{})", finding.also.join(", "), finding.also_parts));
    }
    if let (Some(old), Some(new)) = (turned.old, turned.new)
        && old.part != new.part
    {
        text.push_str(&format!("\nbefore, {} was worst", old.part));
    }
    if let Some(also) = also_in_words(&finding.elsewhere) {
        text.push_str(&format!("\nalso in {also}"));
    }
    text.trim_start().to_owned()
}

/// A headroom before and now: `12 K -> -4 K`.
pub(crate) fn headroom(change: &HeadroomChange) -> String {
    let amount = |of: &Headroom| figure_text::headroom(&of.comparison);
    match (change.turn, change.old.as_ref().map(amount), change.new.as_ref().map(amount)) {
        (HeadroomTurn::NoLongerJudged | HeadroomTurn::Gone, Some(old), _) => format!("{old} before"),
        (_, Some(old), Some(new)) => format!("{old} -> {new}"),
        (_, old, new) => new.or(old).unwrap_or_default(),
    }
}

/// What a headroom is of, and its figures before and now.
pub(crate) fn compared_figures(change: &HeadroomChange) -> (String, Vec<String>) {
    let comparison = |of: &Option<Headroom>| of.as_ref().map(|of| of.comparison);
    let figure = change.new.as_ref().or(change.old.as_ref()).map_or("", |of| of.figure).replace('_', " ");
    let new = comparison(&change.new).filter(|_| change.turn != HeadroomTurn::NoLongerJudged);
    let mut figures = figures(comparison(&change.old).as_ref(), new.as_ref());
    // The headroom is said already.
    figures.truncate(2);
    (format!("{figure} ({})", change.check), figures)
}
