//! Machines that may turn while nothing controls them: those with permanent magnets that state how fast they turn or what
//! their magnets link, or whose bridge states that it shorts them.

use loadworthy_language::quantity::{Dimension, RmsCurrent};
use loadworthy_language::sections::machines::{Machine, PermanentMagnet};
use loadworthy_language::sections::stages::{OnFault, Stage as Written};
use loadworthy_source::NodeId;

use crate::build::Build;
use crate::build::bank::shared;
use crate::ids::{InputId, PartId};
use crate::origin::Origin;
use crate::plan::{
    ChipKind, Coasting, CoastingBus, PhaseShort, Rectified, RectifyingSeat, ShortedSeat, Stage,
};
use crate::table::Stated;

/// Gathers them by bus.
pub(crate) fn machines(build: &mut Build<'_>) {
    for stage in 0..build.plan.stages.len() {
        let Some(bus) = build.plan.stages[stage].ports.first().and_then(|port| port.bus) else { continue };
        let Some(coasting) = coasting(build, stage) else { continue };
        if let Some(known) = build.plan.coasting.iter_mut().find(|known| known.bus == bus) {
            known.machines.push(coasting);
            continue;
        }
        let part = build.plan.buses[bus].part;
        let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
        let voltage = figure("coasting_voltage", Dimension::Voltage);
        let held = figure("coasting_held_voltage", Dimension::Voltage);
        let current = figure("coasting_current", Dimension::Current);
        let lowest = figure("coasting_lowest_voltage", Dimension::Voltage);
        let sources = build.plan.buses[bus].sources.iter();
        let floors = sources.filter_map(|&source| build.plan.sources[source].limits.open_circuit);
        let floors = floors.map(|(lowest, _)| lowest).collect();
        let machines = vec![coasting];
        build.plan.coasting.push(CoastingBus { bus, machines, voltage, floors, lowest, held, current });
    }
}

fn coasting(build: &mut Build<'_>, stage: usize) -> Option<Coasting> {
    let machine = build.plan.stages[stage].bridge()?.machine?;
    let (name, at) = {
        let part = build.tables.part_of(machine);
        (part.path.clone(), part.at)
    };
    let Some(Machine::PermanentMagnet(magnet)) = build.description.machines.entry(&name) else { return None };
    let on_fault = on_fault(build, build.plan.stages[stage].part);
    let is_shorted = on_fault == Some(OnFault::ThreePhaseShort);
    if magnet.highest_speed.is_none() && magnet.flux_linkage.is_none() && !is_shorted {
        return None;
    }
    let pairs = match &magnet.pole_pairs {
        Some(pairs) => Stated { value: f64::from(pairs.value), origin: build.written(pairs.at) },
        None => Stated { value: f64::NAN, origin: Origin::Absent { near: Some(at) } },
    };
    let flux = build.stated(magnet.flux_linkage.as_ref(), Some(at), |flux| flux.si());
    let speed = build.stated(magnet.highest_speed.as_ref(), Some(at), |speed| speed.si());
    let crest = |amps: &RmsCurrent| core::f64::consts::SQRT_2 * amps.rms().si();
    let stands = build.stated(magnet.demagnetising_current.as_ref(), Some(at), crest);
    let demagnetising = (is_shorted || magnet.demagnetising_current.is_some())
        .then(|| own(build, &name, "demagnetising_current", Dimension::Current, stands));
    let highest_torque = magnet.highest_torque.as_ref().map(|torque| {
        let stated = build.stated(Some(torque), None, |torque| torque.si());
        own(build, &name, "highest_torque", Dimension::Torque, stated)
    });
    let short = is_shorted.then(|| short(build, stage, (&name, at), magnet));
    let rectified = (!is_shorted).then(|| rectified(build, stage, (&name, at), magnet));
    let part = build.plan.stages[stage].part;
    Some(Coasting {
        stage,
        machine,
        pole_pairs: own(build, &name, "pole_pairs", Dimension::Ratio, pairs),
        flux_linkage: own(build, &name, "flux_linkage", Dimension::FluxLinkage, flux),
        highest_speed: own(build, &name, "highest_speed", Dimension::Speed, speed),
        demagnetising,
        highest_torque,
        turning: build.tables.figure_if_asked(part, "turning_speed", Dimension::Speed),
        speed: build.tables.figure_if_asked(part, "coasting_speed", Dimension::Speed),
        line_crest: build.tables.figure_if_asked(part, "coasting_line_crest", Dimension::Voltage),
        is_left_open: on_fault.is_none(),
        short,
        rectified,
    })
}

/// What the bridge states that it does on a fault.
fn on_fault(build: &Build<'_>, stage: PartId) -> Option<OnFault> {
    match build.description.stages.entry(&build.tables.part_of(stage).path) {
        Some(Written::ThreePhaseBridge(bridge)) => bridge.on_fault.as_ref().map(|on_fault| on_fault.value),
        _ => None,
    }
}

/// An input of the machine, which what a duty point asks of its shaft may use as well.
fn own(build: &mut Build<'_>, name: &str, key: &str, dimension: Dimension, stated: Stated) -> InputId {
    let path = format!("machines.{name}.{key}");
    shared(build, &path, &path, dimension, stated)
}

/// Inductances along the magnets and across them.
fn axes(build: &mut Build<'_>, (name, at): (&str, NodeId), magnet: &PermanentMagnet) -> [InputId; 2] {
    let axes = magnet.inductance.as_ref();
    let d = build.stated(axes.and_then(|axes| axes.d.as_ref()), Some(at), |henry| henry.si());
    let q = build.stated(axes.and_then(|axes| axes.q.as_ref()), Some(at), |henry| henry.si());
    [("inductance.d", d), ("inductance.q", q)]
        .map(|(key, stated)| own(build, name, key, Dimension::Inductance, stated))
}

/// What it gives through the diodes of its bridge.
fn rectified(
    build: &mut Build<'_>,
    stage: usize,
    machine: (&str, NodeId),
    magnet: &PermanentMagnet,
) -> Rectified {
    let axes = axes(build, machine, magnet);
    let seats = rectifying(build, stage);
    let part = build.plan.stages[stage].part;
    let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
    Rectified {
        axes,
        direct: figure("coasting_current", Dimension::Current),
        power: figure("coasting_power", Dimension::Power),
        torque: figure("coasting_torque", Dimension::Torque),
        rms: figure("coasting_phase_rms_current", Dimension::Current),
        crest: figure("coasting_phase_crest", Dimension::Current),
        seats,
    }
}

/// The diodes of both sides.
fn rectifying(build: &mut Build<'_>, stage: usize) -> Vec<RectifyingSeat> {
    let Stage { positions, withstands, .. } = &build.plan.stages[stage];
    let kinds = withstands.iter().filter_map(|withstand| {
        let first = positions.iter().find(|position| position.seat == withstand.seat)?;
        let all = &build.plan.chips;
        let chip = first
            .chips
            .clone()
            .find(|&chip| all[chip].kind == ChipKind::Diode || all[chip].body_diode.is_some())?;
        Some((withstand.part, withstand.seat, chip))
    });
    let kinds: Vec<_> = kinds.collect();
    let seat = |(part, seat, chip): (PartId, usize, usize)| {
        let own = build.plan.chips[chip].figures.rated_current;
        let has_body = build.plan.chips[chip].body_diode.is_some();
        let mut figure = |name| build.tables.figure_if_asked(part, name, Dimension::Current);
        RectifyingSeat {
            part,
            seat,
            chip,
            rated: if has_body { figure("coasting_rated_current") } else { own },
            rms: figure("coasting_rms_current"),
            crest: figure("coasting_crest"),
        }
    };
    kinds.into_iter().map(seat).collect()
}

fn short(
    build: &mut Build<'_>,
    stage: usize,
    (name, at): (&str, NodeId),
    magnet: &PermanentMagnet,
) -> PhaseShort {
    let [d, q] = axes(build, (name, at), magnet);
    let ohms = build.stated(magnet.phase_resistance.as_ref(), Some(at), |ohms| ohms.si());
    let part = build.plan.stages[stage].part;
    let seats = seats(build, stage);
    let resistance = build.plan.stages[stage].bridge().map(|bridge| bridge.inputs.phase_resistance);
    let resistance = match (resistance, magnet.phase_resistance.is_some()) {
        (Some(known), true) => known,
        _ => own(build, name, "phase_resistance", Dimension::Resistance, ohms),
    };
    let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
    PhaseShort {
        d,
        q,
        resistance,
        steady: figure("shorted_current", Dimension::Current),
        crest: figure("shorting_current", Dimension::Current),
        against_magnets: figure("shorting_current_against_magnets", Dimension::Current),
        torque: figure("shorting_torque", Dimension::Torque),
        seats,
    }
}

/// Both sides of the bridge: which of them closes the short is the control's choice.
fn seats(build: &mut Build<'_>, stage: usize) -> Vec<ShortedSeat> {
    let plan = &build.plan;
    let Stage { positions, withstands, .. } = &plan.stages[stage];
    let kinds = withstands.iter().map(|withstand| {
        let first = positions.iter().find(|position| position.seat == withstand.seat);
        let chips = first.map_or(0..0, |position| position.chips.clone());
        let mut peaks: Vec<InputId> =
            plan.chips[chips].iter().map(|chip| chip.inputs.repetitive_peak).collect();
        peaks.sort_unstable();
        peaks.dedup();
        (withstand.part, withstand.seat, peaks)
    });
    let kinds: Vec<_> = kinds.collect();
    let seat = |(part, seat, repetitive_peaks)| ShortedSeat {
        part,
        seat,
        repetitive_peaks,
        steady: build.tables.figure_if_asked(part, "shorted_current", Dimension::Current),
        crest: build.tables.figure_if_asked(part, "shorting_current", Dimension::Current),
    };
    kinds.into_iter().map(seat).collect()
}
