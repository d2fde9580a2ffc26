//! The balance for a person at a terminal.

use loadworthy_checks::corner;
use loadworthy_checks::figure_text;
use loadworthy_unit::{Dimension, LaneState};

use crate::described::Described;
use crate::show::layout::{WIDTH, hanging, width};
use crate::show::terminal::{self, CAUTION, Paint};
use crate::show::why;

use super::account::{Account, Sum};
use super::coolant::{Passed, What, passed};
use super::table::{Scales, table};

const MARGIN: usize = 13;
/// Reasons for which something is missing that are told.
const MOST_MISSING: usize = 8;
/// Room for what the coolant passes, and for each column of numbers.
const NAMES: usize = 30;
const COLUMN: usize = 10;

/// Every account that was asked for; variants that read alike share one.
pub(crate) fn balance(described: &Described, accounts: &[Account<'_, '_>], paint: Paint) -> String {
    let mut text = terminal::heading(described, paint);
    text.push('\n');
    let mut told: Vec<(&Account<'_, '_>, Vec<&str>, String)> = Vec::new();
    for account in accounts {
        let variant = account.solved.variant;
        let body = body(described, account, paint);
        let name = |account: &Account<'_, '_>| account.solved.variant.duty_of(account.lane).name.clone();
        let alike =
            told.iter_mut().rev().find(|(other, _, text)| name(other) == name(account) && *text == body);
        match alike {
            Some((_, variants, _)) => variants.extend(variant.name.as_deref()),
            None => told.push((account, variant.name.as_deref().into_iter().collect(), body)),
        }
    }
    for (account, variants, body) in &told {
        text.push_str(&head(account, variants, paint));
        text.push_str(body);
        text.push('\n');
    }
    if told.is_empty() {
        let why = format!("nothing: no duty point could be read ({})", described.name);
        text.push_str(&paint.wrong("not known", &hanging("not known", MARGIN, &why)));
        text.push('\n');
    }
    text.push_str(&paint.faint(CAUTION));
    text.push('\n');
    text
}

/// Duty point, variants, how long, and in which corner.
fn head(account: &Account<'_, '_>, variants: &[&str], paint: Paint) -> String {
    let duty = account.solved.variant.duty_of(account.lane);
    let names: Vec<&str> = std::iter::once(duty.name.as_str()).chain(variants.iter().copied()).collect();
    let name = names.join(", ");
    let lasts = match duty.lasts {
        Some(lasts) => format!("lasts {}, shown as if held", figure_text::value(lasts, Dimension::Time)),
        None => "continuous".to_owned(),
    };
    let free = WIDTH.saturating_sub(6 + width(&name) + width(&lasts));
    let mut text = if free >= 3 {
        format!("duty  {name}{}{lasts}\n", " ".repeat(free))
    } else {
        format!("{}{}", hanging("duty", 6, &name), hanging("", 6, &lasts))
    };
    if let (Some(corner), 2..) = (corner::long(account.solved.variant.lane(account.lane)), account.corners) {
        let which = match account.state() {
            LaneState::Solved { .. } => format!("{corner}: most loss of {} corners", account.corners),
            LaneState::NoSolution { .. } | LaneState::Undecided { .. } => corner,
        };
        text.push_str(&hanging("", 6, &which));
    }
    paint.heading("duty", &text)
}

fn body(described: &Described, account: &Account<'_, '_>, paint: Paint) -> String {
    let why = || {
        let said = |cause| why::missing(described, account.solved.variant, account.lane, cause);
        let mut lines: Vec<String> = Vec::new();
        for line in account.missing.iter().copied().map(said) {
            if !lines.contains(&line) {
                lines.push(line);
            }
        }
        lines
    };
    let lines = |word: &str, lines: Vec<String>| {
        let line = |line: &String| paint.wrong(word, &hanging(word, MARGIN, line));
        let mut text = lines.iter().take(MOST_MISSING).map(line).collect::<String>();
        if lines.len() > MOST_MISSING {
            text.push_str(&format!("+{} more {word}, `--format json`\n", lines.len() - MOST_MISSING));
        }
        text
    };
    match account.state() {
        LaneState::NoSolution { .. } | LaneState::Undecided { .. } => return lines("not solved", why()),
        LaneState::Solved { .. } => {}
    }
    let scales = Scales::of(account);
    let mut text = table(account, &scales);
    text.push_str(&summary(&account.sum, &scales, paint));
    text.push_str(&lines("missing", why()));
    text.push_str(&coolant(account, &scales, paint));
    text
}

fn summary(sum: &Sum, scales: &Scales, paint: Paint) -> String {
    let mut text = String::new();
    let mut put =
        |word: &str, said: String| text.push_str(&paint.heading(word, &hanging(word, MARGIN, &said)));
    if let (Some(into), Some(out), Some(losses), Some(residual), Some(share)) =
        (sum.into, sum.out, sum.losses, sum.residual(), sum.residual_share())
    {
        let closes = if sum.closes() { "" } else { ": IT DOES NOT ADD UP" };
        put(
            "balance",
            format!(
                "in {} = out {} + losses {}\nresidual {}, {} of in{closes}",
                scales.powers.text(into),
                scales.powers.text(out),
                scales.losses.text(losses),
                small(residual),
                small_share(share),
            ),
        );
    } else {
        put("balance", "not known: a term of it is missing".to_owned());
    }
    let heat = [(sum.to_coolant, "into the coolant"), (sum.to_air, "to the air")];
    let heat = heat.iter().filter_map(|(value, to)| {
        let value = value.filter(|value| *value > 0.0)?;
        Some(format!("{} {to}", scales.losses.text(value)))
    });
    let heat = heat.collect::<Vec<_>>();
    if !heat.is_empty() {
        put("heat", heat.join(", "));
    }
    if let Some(inside) = sum.inside_sources.filter(|inside| *inside > 0.0) {
        put(
            "besides",
            format!("({}) lost inside the sources, before their terminals", scales.losses.text(inside)),
        );
    }
    let left_out = [
        (sum.conductors, "in conductors, of ripple and of copper warmer than the air"),
        (sum.capacitors, "in capacitors"),
        (sum.resistors, "in discharge resistors"),
    ];
    let is_something = |value: f64| scales.losses.number(value).contains(|c: char| ('1'..='9').contains(&c));
    let left_out = left_out.iter().filter_map(|(value, at)| {
        let value = value.filter(|&value| value > 0.0 && is_something(value))?;
        Some(format!("({}) {at}", scales.losses.text(value)))
    });
    let left_out = left_out.collect::<Vec<_>>();
    if !left_out.is_empty() {
        put("left out", format!("{}: lost, but drawn from no bus above", left_out.join(", ")));
    }
    text
}

/// A power that should be none.
fn small(residual: f64) -> String {
    /// Powers below this are told alike.
    const LEAST: f64 = 1e-3;
    if residual.abs() < LEAST {
        "below 1 mW".to_owned()
    } else {
        figure_text::with_digits(residual, Dimension::Power, 2)
    }
}

/// A share that should be none.
fn small_share(share: f64) -> String {
    /// Shares below this are told alike.
    const LEAST: f64 = 1e-6;
    if share < LEAST { "below 0.0001 %".to_owned() } else { figure_text::percent(share) }
}

fn coolant(account: &Account<'_, '_>, scales: &Scales, paint: Paint) -> String {
    let passed = passed(account);
    if passed.is_empty() {
        return String::new();
    }
    let heat = format!("heat {}", scales.losses.unit);
    let head = line("coolant", ["L/min", "in °C", "out °C", &heat, "drop kPa"].map(str::to_owned));
    let mut text = paint.heading("coolant", &head);
    let mut flow = None;
    for one in &passed {
        // Along a row the flow is the same and told once.
        let is_told = matches!(one.what, What::Element | What::Split | What::Together | What::Outlet);
        let shown = one.flow.filter(|_| !is_told || flow.is_none());
        flow = flow.or(one.flow);
        text.push_str(&element(one, shown, scales));
    }
    text
}

fn element(one: &Passed<'_>, flow: Option<f64>, scales: &Scales) -> String {
    const DEEPEST: usize = 6;
    let indent = " ".repeat(2 * (one.depth.min(DEEPEST) + 1));
    let name = match one.what {
        What::Inlet => "inlet".to_owned(),
        What::Outlet => "outlet".to_owned(),
        What::Element => one.part.to_owned(),
        What::Split => format!("{} divides", one.part),
        What::Together => format!("{} together", one.part),
        What::Branch => {
            let share = one.share.map(|share| format!(" {}", figure_text::percent(share)));
            format!("{}{}", one.part, share.unwrap_or_default())
        }
    };
    let fixed = |value: Option<f64>, factor: f64, decimals: usize| {
        value.map(|value| format!("{:.*}", decimals, value * factor)).unwrap_or_default()
    };
    let unknown =
        |text: String, is_wanted: bool| if text.is_empty() && is_wanted { "–".to_owned() } else { text };
    let is_element = one.what == What::Element;
    line(
        &format!("{indent}{name}"),
        [
            unknown(fixed(flow, 60_000.0, 2), one.what == What::Branch && one.flow.is_none()),
            unknown(fixed(one.coolant_in, 1.0, 1), is_element || one.what == What::Outlet),
            unknown(
                fixed(one.coolant_out, 1.0, 1),
                matches!(one.what, What::Element | What::Inlet | What::Together),
            ),
            unknown(one.heat.map(|heat| scales.losses.number(heat)).unwrap_or_default(), is_element),
            fixed(one.drop, 1e-3, 2),
        ],
    )
}

fn line(name: &str, numbers: [String; 5]) -> String {
    let right = |text: String| format!("{}{text}", " ".repeat(COLUMN.saturating_sub(width(&text)).max(1)));
    let numbers: String = numbers.into_iter().map(right).collect();
    if width(name) <= NAMES {
        return format!("{name}{}{numbers}", " ".repeat(NAMES - width(name))).trim_end().to_owned() + "\n";
    }
    let indent = width(name) - width(name.trim_start());
    let above = hanging("", indent, name.trim_start());
    format!("{above}{}{}\n", " ".repeat(NAMES), numbers.trim_end())
}

const _: () = assert!(NAMES + 5 * COLUMN <= WIDTH);
