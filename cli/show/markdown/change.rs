//! A comparison as Markdown, for a comment beside the change itself: what it does first, then what is new or worse, what
//! changed, each such finding folded, what is better, what permits accept, and headrooms.

use loadworthy_checks::compare::{FindingChange, HeadroomChange, HeadroomTurn, Turn, together};
use loadworthy_checks::review::Finding;

use crate::arguments;
use crate::compared::{Change, Compared, Side};
use crate::described::Described;
use crate::files::shown_name;
use crate::reviewed::Made;
use crate::show::cautions;
use crate::show::compare::said::{self, Turned};
use crate::show::layout::{counted, cut, free_text};
use crate::show::words::finding::quoted;

use crate::tally::Ends;

use super::block::item;
use super::escape::{code, text, value};
use super::file::{found, incomplete, missing, permits, problems};
use super::room::{Section, fitted};
use super::{finding, foot, table, verdict};

/// Headrooms that are shown of those that fell, and of those that rose.
const FIRST_HEADROOMS: [usize; 2] = [10, 5];
/// Characters of a name of a side, and of what is said in a cell.
const LONGEST: usize = 160;

/// A comparison.
pub(crate) fn comparison(compared: &Compared, asked: &arguments::Compare) -> String {
    let Some(change) = &compared.change else { return unread(compared, asked) };
    let first = format!(
        "**{}**; {}; {}; {}.\n\n{}{}\n",
        capital(said::verdict(change)),
        text(&said::findings(&change.effects)),
        text(&said::headrooms(&change.effects)),
        text(&said::changes(change)),
        about(&compared.new),
        sides(compared, asked)
    );
    let review = compared.new.whole().map(|made| &made.review);
    fitted(&first, sections(compared, change, asked), &foot(review.map(cautions::of).unwrap_or_default()))
}

fn capital(word: &str) -> String {
    let mut characters = word.chars();
    characters.next().map_or_else(String::new, |first| first.to_uppercase().chain(characters).collect())
}

/// The unit that it is about, as it is now.
fn about(side: &Side) -> String {
    let unit = side.made.as_ref().ok().map(|made| &made.described.unit);
    let name = unit.and_then(|unit| unit.name.as_deref());
    name.map_or_else(String::new, |name| format!("{}\n\n", text(&free_text(name))))
}

/// How each side stands by itself.
fn sides(compared: &Compared, asked: &arguments::Compare) -> String {
    let mut shown = table::head(&[
        "side",
        "of",
        "verdict",
        "findings",
        "hold",
        "fail",
        "of which accepted",
        "not judged",
    ]);
    for (which, side) in [("before", &compared.old), ("after", &compared.new)] {
        let mut cells = vec![which.to_owned(), code(&cut(&side.name, LONGEST))];
        match &side.made {
            Err(why) => {
                cells.extend(["not read".to_owned(), text(&cut(why, LONGEST))]);
                cells.extend(["–"; 4].map(str::to_owned));
            }
            Ok(made) => {
                let counts = made.review.counts;
                let ends = Ends::of(made.outcome(asked.grade), asked.grade, &made.review.findings);
                cells.push(verdict(ends).to_lowercase());
                cells.push(text(&found(&made.described, &made.review).unwrap_or_else(|| "none".to_owned())));
                let numbers = [counts.hold, counts.fail, counts.accepted, counts.not_judged];
                cells.extend(numbers.map(|number| number.to_string()));
            }
        }
        shown.push_str(&table::row(&cells));
    }
    shown
}

/// What keeps two sides from being compared.
fn unread(compared: &Compared, asked: &arguments::Compare) -> String {
    let first = format!(
        "**Not compared**: what is void in a side would look like a change.\n\n{}\n",
        sides(compared, asked)
    );
    let of_side = |(which, side): (&str, &Side)| {
        let blocks = side.made.as_ref().map_or_else(|_| Vec::new(), |made| problems(&made.described));
        let head = format!("**Problems {which} the change**:\n\n");
        let command = command(asked, "compare");
        Section { head, blocks, more: ("problem", "problems"), command, ..Section::default() }
    };
    fitted(&first, [("before", &compared.old), ("after", &compared.new)].map(of_side).into(), &foot([]))
}

fn sections(compared: &Compared, change: &Change, asked: &arguments::Compare) -> Vec<Section> {
    const WORSE: &[Turn] = &[Turn::New, Turn::NoLongerAccepted, Turn::Worse];
    const BETTER: &[Turn] = &[Turn::NowAccepted, Turn::Better, Turn::Gone];
    let command = command(asked, "compare --all");
    let section = |rank, head: &str, blocks: Vec<String>, more| Section {
        rank,
        head: head.to_owned(),
        blocks,
        more,
        command: command.clone(),
        ..Section::default()
    };
    let of = |turns: &'static [Turn]| of_turns(compared, change, turns);
    let rows =
        |turns| of(turns).iter().map(|(turn, turned)| row(compared, *turn, turned)).collect::<Vec<_>>();
    let head = |title: &str| format!("**{title}**:\n\n{}", table::head(&table::TURNED));
    let finding = ("finding", "findings");
    let day = compared.new.made.as_ref().ok().and_then(|made| made.besides.day);
    let details = of(WORSE)
        .iter()
        .filter_map(|(turn, turned)| detail(*turn, turned, old_of(compared, turned)))
        .collect();
    let accepted = of(&Turn::ALL).iter().filter_map(|(turn, turned)| accepted(*turn, turned)).collect();
    let changes = change.difference.changes.iter().map(|one| changed(compared, one)).collect();
    let changes_head = table::head(&["change", "of", "from → to", "where"]);
    let mut all = vec![
        section(1, &head("New or worse"), rows(WORSE), finding),
        section(
            3,
            "**Not judged any more**, which is not a pass:\n\n",
            unjudged(compared, change, true),
            ("reason", "reasons"),
        ),
        section(2, &format!("**What changed**:\n\n{changes_head}"), changes, ("change", "changes")),
        section(5, "", details, ("finding in full", "findings in full")),
        section(4, &head("Better or gone"), rows(BETTER), finding),
        section(
            9,
            "**Judged now**, and not before:\n\n",
            unjudged(compared, change, false),
            ("reason", "reasons"),
        ),
        section(6, &permits(day), accepted, ("accepted finding", "accepted findings")),
    ];
    all.extend(headrooms(compared, change, asked.all).map(|(head, blocks, beyond)| Section {
        beyond,
        ..section(7, &head, blocks, ("headroom", "headrooms"))
    }));
    let unchanged = rows(&[Turn::Unchanged]);
    all.push(if asked.all {
        section(8, &head("As before"), unchanged, finding)
    } else {
        let number = counted(unchanged.len(), "finding is", "findings are");
        let said = (!unchanged.is_empty()).then(|| format!("{} as before: {command}\n", text(&number)));
        section(8, "", said.into_iter().collect(), ("line", "lines"))
    });
    all
}

/// The command that shows the comparison to a person.
fn command(asked: &arguments::Compare, command: &str) -> String {
    let mut words = vec![format!("loadworthy {command}"), quoted(&shown_name(&asked.old))];
    words.extend(asked.new.as_ref().map(|new| quoted(&shown_name(new))));
    words.extend(asked.base.as_ref().map(|base| format!("--base {}", quoted(base))));
    words.extend(asked.at.as_ref().map(|at| format!("--at {}", quoted(at))));
    if let [old, new] = asked.variants.as_slice() {
        words.push(format!("--variants {} {}", quoted(old), quoted(new)));
    }
    words.extend(
        asked.with.iter().map(|(path, value)| format!("--with {}", quoted(&format!("{path}={value}")))),
    );
    code(&cut(&words.join(" "), 3 * LONGEST))
}

/// Findings that turned in one of these ways, in the order of the comparison.
fn of_turns<'c>(compared: &'c Compared, change: &'c Change, turns: &[Turn]) -> Vec<(Turn, Turned<'c>)> {
    let of_turn = change.effects.findings.iter().filter(|one| turns.contains(&one.turn));
    of_turn.filter_map(|one: &FindingChange| Some((one.turn, Turned::of(compared, one)?))).collect()
}

fn old_of<'c>(compared: &'c Compared, turned: &Turned<'c>) -> Option<(&'c Described, &'c Finding)> {
    Some((&compared.old.made.as_ref().ok()?.described, turned.old?))
}

fn row(compared: &Compared, turn: Turn, turned: &Turned<'_>) -> String {
    let new = turned.new.map(|finding| (&turned.made.described, finding));
    table::turned(turn.words(), old_of(compared, turned), new, !said::is_of_variants(compared))
}

fn detail(turn: Turn, turned: &Turned<'_>, old: Option<(&Described, &Finding)>) -> Option<String> {
    let Made { described, besides, .. } = turned.made;
    Some(finding::turned(turn.words(), old, (described, turned.new?), besides.day))
}

/// A finding that a permit accepts after the change, and whether it did before.
fn accepted(turn: Turn, turned: &Turned<'_>) -> Option<String> {
    let finding = turned.new.filter(|finding| finding.is_accepted())?;
    let Made { described, besides, .. } = turned.made;
    let lead = match turn {
        Turn::Unchanged => finding.grade.word().to_owned(),
        _ => format!("{}, {}", turn.words(), finding.grade.word()),
    };
    Some(finding::accepted(described, finding, &lead, besides.day))
}

/// A change of the description as a row.
fn changed(compared: &Compared, change: &loadworthy_language::difference::Change) -> String {
    let said = said::change(change);
    let place = |side: &Side, at: Option<_>| {
        let made = side.made.as_ref().ok()?;
        Some(table::place(&made.described.tree, at?))
    };
    let at = place(&compared.new, said.at).or_else(|| place(&compared.old, said.was_at));
    let mut what = said.what.iter().map(|one| value(&cut(one, LONGEST))).collect::<Vec<_>>().join(" → ");
    if let Some(remark) = &said.remark {
        what.push_str(&format!(" ({})", text(remark)));
    }
    table::row(&[said.word.to_owned(), table::name(&said.path), what, at.unwrap_or_default()])
}

/// What is not judged on one side alone.
fn unjudged(compared: &Compared, change: &Change, is_new: bool) -> Vec<String> {
    let side = if is_new { &compared.new } else { &compared.old };
    let Ok(Made { described, review, .. }) = &side.made else { return Vec::new() };
    let of_side = change.effects.unjudged.iter().filter(|one| one.is_new == is_new);
    let one_side = of_side.filter_map(|one| review.not_judged.get(one.place));
    let mut lines = one_side.map(|one| missing(described, one)).collect::<Vec<_>>();
    if is_new {
        lines.extend(incomplete(described, review));
    }
    lines.iter().map(|line| item("", line)).collect()
}

/// Headrooms of which less is left, and those of which more is: the head of each table, its rows, and how many more there are.
fn headrooms(compared: &Compared, change: &Change, all: bool) -> [(String, Vec<String>, usize); 2] {
    use HeadroomTurn::{Fell, New, NoLongerJudged, NowJudged, Rose};
    let together = together(&change.effects.headrooms);
    let tables: [(&str, &[HeadroomTurn], usize); 2] = [
        ("Less headroom", &[NoLongerJudged, Fell, New], FIRST_HEADROOMS[0]),
        ("More headroom", &[NowJudged, Rose], FIRST_HEADROOMS[1]),
    ];
    tables.map(|(title, turns, first)| {
        let of_turns = together.iter().filter(|one| turns.contains(&one.0.turn)).collect::<Vec<_>>();
        let shown = if all { of_turns.len() } else { first.min(of_turns.len()) };
        let rows = of_turns[..shown].iter().map(|(one, alike)| headroom(compared, one, *alike)).collect();
        let columns = ["change", "part", "what", "carried", "allowed", "headroom", "worst in"];
        (format!("**{title}**:\n\n{}", table::head(&columns)), rows, of_turns.len() - shown)
    })
}

fn headroom(compared: &Compared, change: &HeadroomChange, alike: usize) -> String {
    let mut part = table::name(&change.part);
    if alike > 0 {
        part.push_str(&format!(" (+{alike} alike)"));
    }
    let (figure, figures) = said::compared_figures(change);
    let arrows = |said: &str| text(&cut(said, LONGEST).replace(" -> ", " → "));
    let figure_of = |place: usize| {
        let said =
            figures.get(place).map_or("–", |said| said.split_once(' ').map_or("–", |(_, said)| said));
        arrows(said)
    };
    let place = said::where_worst(compared, change);
    let places = place.split(" -> ").map(table::name).collect::<Vec<_>>().join(" → ");
    table::row(&[
        change.turn.words().to_owned(),
        part,
        text(&figure),
        figure_of(0),
        figure_of(1),
        arrows(&said::headroom(change)),
        if place.is_empty() { "always".to_owned() } else { places },
    ])
}
