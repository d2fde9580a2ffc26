//! Ripple that capacitors do not stand, in words, and what would change it.

use loadworthy_unit::plan::{Bank, Bus, RippleTerm, Stage};
use loadworthy_unit::{Dimension, Edit, InputId, LaneId, Solved};

use super::{CURRENT, HOT, LIFE, NO_BANK, PEAK, RESONANCE, precharge, unsmoothed};
use crate::check::{Change, Failure, Family, Proposal, Told};
use crate::figure_text::{comparison, percent, value, written};
use crate::review::Place;
use crate::tell::{above, demand, part_at, place, policy_place};
use crate::verdict::Verdict;

/// Capacitors in parallel are tried up to so many times those at hand.
const MORE: [f64; 8] = [1.15, 1.3, 1.5, 1.75, 2.0, 2.5, 3.0, 4.0];
/// Voltages that capacitors are commonly rated for.
const RATED: [f64; 20] = [
    16.0, 25.0, 35.0, 50.0, 63.0, 80.0, 100.0, 160.0, 200.0, 250.0, 350.0, 400.0, 450.0, 500.0, 600.0, 700.0,
    800.0, 900.0, 1100.0, 1300.0,
];
/// Ratings that are tried.
const LARGER: usize = 3;

/// The bus that a verdict is about, with the bank where it is about one.
fn subject<'v>(worst: &Verdict, solved: &Solved<'v>) -> Option<(&'v Bus, Option<&'v Bank>)> {
    let plan = &solved.variant.plan;
    plan.buses.iter().find_map(|bus| {
        if bus.part == worst.part {
            return Some((bus, None));
        }
        let mut banks = bus.ripple.banks.iter().map(|&bank| &plan.banks[bank]);
        banks.find(|bank| bank.part == worst.part).map(|bank| (bus, Some(bank)))
    })
}

/// A bus that nothing smooths.
fn without_a_bank(bus: &Bus, solved: &Solved<'_>) -> Told {
    let variant = solved.variant;
    let name = variant.path(bus.part);
    let stages: Vec<&Stage> = unsmoothed(&variant.plan, bus).collect();
    let names = stages.iter().map(|stage| format!("`{}`", variant.path(stage.part))).collect::<Vec<_>>();
    let nothing =
        if bus.sources.is_empty() { "neither a bank nor a source stands" } else { "no bank stands" };
    let saying = format!("{nothing} on `{name}` to take up the ripple of {}", names.join(", "));
    let mut told = Told::new(saying, part_at(solved, bus.part, "nothing here takes up ripple".to_owned()));
    told.because =
        stages.iter().map(|stage| part_at(solved, stage.part, "sends its ripple there".to_owned())).collect();
    told.facts = vec![format!("ripple into {name}: {}", names.join(", "))];
    if let Some(branch) = precharge(&variant.plan, bus) {
        told.because.push(part_at(solved, branch, "is there to charge one".to_owned()));
        told.facts.push(format!("`{}` is there to charge a bank", variant.path(branch)));
    }
    told.worked = vec!["of a bus without a capacitor no ripple, no swing and no fade is reckoned".to_owned()];
    told.no_proposal = Some(format!(
        "describe the capacitors of {name}: an entry of `capacitors` of kind `bank` with `bus: {name}`"
    ));
    told
}

pub(super) fn told(worst: &Verdict, solved: &Solved<'_>) -> Option<Told> {
    let (bus, bank) = subject(worst, solved)?;
    if worst.defect == NO_BANK {
        return Some(without_a_bank(bus, solved));
    }
    let (variant, lane, compared) = (solved.variant, worst.lane()?, worst.comparison()?);
    let text = comparison(compared);
    let part = variant.path(worst.part);
    let saying = match worst.defect {
        CURRENT => {
            format!(
                "each capacitor of `{part}` carries {} rms, {}",
                text.carried,
                above(compared, "its rated ripple current")
            )
        }
        HOT => {
            format!("the hot spot of `{part}` comes to {}, {}", text.carried, above(compared, "its limit"))
        }
        LIFE => {
            let life = bank?.life?;
            let [lasts, asked] = [solved.figure(life.lasts, lane)?, solved.input(life.asked?.0, lane)?]
                .map(|time| value(time, Dimension::Time));
            format!(
                "the capacitors of `{part}` last {lasts} at their hot spot, by a rule of thumb, and have to last {asked}: that wears {} of their endurance, {}",
                text.carried,
                above(compared, "what they have")
            )
        }
        PEAK => format!("`{part}` holds up to {}, {}", text.carried, above(compared, "its rated voltage")),
        RESONANCE => resonates(bus, &text.carried, solved, lane)?,
        _ => format!("the voltage of `{part}` swings by {}, {}", text.carried, above(compared, "its mean")),
    };
    let label = format!("{} here", text.carried);
    let at = match (worst.defect, bank) {
        (LIFE, Some(bank)) => {
            let hot = value(solved.figure(bank.figures.hot_spot, lane)?, Dimension::Temperature);
            place(solved, bank.life?.asked?.0, lane, format!("asked; its hot spot comes to {hot}"))?
        }
        (CURRENT | HOT, Some(bank)) => place(solved, bank.parts, lane, parts_text(bank, solved, lane)?)?,
        _ => part_at(solved, worst.part, label),
    };
    let mut because: Vec<Place> = limit(worst.defect, bank, solved, lane).into_iter().collect();
    if worst.defect == PEAK {
        let highest = solved.figure(bus.highest_voltage, lane).map(|volts| value(volts, Dimension::Voltage));
        because.extend(highest.and_then(|volts| {
            place(solved, bus.highest, lane, format!("`{}` may come to {volts}", variant.path(bus.part)))
        }));
    } else {
        because.extend(largest(bus, solved, lane));
    }
    because.extend(compared.policy.and_then(|item| policy_place(solved, item)));
    Some(Told { because, worked: stages(bus, solved, lane), ..Told::new(saying, at) })
}

/// Which bank swings against what, and what drives it.
fn resonates(bus: &Bus, times: &str, solved: &Solved<'_>, lane: LaneId) -> Option<String> {
    let variant = solved.variant;
    let found = solved.resonant(bus, lane)?;
    let stage = &variant.plan.stages[found.stage];
    let [line, meets] = [found.line, found.meets].map(|hertz| value(hertz, Dimension::Frequency));
    let carrier = solved.input(stage.carrier, lane)?;
    let multiple = (found.line / carrier).round();
    let of = if multiple > 1.5 { format!("{multiple} times the carrier") } else { "the carrier".to_owned() };
    let [bank, beside, stage] = [found.bank, found.beside, stage.part].map(|part| variant.path(part));
    Some(format!(
        "`{bank}` carries {times} times what `{stage}` sends at {line}, {of}: it resonates with `{beside}` at {meets}"
    ))
}

fn parts_text(bank: &Bank, solved: &Solved<'_>, lane: LaneId) -> Option<String> {
    let amps = value(solved.figure(bank.figures.ripple_current, lane)?, Dimension::Current);
    let parts = value(solved.input(bank.parts, lane)?, Dimension::Ratio);
    Some(format!("{amps} rms divide among {parts}"))
}

/// What a capacitor is rated for.
fn limit(defect: &str, bank: Option<&Bank>, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    let each = &bank?.each;
    if defect == LIFE {
        let life = bank?.life?;
        let [hours, hot] = [(life.endurance, Dimension::Time), (life.hot_spot, Dimension::Temperature)]
            .map(|(input, dimension)| solved.input(input, lane).map(|of| value(of, dimension)));
        return place(solved, life.endurance, lane, format!("{} at {}", hours?, hot?));
    }
    let (input, dimension, what) = match defect {
        CURRENT => (each.ripple_current, Dimension::Current, "stands"),
        HOT => (each.hottest, Dimension::Temperature, "hot spot at most"),
        _ => (each.voltage, Dimension::Voltage, "rated"),
    };
    let label = format!("{what} {}", value(solved.input(input, lane)?, dimension));
    place(solved, input, lane, label)
}

/// What the duty point asks of the stage that sends most.
fn largest(bus: &Bus, solved: &Solved<'_>, lane: LaneId) -> Option<Place> {
    let sends = |term: &RippleTerm| solved.figure(term.current, lane).unwrap_or(0.0);
    let most = bus.ripple.terms.iter().max_by(|one, other| sends(one).total_cmp(&sends(other)))?;
    demand(&solved.variant.plan.stages[most.stage], solved, lane)
}

/// What each stage sends, a line for all.
fn stages(bus: &Bus, solved: &Solved<'_>, lane: LaneId) -> Vec<String> {
    let variant = solved.variant;
    let sends = |term: &RippleTerm| {
        let amps = solved.figure(term.current, lane).filter(|amps| *amps > 0.0)?;
        let stage = &variant.plan.stages[term.stage];
        let (name, amps) = (variant.path(stage.part), value(amps, Dimension::Current));
        let lines = solved.ripple_lines(term, lane);
        let strongest = lines.each().max_by(|one, other| one.1.total_cmp(&other.1))?;
        let at = value(strongest.0.si(), Dimension::Frequency);
        Some(format!("{name} {amps}, {} of its square at {at}", percent(strongest.1)))
    };
    let all: Vec<String> = bus.ripple.terms.iter().filter_map(sends).collect();
    if all.is_empty() { Vec::new() } else { vec![format!("ripple, RMS: {}", all.join(", "))] }
}

pub(super) fn propose(failure: &Failure<'_>, solved: &Solved<'_>) -> Vec<Family> {
    let Some((bus, bank)) = subject(failure.worst, solved) else { return Vec::new() };
    let Some(lane) = failure.worst.lane() else { return Vec::new() };
    let banks: Vec<&Bank> = match bank {
        Some(bank) => vec![bank],
        None => bus.ripple.banks.iter().map(|&bank| &solved.variant.plan.banks[bank]).collect(),
    };
    let families = match failure.worst.defect {
        PEAK => bank.map(|bank| higher_rating(bank, failure, solved, lane)),
        RESONANCE => Some(shorter_path(&banks, solved, lane)),
        _ => Some(more_parts(&banks, solved, lane)),
    };
    families.into_iter().collect()
}

/// More capacitors in parallel.
fn more_parts(banks: &[&Bank], solved: &Solved<'_>, lane: LaneId) -> Family {
    let mut ladder: Vec<Proposal> = Vec::new();
    let counts = |factor: f64| {
        let of = |bank: &&Bank| {
            let now = solved.input(bank.parts, lane)?;
            Some((bank.parts, now, (now * factor).ceil().max(now + 1.0)))
        };
        banks.iter().map(of).collect::<Option<Vec<(InputId, f64, f64)>>>()
    };
    for steps in MORE.into_iter().filter_map(counts) {
        let text = |count: f64| value(count, Dimension::Ratio);
        let say: Vec<String> =
            steps.iter().map(|(_, now, more)| format!("parts: {} -> {}", text(*now), text(*more))).collect();
        let say = say.join(", ");
        let edits = steps.iter().map(|&(input, _, more)| (Edit { input, value: more }, text(more))).collect();
        if ladder.last().is_none_or(|last| last.say != say) {
            ladder.push(Proposal { say, change: Change::Edit(edits) });
        }
    }
    Family { tried: "up to four times as many capacitors".to_owned(), ladder }
}

/// Capacitors for more voltage.
fn higher_rating(bank: &Bank, failure: &Failure<'_>, solved: &Solved<'_>, lane: LaneId) -> Family {
    let now = solved.input(bank.each.voltage, lane).unwrap_or(f64::NAN);
    let compared = failure.worst.comparison();
    let needed =
        compared.map_or(f64::NAN, |compared| compared.carried_value * compared.limit / compared.allowed);
    let enough = RATED.iter().filter(|&&volts| volts >= needed).take(LARGER);
    let ladder: Vec<Proposal> = enough
        .map(|&volts| {
            let text = written(volts, Dimension::Voltage);
            let say = format!("capacitors rated {} -> {text}", value(now, Dimension::Voltage));
            Proposal {
                say,
                change: Change::Edit(vec![(Edit { input: bank.each.voltage, value: volts }, text)]),
            }
        })
        .collect();
    Family { tried: "capacitors for more voltage".to_owned(), ladder }
}

/// Less inductance between the banks and their bus.
fn shorter_path(banks: &[&Bank], solved: &Solved<'_>, lane: LaneId) -> Family {
    let steps = [0.5, 0.25, 0.1].into_iter().filter_map(|factor| {
        let edit = |bank: &&Bank| {
            let henry = crate::steps::as_written(solved.input(bank.path_inductance, lane)? * factor);
            Some((Edit { input: bank.path_inductance, value: henry }, written(henry, Dimension::Inductance)))
        };
        let edits = banks.iter().map(edit).collect::<Option<Vec<_>>>()?;
        let say = format!("{} of the path inductance of each bank", percent(factor));
        Some(Proposal { say, change: Change::Edit(edits) })
    });
    Family { tried: "path inductances down to 10 %".to_owned(), ladder: steps.collect() }
}
