//! `loadworthy resolve`: the description as it is understood.

use std::collections::BTreeSet;
use std::io::Read;

use loadworthy_checks::figure_text;
use loadworthy_language::defaults::{self, Default as Assumption};
use loadworthy_language::quantity::{Amount, QuantityKind};
use loadworthy_language::resolved::{Mark, Resolved, Value, word_in};
use loadworthy_language::{Guide, Guided};
use loadworthy_source::NodeId;
use loadworthy_unit::{Dimension, Origin, PolicyForm, Unit, Variant};

use crate::arguments::{self, ResolveForm};
use crate::described::{Described, Roots, describe_text, describe_with_roots};
use crate::files::shown_name;
use crate::outcome::Outcome;
use crate::output::Output;
use crate::show::resolved::Shown;
use crate::show::terminal::{self, Paint};
use crate::solutions::unknown;

/// Digits that tell every number of 64 bits apart.
const MOST_DIGITS: usize = 17;
/// Defaults that no number and no word expresses: what is not said holds.
const UNSPOKEN: [&str; 2] = ["rated-at", "face-flow"];
/// Defaults that the solver has no input for.
const WITHOUT_INPUT: [&str; 2] = ["overmodulation", "lasts"];

/// Defaults that stand in for losses alone: written down they would be stated, and judged.
const OF_LOSSES: [&str; 3] = ["dead-time-igbt", "dead-time-mosfet", "conductor-resistance"];

/// Prints a description as it is understood.
pub(crate) fn run(
    asked: &arguments::Resolve,
    input: &mut dyn Read,
    output: &mut Output<'_>,
    errors: &mut Output<'_>,
) -> Outcome {
    let (described, roots) = match describe_with_roots(&asked.file, &asked.with, input) {
        Ok(read) => read,
        Err(why) => {
            errors.tell(&format!("loadworthy: cannot read {}: {why}", shown_name(&asked.file)));
            return Outcome::Unreadable;
        }
    };
    match resolved(asked, &described, &roots) {
        Ok(text) => {
            output.put(&text);
            Outcome::Holds
        }
        Err(why) => {
            errors.put(&why.problems);
            errors.tell(&format!("loadworthy: {}", why.sentence));
            Outcome::Unreadable
        }
    }
}

/// Why nothing is printed.
struct Refused {
    problems: String,
    sentence: String,
}

impl From<String> for Refused {
    fn from(sentence: String) -> Self {
        Self { problems: String::new(), sentence }
    }
}

impl Refused {
    fn problems_of(described: &Described, sentence: String) -> Self {
        let paint = Paint { colored: false };
        let problems = terminal::problems(&described.tree, &described.problems, false, paint);
        Self { problems, sentence }
    }
}

fn resolved(asked: &arguments::Resolve, described: &Described, roots: &Roots) -> Result<String, Refused> {
    if !described.problems.is_empty() {
        let sentence = format!("{} has problems, and nothing of it is printed", described.name);
        return Err(Refused::problems_of(described, sentence));
    }
    let names = described.unit.variants.iter().filter_map(|one| one.name.as_deref()).collect::<Vec<_>>();
    let base = roots.base.ok_or_else(|| "nothing of the description could be read".to_owned())?;
    let (variant, root) = chosen(asked.variant.as_deref(), (described, roots), &names, base)?;
    let mut resolved = Resolved::of(&described.tree, base, variant, root);
    let shown = |resolved: &Resolved<'_>, placeless: &[String]| {
        let shown = Shown {
            tree: &described.tree,
            file: &described.name,
            variant,
            variants: &names,
            placeless,
            resolved,
        };
        match asked.format {
            ResolveForm::Yaml => shown.yaml(),
            ResolveForm::Json => Ok(shown.json()),
        }
    };
    // What is printed is read by itself first: it must say the same, and it shows which defaults are in use.
    let by_itself = |resolved: &Resolved<'_>| {
        let alone = Shown {
            tree: &described.tree,
            file: &described.name,
            variant,
            variants: &[],
            placeless: &[],
            resolved,
        };
        let name = format!("{} as it is understood", described.name);
        alone.yaml().map(|text| describe_text(&name, &text))
    };
    let mut alone = by_itself(&resolved)?;
    let stock = stock(described, base, &alone.unit);
    if alone.problems.is_empty() && !stock.is_empty() {
        for (section, name) in stock {
            resolved.leave_out(section, &name);
        }
        alone = by_itself(&resolved)?;
    }
    if !alone.problems.is_empty() {
        let sentence = match names.as_slice() {
            [_, ..] if variant.is_none() => format!(
                "the description has problems without a variant; `--variant` takes one of {}",
                names.join(", ")
            ),
            _ => "what the description means cannot be written as one".to_owned(),
        };
        return Err(Refused::problems_of(&alone, sentence));
    }
    let vocabulary = loadworthy_checks::list::policy_vocabulary();
    let guide = Guide::new(&vocabulary);
    let placeless = stand_in(&mut resolved, &alone.unit, guide.top());
    Ok(shown(&resolved, &placeless)?)
}

/// Entries of parts files that nothing uses: a stock to choose from, and no part of what the description says.
fn stock(described: &Described, base: NodeId, alone: &Unit) -> Vec<(&'static str, String)> {
    let tree = &described.tree;
    let own_file = tree.span(base).file;
    let unused = alone.variants.iter().flat_map(|variant| {
        variant.plan.unused.iter().map(|one| (one.what.section(), variant.path(one.part).to_owned()))
    });
    let is_stock = |section: &str, name: &str| {
        tree.value_at(base, &[section, name]).is_some_and(|node| tree.span(node).file != own_file)
    };
    unused.filter(|(section, name)| is_stock(section, name)).collect()
}

/// The variant that is printed and its description: the one that was asked for, or the only one, or none.
fn chosen<'d>(
    asked: Option<&str>,
    (described, roots): (&'d Described, &Roots),
    names: &[&'d str],
    base: NodeId,
) -> Result<(Option<&'d str>, NodeId), String> {
    let variants = described.unit.variants.iter().zip(&roots.variants);
    let named = |wanted: &str| {
        let mut named = variants.clone().filter_map(|(one, root)| Some((one.name.as_deref()?, *root)));
        named.find(|(name, _)| *name == wanted)
    };
    match (asked, names) {
        (Some(asked), _) => named(asked)
            .map(|(name, root)| (Some(name), root))
            .ok_or_else(|| unknown("variant", asked, names.iter().copied())),
        (None, [only]) => Ok(named(only).map_or((None, base), |(name, root)| (Some(name), root))),
        (None, _) => Ok((None, base)),
    }
}

/// Puts in every default that is in use; tells those that have no place.
fn stand_in(resolved: &mut Resolved<'_>, unit: &Unit, top: Guided<'_>) -> Vec<String> {
    let mut placeless = Vec::new();
    for variant in &unit.variants {
        let missing = missing(variant);
        for (path, stated, assumption) in assumed(variant) {
            let (low, high) = assumption.usual;
            let text = |amount: f64| {
                word(assumption, amount)
                    .map_or_else(|| figure_text::value(amount, assumption.dimension), str::to_owned)
            };
            let mark = Mark::Assumed {
                why: assumption.why.to_owned(),
                usual: (low < high).then(|| format!("{} to {}", text(low), text(high))),
            };
            let value = match word(assumption, stated) {
                // Written down it would be stated for those as well that take no default.
                _ if missing.contains(path.as_str()) => None,
                _ if OF_LOSSES.contains(&assumption.id) || UNSPOKEN.contains(&assumption.id) => None,
                Some(word) => Some(Value::text(word)),
                None => spelled(resolved, &path, stated, top),
            };
            if !resolved.stand_in(&path, value, mark, top) {
                placeless.push(format!("assumed: {}, at {path}", assumption.why));
            }
        }
        for policy in &variant.policy {
            if policy.stated.origin.is_written() || !policy.stated.value.is_finite() {
                continue;
            }
            derating(resolved, policy.item, top);
        }
    }
    words(resolved, top);
    placeless
}

/// Paths of which something waits for what nobody states.
fn missing(variant: &Variant) -> BTreeSet<&str> {
    let inputs = variant.tables.inputs().iter().filter(|input| {
        let mut values = input.values.iter();
        values.any(|stated| matches!(stated.origin, Origin::Absent { .. }) && stated.value.is_nan())
    });
    inputs.map(|input| input.path.as_str()).collect()
}

/// Inputs that a default stands in for: path, value, default.
fn assumed(variant: &Variant) -> Vec<(String, f64, &'static Assumption)> {
    let mut found = Vec::new();
    for input in variant.tables.inputs() {
        for (place, stated) in input.values.iter().enumerate() {
            let Origin::Assumed { assumption, .. } = stated.origin else { continue };
            let duty = variant.duties.get(place).filter(|_| input.path.starts_with("duty."));
            let path = match duty {
                Some(duty) => input.path.replacen('*', &duty.name, 1),
                None => input.path.clone(),
            };
            found.push((path, stated.value, assumption));
        }
    }
    found
}

/// A derating of the edition.
fn derating(resolved: &mut Resolved<'_>, item: &loadworthy_unit::PolicyItem, top: Guided<'_>) {
    let path = format!("policy.{}.{}", item.name, item.form.key());
    let (default, (low, high), dimension) = match item.form {
        PolicyForm::UseAtMost { default, usual } => (default, usual, None),
        PolicyForm::Keep { dimension, default, usual } => (default, usual, Some(dimension)),
    };
    let text = |left: f64| match dimension {
        None => figure_text::percent(left),
        Some(dimension) => figure_text::value(left, dimension),
    };
    let mark = Mark::Assumed {
        why: item.help.to_owned(),
        usual: (low < high).then(|| format!("{} to {}", text(low), text(high))),
    };
    let value = spelled(resolved, &path, default, top);
    resolved.stand_in(&path, value, mark, top);
}

/// Defaults that the solver has no input for stand in wherever the language has their key and nobody states it.
fn words(resolved: &mut Resolved<'_>, top: Guided<'_>) {
    for assumption in defaults::ALL.iter().filter(|one| WITHOUT_INPUT.contains(&one.id)) {
        let Some((section, key)) = assumption.path.split_once(".*.") else { continue };
        let (Some(word), false) = (word(assumption, assumption.value), key.contains(['*', '.'])) else {
            continue;
        };
        let Some(Value::Map(entries)) = resolved.at(section) else { continue };
        let names = entries.iter().map(|entry| entry.key.to_string()).collect::<Vec<_>>();
        for name in names {
            let Some(Value::Map(fields)) = resolved.at(&format!("{section}.{name}")) else { continue };
            let has = |key: &str| fields.iter().any(|field| field.key == key);
            let guided = top.below(section, &|_| None).and_then(|section| section.below(&name, &|_| None));
            let known = guided.and_then(|entry| entry.below(key, &|tag| word_in(fields, tag))).is_some();
            if has(key) || !known {
                continue;
            }
            // What recurs cannot be said to be continuous; the default holds all the same.
            let value = (!has("every")).then(|| Value::text(word));
            let mark = Mark::Assumed { why: assumption.why.to_owned(), usual: None };
            resolved.stand_in(&format!("{section}.{name}.{key}"), value, mark, top);
        }
    }
}

/// The word that a default is, where it is none of the quantities.
fn word(assumption: &Assumption, amount: f64) -> Option<&'static str> {
    let is = |other: f64| amount.total_cmp(&other).is_eq();
    match assumption.id {
        "overmodulation" => Some(if is(1.0) { "permitted" } else { "excluded" }),
        "lasts" => is(1.0).then_some("continuous"),
        "referred-to" if is(0.0) => Some("inlet"),
        "referred-to" if is(1.0) => Some("outlet"),
        "referred-to" => Some("mean"),
        "absorbs" => Some(if is(0.0) { "false" } else { "true" }),
        "own-gate-resistors" => Some(if is(0.0) { "false" } else { "true" }),
        "package-circuit" => is(1.0).then_some("single"),
        "earthing" => is(0.0).then_some("floating"),
        "rectifier-lead" => is(0.0).then_some("return"),
        _ => None,
    }
}

/// A number as a person would write it at that path, such that it is read as the same number.
fn spelled(resolved: &Resolved<'_>, path: &str, amount: f64, top: Guided<'_>) -> Option<Value<'static>> {
    let mut guided = top;
    let mut above = String::new();
    for step in path.split('.') {
        let fields = match resolved.at(&above) {
            Some(Value::Map(fields)) => fields.as_slice(),
            _ => &[],
        };
        guided = guided.below(step, &|tag| word_in(fields, tag))?;
        above = if above.is_empty() { step.to_owned() } else { format!("{above}.{step}") };
    }
    let Some(kind) = guided.quantity() else {
        return guided.takes_numbers().then(|| Value::text(amount.to_string()));
    };
    let same = |text: &String| match kind.read(text) {
        Ok(Amount::Of(_, read)) => read.to_bits() == amount.to_bits(),
        _ => false,
    };
    let written = |digits: usize| match kind {
        QuantityKind::Ratio => format!("{} %", rounded(amount * 100.0, digits)),
        QuantityKind::SignedRatio => amount.to_string(),
        QuantityKind::Margin => {
            ascii(&figure_text::with_digits(amount, Dimension::TemperatureDifference, digits))
        }
        QuantityKind::Plain(dimension) => ascii(&figure_text::with_digits(amount, dimension, digits)),
        QuantityKind::RmsCurrent => {
            ascii(&figure_text::with_digits(amount, Dimension::Current, digits)) + " rms"
        }
        QuantityKind::RmsVoltage => {
            ascii(&figure_text::with_digits(amount, Dimension::Voltage, digits)) + " rms"
        }
        QuantityKind::PeakVoltage => {
            ascii(&figure_text::with_digits(amount, Dimension::Voltage, digits)) + " peak"
        }
        QuantityKind::TimeOrContinuous => ascii(&figure_text::with_digits(amount, Dimension::Time, digits)),
    };
    (3..=MOST_DIGITS).map(written).find(same).map(Value::text)
}

/// Units as they are typed.
fn ascii(text: &str) -> String {
    text.replace("°C", "degC").replace('Ω', "ohm").replace('µ', "u")
}

/// The nearest number of so many digits, which hides the tail that a multiplication leaves.
fn rounded(amount: f64, digits: usize) -> f64 {
    format!("{amount:.*e}", digits.saturating_sub(1)).parse().unwrap_or(amount)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_default_is_written_so_that_it_is_read_alike() {
        let vocabulary = loadworthy_checks::list::policy_vocabulary();
        let guide = Guide::new(&vocabulary);
        let text = "edition: 2026\nstages: { one: { topology: three_phase_bridge } }\n\
                    devices: { one: { transistor: { kind: igbt } } }\nmachines: { one: { kind: permanent_magnet } }\n";
        let mut tree = loadworthy_source::Tree::new();
        let root = tree.read("text", text.as_bytes(), &mut Vec::new()).expect("it is YAML");
        let resolved = Resolved::of(&tree, root, None, root);
        for (path, amount, expected) in [
            ("stages.one.dead_time", 2e-6, "2 us"),
            ("stages.one.dead_time", 0.5e-6, "500 ns"),
            ("stages.one.switches.low_side.parallel", 1.0, "1"),
            ("devices.one.transistor.energies.voltage_exponent", 1.35, "1.35"),
            ("devices.one.transistor.energies.temperature_coefficient", 0.0005, "0.0005 1/K"),
            ("devices.one.transistor.junction_limit", 174.953, "174.953 degC"),
            ("machines.one.phase_resistance", 0.0, "0 ohm"),
            ("policy.device_peak_current.use_at_most", 0.07, "7 %"),
            ("policy.junction.keep", 20.0, "20 K"),
        ] {
            let value = spelled(&resolved, path, amount, guide.top());
            assert_eq!(value.as_ref().and_then(Value::as_scalar), Some(expected), "{path}");
        }
        // No number stands where a word is asked for.
        assert!(spelled(&resolved, "stages.one.modulation", 1.0, guide.top()).is_none());
    }
}
