//! What each kind of switch position blocks: its device's blocking voltage and the bus that it stands against.

use loadworthy_language::defaults;
use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::stages::Stage as Written;

use crate::build::Build;
use crate::build::bank::shared;
use crate::build::stage::Design;
use crate::plan::{Port, Position, Role, Seat, Withstand};
use crate::solver::Late;

/// Every kind of position of a stage.
pub(crate) fn of_stage(
    build: &mut Build<'_>,
    design: &Design<'_>,
    seats: &[Seat],
    positions: &[Position],
    ports: &[Port],
) -> Vec<Withstand> {
    let overshoot = overshoot(build, design);
    let mut all = Vec::new();
    for (k, seat) in seats.iter().enumerate() {
        let mut own = positions.iter().filter(|position| position.seat == k);
        let Some(first) = own.next() else { continue };
        let (device, at) = &design.fitted[k];
        let part = if own.next().is_none() && build.tables.part_of(first.part).path.ends_with(seat.key) {
            first.part
        } else {
            build.tables.part(format!("{}.{}", design.name, seat.key), *at, Some(design.part))
        };
        let (path, stated) = device.blocking.clone();
        // Positions with one device share what it blocks.
        let blocking = shared(build, &path, &path, Dimension::Voltage, stated);
        let is_rectifier = matches!(first.role, Role::Rectifier | Role::Forward | Role::Freewheel);
        all.push(Withstand {
            part,
            seat: k,
            role: first.role,
            bus: bus_of(first.role, ports),
            blocking,
            overshoot: overshoot.filter(|_| is_rectifier),
            blocked: build.tables.figure_if_asked(part, "blocked_voltage", Dimension::Voltage),
            at_highest: matches!(design.written, Written::ActiveClampForward(_)).then(|| {
                build.tables.figure_if_asked(part, "blocked_voltage_at_highest_input", Dimension::Voltage)
            }),
            at_largest_duty: states_largest_duty(design.written).then(|| {
                build.tables.figure_if_asked(part, "blocked_voltage_at_largest_duty", Dimension::Voltage)
            }),
        });
    }
    all
}

/// Whether a stage is a forward converter and states its largest duty.
const fn states_largest_duty(written: &Written) -> bool {
    matches!(written, Written::ActiveClampForward(forward) if forward.largest_duty.is_some())
}

/// The bus whose voltage a position blocks: the high one of a chopper, the one that feeds any other stage.
fn bus_of(role: Role, ports: &[Port]) -> Option<usize> {
    // The last port of a bridge is its only one, that of a chopper its high one.
    let port = if role.is_of_leg() { ports.last() } else { ports.first() };
    port?.bus
}

fn overshoot(build: &mut Build<'_>, design: &Design<'_>) -> Option<crate::ids::InputId> {
    let given = match design.written {
        Written::PhaseShiftedFullBridge(bridge) => bridge.rectifier_overshoot.as_ref(),
        Written::ActiveClampForward(forward) => forward.rectifier_overshoot.as_ref(),
        Written::ThreePhaseBridge(_) | Written::Boost(_) | Written::Buck(_) => return None,
    };
    let near = design.entry.key;
    let share = build.stated_or(given, near, &defaults::RECTIFIER_OVERSHOOT, |share| share.value());
    let path = format!("stages.{}.rectifier_overshoot", design.name);
    let share = build.tables.input(path, Dimension::Ratio, share);
    Some(build.tables.read_by(Late::Withstand, share))
}
