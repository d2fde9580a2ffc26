//! How far devices of one delivery lie apart, as their data sheet says.

use loadworthy_language::quantity::Dimension;
use loadworthy_language::sections::devices::Transistor;

use crate::build::Build;
use crate::build::device::Sheet;
use crate::plan::{SharingInputs, ThresholdInputs};

/// What says how devices of one delivery lie apart.
pub(crate) fn sharing(build: &mut Build<'_>, sheet: &Sheet<'_>, is_diode: bool) -> SharingInputs {
    let (spread, gate) = match sheet.transistor {
        Some(Transistor::Igbt(igbt)) => (igbt.spread.as_ref(), igbt.gate.as_ref()),
        Some(Transistor::Mosfet(mosfet)) => (mosfet.spread.as_ref(), mosfet.gate.as_ref()),
        None => (None, None),
    };
    let of_diode = sheet.diode.and_then(|diode| diode.spread.as_ref());
    let on_voltage = if is_diode {
        sheet.number(build, of_diode.and_then(|spread| spread.on_voltage.as_ref()), |s| s.value())
    } else {
        sheet.number(build, spread.and_then(|spread| spread.on_voltage.as_ref()), |s| s.value())
    };
    let threshold = sheet.number(build, spread.and_then(|spread| spread.gate_threshold.as_ref()), |v| v.si());
    let transconductance =
        sheet.number(build, gate.and_then(|gate| gate.transconductance.as_ref()), |s| s.si());
    let resistance = sheet.number(build, gate.and_then(|gate| gate.resistance.as_ref()), |r| r.si());
    let capacitance = sheet.number(build, gate.and_then(|gate| gate.input_capacitance.as_ref()), |c| c.si());
    let inductance = sheet.number(build, gate.and_then(|gate| gate.common_inductance.as_ref()), |l| l.si());
    let what = if is_diode { "diode" } else { "transistor" };
    let path = format!("{}.{what}", sheet.path);
    let mut input =
        |name: &str, dimension, stated| build.tables.input(format!("{path}.{name}"), dimension, stated);
    SharingInputs {
        on_voltage: input("spread.on_voltage", Dimension::Ratio, on_voltage),
        threshold: (!is_diode).then(|| ThresholdInputs {
            spread: input("spread.gate_threshold", Dimension::Voltage, threshold),
            transconductance: input("gate.transconductance", Dimension::Conductance, transconductance),
            resistance: input("gate.resistance", Dimension::Resistance, resistance),
            fitted: None,
            capacitance: input("gate.input_capacitance", Dimension::Capacitance, capacitance),
            common_inductance: input("gate.common_inductance", Dimension::Inductance, inductance),
        }),
    }
}
