//! High gates that live on a capacitor which the low side recharges.

use loadworthy_language::defaults;
use loadworthy_language::quantity::{Dimension, Given};
use loadworthy_source::NodeId;

use crate::build::bank::shared;
use crate::build::{Build, assumed, duty, gate_drive};
use crate::ids::{FigureId, InputId};
use crate::plan::{Bootstrap, BootstrapFigures, GateNode, Role, Topology};

/// Adds every bootstrap of a high side in a leg, and of a clamp on the node that its main switch pulls down; others are told as
/// what they are by whoever judges potentials.
pub(crate) fn join(build: &mut Build<'_>) {
    for drive in 0..build.plan.gate_drives.len() {
        let of = &build.plan.gate_drives[drive];
        let stage = &build.plan.stages[of.stage];
        let position = &stage.positions[of.positions[0]];
        let is_high = match position.role {
            Role::HighSide | Role::BridgeHigh => true,
            Role::Clamp => matches!(position.gate, Some(GateNode::Floating { .. })),
            _ => false,
        };
        let bus = stage.withstands.get(of.withstand).and_then(|withstand| withstand.bus);
        // A clamp lifts its node beyond the bus.
        let main = stage.withstands.iter().find(|one| one.role == Role::Main && position.role == Role::Clamp);
        let of_bus = || bus.map(|bus| build.plan.buses[bus].highest_voltage);
        let across = main.map(|main| main.blocked).or_else(of_bus);
        let from = of.supply.and_then(|supply| build.plan.gate_supplies[supply].bootstrap_from);
        if let (Some(supply), Some(from)) = (of.supply.filter(|_| is_high), from)
            && let Some(bootstrap) = bootstrap(build, supply, from, (drive, bus, across))
        {
            build.plan.bootstraps.push(bootstrap);
        }
    }
}

fn bootstrap(
    build: &mut Build<'_>,
    supply: usize,
    from: usize,
    (drive, bus, across): (usize, Option<usize>, Option<FigureId>),
) -> Option<Bootstrap> {
    let section = &build.description.gate_supplies;
    let (name, entry) = section.get_index(supply)?;
    let (read, at) = (entry.read()?, entry.key);
    let (source_name, source_entry) = section.get_index(from)?;
    let (source, source_at) = (source_entry.read()?, source_entry.key);
    let built = read.bootstrap.as_ref();
    let said = format!("gate_supplies.{name}.bootstrap");
    fn number<T>(
        build: &mut Build<'_>,
        path: String,
        dimension: Dimension,
        (given, near): (Option<&Given<T>>, NodeId),
        si: impl Fn(&T) -> f64,
    ) -> InputId {
        let stated = build.stated(given, Some(near), si);
        shared(build, &path, &path, dimension, stated)
    }
    macro_rules! of_built {
        ($key:ident, $dimension:ident) => {
            number(
                build,
                format!("{said}.{}", stringify!($key)),
                Dimension::$dimension,
                (built.and_then(|built| built.$key.as_ref()), at),
                |amount| amount.si(),
            )
        };
    }
    let shift = match built.and_then(|built| built.shift_charge.as_ref()) {
        Some(given) => build.stated(Some(given), Some(at), |charge| charge.si()),
        None => assumed(&defaults::SHIFT_CHARGE, at),
    };
    let low_drop = match &build.plan.stages[build.plan.gate_drives[drive].stage].topology {
        Topology::Bridge(bridge) => Some(bridge.figures.device_drop),
        Topology::Chopper(chopper) => Some(chopper.figures.drop),
        Topology::Isolated(_) => None,
    };
    let of_shift = format!("{said}.shift_charge");
    let part = build.plan.gate_drives[drive].part;
    let charged_from = format!("gate_supplies.{source_name}.drive_on");
    let mut figure = |name, dimension| build.tables.figure_if_asked(part, name, dimension);
    let figures = BootstrapFigures {
        on_time: figure("bootstrap_on_time", Dimension::Time),
        recharge: figure("bootstrap_recharge_time", Dimension::Time),
        current: figure("bootstrap_current", Dimension::Current),
        droop: figure("bootstrap_droop", Dimension::Voltage),
        fall: figure("bootstrap_fall", Dimension::Voltage),
        reserve: figure("bootstrap_reserve", Dimension::Voltage),
    };
    Some(Bootstrap {
        supply,
        from,
        drive,
        bus,
        across,
        capacitance: of_built!(capacitance, Capacitance),
        resistance: of_built!(resistance, Resistance),
        diode_drop: of_built!(diode_drop, Voltage),
        blocking_voltage: of_built!(blocking_voltage, Voltage),
        leakage: of_built!(leakage, Current),
        shift_charge: shared(build, &of_shift, &of_shift, Dimension::Charge, shift),
        charged_from: number(
            build,
            charged_from,
            Dimension::Voltage,
            (source.on.as_ref(), source_at),
            |volts| volts.si(),
        ),
        tolerance: gate_drive::tolerance(build, source_name, source_at, source),
        low_drop,
        lasts: duty::lasting(build),
        figures,
    })
}
