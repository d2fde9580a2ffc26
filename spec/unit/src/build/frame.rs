//! Machines that state what their windings stand to the frame, once turn-offs and domains are known.

use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;

use crate::build::Build;
use crate::plan::Frame;
use crate::solver::Late;

/// Adds every such machine that a bridge feeds.
pub(crate) fn machines(build: &mut Build<'_>) {
    for stage in 0..build.plan.stages.len() {
        if let Some(frame) = frame(build, stage) {
            build.plan.frames.push(frame);
        }
    }
}

fn frame(build: &mut Build<'_>, stage: usize) -> Option<Frame> {
    let machine = build.plan.stages[stage].bridge()?.machine?;
    let bus = build.plan.stages[stage].ports.first()?.bus?;
    let (name, at) = {
        let part = build.tables.part_of(machine);
        (part.path.clone(), part.at)
    };
    let (rated, overshoot) = build.description.machines.entry(&name)?.winding_insulation();
    let rated = build.stated(Some(rated?), None, |volts| volts.peak().si());
    let overshoot = build.stated_or(overshoot, at, &defaults::TERMINAL_OVERSHOOT, |share| share.value());
    let of_bridge = |place: &usize| build.plan.turn_offs[*place].stage == stage;
    let turn_offs = (0..build.plan.turn_offs.len()).filter(of_bridge).collect();
    // Without domains it counts as floating: a first fault puts the whole voltage there.
    let domains = build.plan.isolation.iter().flat_map(|isolation| isolation.domains());
    let mut own = domains.map(|(_, domain)| &domain.stress).filter(|stress| stress.buses.contains(&bus));
    let share = own.next().map_or(1.0, |stress| stress.share);
    let tables = &mut build.tables;
    Some(Frame {
        machine,
        stage,
        bus,
        rated: tables.limit(format!("machines.{name}.recurring_peak"), Dimension::Voltage, rated),
        overshoot: {
            let path = format!("machines.{name}.terminal_overshoot");
            let input = tables.input(path, Dimension::Ratio, overshoot);
            tables.read_by(Late::Isolation, input)
        },
        share,
        turn_offs,
        peak: tables.figure_if_asked(machine, "frame_peak", Dimension::Voltage),
    })
}
