//! Chokes and transformers as stages name them.

use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::magnetics::{Magnetic as Written, Transformer, Winding as WrittenWinding};
use loadworthy_language::sections::stages::{PhaseShiftedFullBridge, RectifierCircuit, Stage};
use loadworthy_source::{Located, NodeId};

use crate::build::density;
use crate::build::magnetic_sheet::Sheet;
use crate::build::stage::{Design, absent, legs_of};
use crate::build::{Build, broken, cooling};
use crate::ids::{FigureId, InputId};
use crate::origin::Origin;
use crate::plan::{IsolatedKind, Magnetic, MagneticRole, Topology, UnevenLeg, Winding};
use crate::solver::Late;
use crate::table::Stated;
use crate::trace::Operand;

/// What a stage needs of a choke.
pub(crate) struct ChokeInputs {
    pub(crate) inductance: InputId,
    pub(crate) winding: InputId,
}

/// What a stage needs of a transformer.
pub(crate) struct TransformerInputs {
    pub(crate) turns_ratio: InputId,
    pub(crate) magnetising: InputId,
    pub(crate) leakage: InputId,
}

/// A component by name: what is said of it, where, and whether it is broken.
fn find<'d>(build: &Build<'d>, name: Option<&Located<String>>) -> Option<(&'d Written, NodeId)> {
    let entry = build.description.magnetics.get(&name?.value)?;
    entry.read().map(|read| (read, entry.key))
}

/// The origin of a value that a component does not state: the component where there is one, else the stage.
fn missing(build: &Build<'_>, name: Option<&Located<String>>, stage: NodeId) -> Stated {
    let entry = name.and_then(|name| build.description.magnetics.get(&name.value));
    match entry {
        Some(entry) if entry.read().is_none() => broken(entry.value),
        Some(entry) => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(entry.key) } },
        None => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(stage) } },
    }
}

/// Inductance and winding of a choke of a stage.
pub(crate) fn choke(
    build: &mut Build<'_>,
    stage: &str,
    key: &str,
    name: Option<&Located<String>>,
    at: NodeId,
) -> ChokeInputs {
    let Some(written) = name else {
        let path = format!("stages.{stage}.{key}");
        let inductance = absent(build, path.clone(), Dimension::Inductance, at);
        return ChokeInputs { inductance, winding: absent(build, path, Dimension::Resistance, at) };
    };
    let choke = match find(build, name) {
        Some((Written::Choke(choke), _)) => Some(choke),
        _ => None,
    };
    let silent = missing(build, name, at);
    let inductance = match choke.and_then(|choke| choke.inductance.as_ref()) {
        Some(given) => build.stated(Some(given), None, |henry| henry.si()),
        None => silent,
    };
    let winding = winding(build, choke.and_then(|choke| choke.winding.as_ref()), silent);
    let said = format!("magnetics.{}", written.value);
    ChokeInputs {
        inductance: build.tables.input(format!("{said}.inductance"), Dimension::Inductance, inductance),
        winding: build.tables.input(format!("{said}.winding.resistance"), Dimension::Resistance, winding),
    }
}

fn winding(build: &Build<'_>, winding: Option<&WrittenWinding>, silent: Stated) -> Stated {
    match winding.and_then(|winding| winding.resistance.as_ref()) {
        Some(given) => build.stated(Some(given), None, |ohms| ohms.si()),
        None => silent,
    }
}

fn transformer_of<'d>(build: &Build<'d>, name: Option<&Located<String>>) -> Option<&'d Transformer> {
    match find(build, name) {
        Some((Written::Transformer(transformer), _)) => Some(transformer),
        _ => None,
    }
}

/// Ratio and inductances of the transformer of a stage.
pub(crate) fn transformer(
    build: &mut Build<'_>,
    stage: &str,
    name: Option<&Located<String>>,
    at: NodeId,
) -> TransformerInputs {
    let Some(written) = name else {
        let path = format!("stages.{stage}.transformer");
        return TransformerInputs {
            turns_ratio: absent(build, path.clone(), Dimension::Ratio, at),
            magnetising: absent(build, path.clone(), Dimension::Inductance, at),
            leakage: absent(build, path, Dimension::Inductance, at),
        };
    };
    let read = transformer_of(build, name);
    let silent = missing(build, name, at);
    let ratio = match read.and_then(|read| read.turns_ratio.as_ref()) {
        Some(ratio) => Stated { value: ratio.value, origin: build.written(ratio.at) },
        None => silent,
    };
    let henry =
        |build: &Build<'_>,
         given: Option<&loadworthy_language::quantity::Given<loadworthy_physics::Inductance>>| {
            match given {
                Some(given) => build.stated(Some(given), None, |henry| henry.si()),
                None => silent,
            }
        };
    let magnetising = henry(build, read.and_then(|read| read.magnetising_inductance.as_ref()));
    let leakage = henry(build, read.and_then(|read| read.leakage_inductance.as_ref()));
    let said = format!("magnetics.{}", written.value);
    TransformerInputs {
        turns_ratio: build.tables.input(format!("{said}.turns_ratio"), Dimension::Ratio, ratio),
        magnetising: build.tables.input(
            format!("{said}.magnetising_inductance"),
            Dimension::Inductance,
            magnetising,
        ),
        leakage: build.tables.input(format!("{said}.leakage_inductance"), Dimension::Inductance, leakage),
    }
}

/// The magnetic components of a stage, with the currents of their windings.
pub(crate) fn of_stage(build: &mut Build<'_>, design: &Design<'_>, topology: &Topology) -> Vec<usize> {
    let mut all = Vec::new();
    match topology {
        Topology::Bridge(_) => {}
        Topology::Chopper(chopper) => {
            let (count, inputs) = (chopper.inputs.legs, &chopper.inputs);
            let windings = [("winding", chopper.figures.leg_rms, inputs.winding)];
            let own = Own { key: "inductor", role: MagneticRole::Choke, inductance: inputs.inductance };
            let choke = component(build, design, &own, count, &windings);
            if let Some(choke) = choke {
                uneven(build, design, choke);
            }
            all.extend(choke);
        }
        Topology::Isolated(isolated) => {
            let once = one(build, 1.0);
            let (of_primary, of_secondary) = transformer_windings(build, design);
            // Of a centre tap both halves carry what one does; both are in series with nothing else.
            let secondary = ("secondary", isolated.figures.secondary_rms, of_secondary);
            let all_windings = [("primary", isolated.figures.primary_rms, of_primary), secondary, secondary];
            let halves = isolated.kind == IsolatedKind::CentreTap;
            let windings = if halves { &all_windings[..] } else { &all_windings[..2] };
            let role = MagneticRole::Transformer;
            let own = Own { key: "transformer", role, inductance: isolated.inputs.magnetising };
            all.extend(component(build, design, &own, once, windings));
            let chokes = one(build, if isolated.kind == IsolatedKind::CurrentDoubler { 2.0 } else { 1.0 });
            let output = design.written.magnetics().into_iter().find(|(key, _)| *key == "output_inductor");
            let name = output.and_then(|(_, name)| name);
            let silent = missing(build, name, design.entry.key);
            let read = match find(build, name) {
                Some((Written::Choke(choke), _)) => choke.winding.as_ref(),
                _ => None,
            };
            let stated = winding(build, read, silent);
            let path =
                format!("magnetics.{}.winding.resistance", name.map_or("*", |name| name.value.as_str()));
            let resistance = build.tables.input(path, Dimension::Resistance, stated);
            let role = MagneticRole::OutputChoke;
            let own = Own { key: "output_inductor", role, inductance: isolated.inputs.inductance };
            let windings = [("winding", isolated.figures.choke_rms, resistance)];
            let choke = component(build, design, &own, chokes, &windings);
            if let Some(choke) = choke {
                uneven(build, design, choke);
            }
            all.extend(choke);
        }
    }
    all
}

/// What one of several legs, or of the two chokes of a current doubler, may carry above the others.
fn uneven(build: &mut Build<'_>, design: &Design<'_>, choke: usize) {
    let of_legs = ("leg_imbalance", &defaults::LEG_IMBALANCE);
    let (stated, (key, default)) = match design.written {
        Stage::Boost(boost) if legs_of(design.written) > 1 => (boost.leg_imbalance.as_ref(), of_legs),
        Stage::Buck(buck) if legs_of(design.written) > 1 => (buck.leg_imbalance.as_ref(), of_legs),
        Stage::PhaseShiftedFullBridge(bridge) if is_doubler(bridge) => {
            (bridge.choke_imbalance.as_ref(), ("choke_imbalance", &defaults::CHOKE_IMBALANCE))
        }
        _ => return,
    };
    let at = design.entry.key;
    let stated = build.stated_or(stated, at, default, |share| share.value());
    let path = format!("stages.{}.{key}", design.name);
    let share = build.tables.input(path, Dimension::Ratio, stated);
    // How devices in parallel share hangs on it as well, but not behind the chokes of a current doubler.
    let is_one = |seat: Option<&loadworthy_language::sections::stages::SwitchPosition>| {
        seat.and_then(|seat| seat.parallel.as_ref()).is_none_or(|count| count.value < 2)
    };
    if key == "choke_imbalance" || design.written.positions().into_iter().all(|(_, seat)| is_one(seat)) {
        build.tables.read_by(Late::Uneven, share);
    }
    let part = build.plan.magnetics[choke].part;
    let mut figure = |name| build.tables.figure_if_asked(part, name, Dimension::Current);
    let (rms, peak) = match key {
        "choke_imbalance" => (figure("largest_choke_rms_current"), figure("largest_choke_current")),
        _ => (figure("largest_leg_rms_current"), figure("largest_leg_current")),
    };
    build.plan.magnetics[choke].uneven = Some(UnevenLeg { share, rms, peak });
}

fn is_doubler(bridge: &PhaseShiftedFullBridge) -> bool {
    bridge.rectifier.as_ref().is_some_and(|rectifier| rectifier.value == RectifierCircuit::CurrentDoubler)
}

fn one(build: &mut Build<'_>, count: f64) -> InputId {
    let stated = Stated { value: count, origin: Origin::Absent { near: None } };
    build.tables.input("count".to_owned(), Dimension::Ratio, stated)
}

fn transformer_windings(build: &mut Build<'_>, design: &Design<'_>) -> (InputId, InputId) {
    let named = design.written.magnetics().into_iter().find(|(key, _)| *key == "transformer");
    let name = named.and_then(|(_, name)| name);
    let silent = missing(build, name, design.entry.key);
    let read = transformer_of(build, name);
    let primary = winding(build, read.and_then(|read| read.primary.as_ref()), silent);
    let secondary = winding(build, read.and_then(|read| read.secondary.as_ref()), silent);
    let said = format!("magnetics.{}", name.map_or("*", |name| name.value.as_str()));
    (
        build.tables.input(format!("{said}.primary.resistance"), Dimension::Resistance, primary),
        build.tables.input(format!("{said}.secondary.resistance"), Dimension::Resistance, secondary),
    )
}

/// What a component is to its stage.
struct Own {
    /// The key that names it.
    key: &'static str,
    role: MagneticRole,
    /// Inductance of its first winding.
    inductance: InputId,
}

/// One component of a stage.
fn component(
    build: &mut Build<'_>,
    design: &Design<'_>,
    own: &Own,
    count: InputId,
    windings: &[(&'static str, FigureId, InputId)],
) -> Option<usize> {
    let (_, name) = design.written.magnetics().into_iter().find(|(key, _)| *key == own.key)?;
    let name = name?;
    let entry = build.description.magnetics.get(&name.value)?;
    let part = build.tables.part(format!("{}.{}", design.name, name.value), name.at, Some(design.part));
    let sheet = Sheet::of(&name.value, entry, part);
    let is_double_ended = matches!(design.written, Stage::PhaseShiftedFullBridge(_));
    let core = sheet.core(build, own.inductance, own.role, is_double_ended);
    let mut wound: Vec<Winding> = Vec::with_capacity(windings.len());
    for (place, &winding) in windings.iter().enumerate() {
        let (key, ..) = winding;
        let half = wound.iter().find(|half| half.key == key).map(|half| half.part);
        let own = match half {
            Some(half) => half,
            None if windings.len() == 1 => part,
            None => build.tables.part(format!("{}.{}.{key}", design.name, name.value), name.at, Some(part)),
        };
        let mut one = sheet.wound(build, own, place, winding);
        one.density = density::of_winding(build, &name.value, place, sheet.winding(key), &one);
        wound.push(one);
    }
    let windings = wound;
    let place = cooling::place_cooling(build, &name.value);
    let heat = sheet.heat(build, place, &windings);
    let mut losses: Vec<Operand> = windings.iter().map(|winding| Operand::Figure(winding.loss)).collect();
    losses.push(core.figures.loss.into());
    let loss = build.tables.figure(part, "loss", Dimension::Power);
    let role = own.role;
    let uneven = None;
    let magnetic = Magnetic { part, count, role, windings, core, heat, uneven, loss, place, losses };
    build.plan.magnetics.push(magnetic);
    Some(build.plan.magnetics.len() - 1)
}
