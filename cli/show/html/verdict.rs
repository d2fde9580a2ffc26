//! The verdict in one glance: how it ends, the weakest point, why, and what to change; then all findings in short.

use loadworthy_checks::figure_text;
use loadworthy_checks::review::{Finding, also_in_words};
use loadworthy_checks::verdict::Grade;

use crate::described::MORE_PROBLEMS;
use crate::outcome::Outcome;
use crate::permits::Accepted;
use crate::reviewed::Made;
use crate::show::layout::{counted, cut, free_text};
use crate::show::stress::Stresses;
use crate::show::stress::rows::what;
use crate::show::words::permit;
use crate::tally::{ByGrade, Ends};

use super::finding::linked;
use super::gauge::gauge;
use super::markup::{Markup, prose};
use super::numbers::{Number, numbered};
use super::table::{cell, filled, head, region};

/// Characters of a unit's name that are shown.
pub(crate) const LONGEST_NAME: usize = 400;

/// How a review ends, in words.
pub(crate) const fn word(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Holds => "Holds, as far as it is judged",
        Outcome::NotJudged => "Not judged in full",
        Outcome::Fails => "Does not hold",
        Outcome::Unreadable => "Could not be read in full",
    }
}

/// How the review of a file ends, with what stands below the asked grade.
pub(crate) fn headline(ends: Ends, findings: &[Finding]) -> String {
    let grade = match ends {
        Ends::HoldsAtMajor => Grade::Major,
        Ends::HoldsAtMinor => Grade::Minor,
        _ => return word(ends.outcome()).to_owned(),
    };
    let ByGrade { minor, note, .. } = ByGrade::of(findings);
    let below = [(minor, "minor finding", "minor findings"), (note, "note", "notes")];
    let below = below.into_iter().filter(|(number, ..)| *number > 0);
    let below = below.map(|(number, one, several)| counted(number, one, several)).collect::<Vec<_>>();
    format!("Holds at grade {}; {}", grade.word(), below.join(", "))
}

/// The mark that says it without colour.
pub(crate) const fn mark(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Holds => "○",
        Outcome::NotJudged => "?",
        Outcome::Fails | Outcome::Unreadable => "✕",
    }
}

const fn class(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Holds => "holds",
        Outcome::NotJudged => "open",
        Outcome::Fails | Outcome::Unreadable => "fails",
    }
}

/// What the sheet is about: the unit, its revision, over what it was reviewed.
pub(crate) fn plate(made: &Made) -> Markup {
    let Made { described, besides, .. } = made;
    let unit = &described.unit;
    let mut out = Markup::new();
    let name = unit.name.as_deref().filter(|name| !name.trim().is_empty());
    let name = name.map_or_else(|| described.name.clone(), |name| cut(name, LONGEST_NAME));
    out.raw("<div class=\"plate\">\n<div><h1>").text(&name).raw("</h1>\n<p class=\"aside\">Review of <code>");
    out.text(&described.name).raw("</code>");
    if let Some(day) = besides.day {
        out.raw("; permits ").text(&permit::held_against(day));
    }
    out.raw("</p>");
    if let Some(note) = unit.note.as_deref().filter(|note| !note.trim().is_empty()) {
        out.element("\n<p class=\"note\">", &free_text(note), "</p>");
    }
    out.raw("</div>\n<dl>");
    let duties = unit.variants.iter().map(|variant| variant.duties.len()).max().unwrap_or_default();
    let variants = unit.variants.iter().filter(|variant| variant.name.is_some()).count();
    let revision = unit.revision.as_deref().map_or_else(|| "–".to_owned(), free_text);
    let edition = unit.edition.map_or_else(|| "–".to_owned(), |edition| edition.to_string());
    for (name, said) in [
        ("Revision", revision),
        ("Edition", edition),
        ("Duty points", duties.to_string()),
        ("Variants", if variants == 0 { "–".to_owned() } else { variants.to_string() }),
    ] {
        out.raw("<div><dt>").raw(name).element("</dt><dd>", &said, "</dd></div>");
    }
    out.raw("</dl>\n</div>\n");
    out
}

/// The stamp and the weakest point.
pub(crate) fn verdict(made: &Made, ends: Ends, sheet: usize) -> Markup {
    let outcome = ends.outcome();
    let mut out = Markup::new();
    out.raw("<section class=\"verdict ").raw(class(outcome)).raw("\">\n<div class=\"stamp\"><h2>");
    out.raw(mark(outcome))
        .raw(" ")
        .text(&headline(ends, &made.review.findings))
        .raw("</h2>\n<ul class=\"says\">");
    for (name, said) in counts(made) {
        out.element("<li><span>", &name, "</span> ").element("<span class=\"num\">", &said, "</span></li>");
    }
    out.raw("</ul></div>\n<div class=\"weakest\">\n").join(&weakest(made, sheet)).raw("</div>\n</section>\n");
    out
}

fn counts(made: &Made) -> Vec<(String, String)> {
    let Made { described, review, .. } = made;
    let counts = review.counts;
    let mut all = Vec::new();
    if !described.problems.is_empty() {
        let listed = described.problems.iter().filter(|one| one.kind != MORE_PROBLEMS).count();
        let more = if listed < described.problems.len() { "more than " } else { "" };
        all.push(("problems".to_owned(), format!("{more}{listed}")));
    }
    for grade in [Grade::Major, Grade::Minor, Grade::Note] {
        let number = review.findings.iter().filter(|finding| finding.grade == grade).count();
        if number > 0 {
            let noun = match (grade, number) {
                (Grade::Note, 1) => "note".to_owned(),
                (Grade::Note, _) => "notes".to_owned(),
                (grade, 1) => format!("{} finding", grade.word()),
                (grade, _) => format!("{} findings", grade.word()),
            };
            all.push((noun, number.to_string()));
        }
    }
    if !review.accepted.is_empty() {
        let noun = if review.accepted.len() == 1 { "finding" } else { "findings" };
        all.push((format!("{noun} accepted by permit"), review.accepted.len().to_string()));
    }
    all.push(("verdicts that hold".to_owned(), counts.hold.to_string()));
    all.push(("that fail".to_owned(), counts.fail.to_string()));
    if counts.accepted > 0 {
        all.push(("of which accepted".to_owned(), counts.accepted.to_string()));
    }
    all.push(("not judged".to_owned(), counts.not_judged.to_string()));
    all
}

/// The finding that matters most, or what has least headroom.
fn weakest(made: &Made, sheet: usize) -> Markup {
    let mut out = Markup::new();
    let Made { described, review, .. } = made;
    let all: Vec<usize> = (0..described.unit.variants.len()).collect();
    let stresses = Stresses::of(
        &described.unit,
        review,
        &all,
        None,
        &Accepted::on(&described.unit, review, made.besides.day),
    );
    let least = stresses.worst.iter().find_map(|stress| Some((stress, stress.verdict.comparison()?)));
    // What is merely worth knowing is no weaker than the least headroom.
    let tells = |finding: &&Finding| finding.grade != Grade::Note || least.is_none();
    if let Some(finding) = review.findings.first().filter(tells) {
        out.raw("<h3>Weakest point ");
        linked(&mut out, sheet, Number(1));
        out.raw(" <span class=\"").raw(finding.grade.word()).raw("\"><span class=\"grade\">");
        out.raw(finding.grade.word()).raw("</span></span> <code>").path(&finding.part).raw("</code></h3>\n");
        out.raw("<p class=\"lead\">").join(&prose(&finding.saying)).raw("</p>\n");
        out.element("<p class=\"where\">", &place(finding), "</p>\n");
        if let Some(compared) = &finding.comparison {
            out.join(&gauge(compared));
        }
        out.join(&change(finding));
        return out;
    }
    match least {
        Some((stress, compared)) => {
            let text = figure_text::comparison(compared);
            let (part, what) =
                (stress.variant.path(stress.verdict.part), what(stress.variant, stress.verdict));
            let fails = stress.verdict.fails();
            out.raw(if fails { "<h3>Worst that is accepted " } else { "<h3>Nearest to what is allowed " });
            out.element("<code>", part, "</code></h3>\n<p class=\"lead\">").text(&what).raw(": carried ");
            out.text(&text.carried).raw(", allowed ").text(&text.allowed).raw(", ").text(&text.headroom);
            out.raw("</p>\n");
            let duty = crate::show::stress::duty_of(stress.variant, stress.verdict);
            let at: Vec<&str> = duty.into_iter().chain(stress.variants.iter().copied()).collect();
            out.element("<p class=\"where\">", &at.join(", "), "</p>\n");
            out.join(&gauge(compared));
        }
        None => {
            out.raw(
                "<h3>Nothing was compared</h3>\n<p class=\"lead\">What is missing is listed below.</p>\n",
            );
        }
    }
    if let [first, more @ ..] = review.not_judged.as_slice() {
        out.element("<p class=\"change\"><b>What to state</b> <strong>", &first.missing, "</strong>");
        if !more.is_empty() {
            out.element("; ", &counted(more.len(), "other input", "other inputs"), " below");
        }
        out.raw("</p>\n");
    }
    out
}

/// Duty point, corner and variant of a finding in a line.
fn place(finding: &Finding) -> String {
    let mut parts: Vec<String> = finding.duty.iter().chain(&finding.variant_name).cloned().collect();
    parts.extend(finding.corner.clone());
    parts.extend(also_in_words(&finding.elsewhere).map(|also| format!("also in {also}")));
    parts.join("; ")
}

/// The first change that holds.
pub(crate) fn change(finding: &Finding) -> Markup {
    let mut out = Markup::new();
    match (finding.proposals.as_slice(), &finding.no_proposal) {
        ([first, more @ ..], _) => {
            out.element("<p class=\"change\"><b>What to change</b> <strong>", &first.say, "</strong>");
            out.element(" leaves ", &first.leaves, "");
            if !more.is_empty() {
                let other = counted(more.len(), "other way", "other ways");
                out.element("; ", &other, " below");
            }
            out.raw("</p>\n");
        }
        ([], Some(why)) => {
            out.element("<p class=\"change\"><b>No proposal</b> ", why, "</p>\n");
        }
        ([], None) => {}
    }
    out
}

/// Every finding in a line: number, part, by how much, where, what to change.
pub(crate) fn in_short(made: &Made, sheet: usize) -> Markup {
    let mut out = Markup::new();
    let review = &made.review;
    if review.findings.len() + review.accepted.len() < 2 {
        return out;
    }
    region(&mut out, "All findings in short", sheet);
    out.raw("<table class=\"stack\" role=\"table\">\n");
    head(&mut out, &["Part", "By how much", "Where", "What to change"]);
    for (number, finding) in numbered(review) {
        out.raw("<tr role=\"row\"><th scope=\"row\" role=\"rowheader\">");
        linked(&mut out, sheet, number);
        out.raw(" ").path(&finding.part).raw("<br><span class=\"").raw(finding.grade.word());
        out.raw("\"><span class=\"grade\">").raw(if finding.is_accepted() { "accepted, " } else { "" });
        out.raw(finding.grade.word()).raw("</span></span> <span class=\"check\">").raw(finding.check);
        out.raw("</span></th>");
        filled(&mut out, "By how much", &prose(&by_how_much(finding)));
        cell(&mut out, "Where", &place(finding));
        let change = match (finding.proposals.first(), &finding.no_proposal) {
            (Some(held), _) => held.say.clone(),
            (None, Some(why)) => format!("no proposal: {why}"),
            (None, None) => "–".to_owned(),
        };
        cell(&mut out, "What to change", &change);
        out.raw("</tr>\n");
    }
    out.raw("</tbody></table></div>\n");
    out
}

fn by_how_much(finding: &Finding) -> String {
    match &finding.comparison {
        Some(compared) => {
            let text = figure_text::comparison(compared);
            format!("{}: {} of {} allowed", text.headroom, text.carried, text.allowed)
        }
        None => finding.saying.clone(),
    }
}
