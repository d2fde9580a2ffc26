//! What the policy leaves of limits that several checks hold figures against. One that a single check knows stands in its folder.

use loadworthy_unit::{Dimension, PolicyForm, PolicyItem};

/// Share of the continuous rating that may be used.
pub(crate) static DEVICE_CURRENT: PolicyItem = PolicyItem {
    name: "device_current",
    help: "Share of the continuous current rating, taken to the case temperature, that a chip may carry as RMS",
    form: PolicyForm::UseAtMost { default: 1.0, usual: (0.7, 1.0) },
    since: 2026,
};

/// Share of the repetitive peak that may be used.
pub(crate) static DEVICE_PEAK_CURRENT: PolicyItem = PolicyItem {
    name: "device_peak_current",
    help: "Share of the repetitive peak current that the crest in a chip may reach",
    form: PolicyForm::UseAtMost { default: 0.8, usual: (0.6, 1.0) },
    since: 2026,
};

/// Share of the rated current of conductors and windings that may be used.
pub(crate) static CONDUCTOR_CURRENT: PolicyItem = PolicyItem {
    name: "conductor_current",
    help: "Share of the rated current that a cable, connector, contactor, sensor, bar or winding may carry",
    form: PolicyForm::UseAtMost { default: 1.0, usual: (0.8, 1.0) },
    since: 2026,
};

/// Share of the current of a fuse that may be used.
pub(crate) static FUSE_CURRENT: PolicyItem = PolicyItem {
    name: "fuse_current",
    help: "Share of the current of a fuse, taken to its surroundings and to a load that comes and goes, that it may carry",
    form: PolicyForm::UseAtMost { default: 1.0, usual: (0.7, 1.0) },
    since: 2026,
};

/// Share of what a source stands that may be used.
pub(crate) static SOURCE_CURRENT: PolicyItem = PolicyItem {
    name: "source_current",
    help: "Share of the current or power that a source stands, giving or taking, that a duty point may use",
    form: PolicyForm::UseAtMost { default: 1.0, usual: (0.8, 1.0) },
    since: 2026,
};

/// Distance kept from the junction limit.
pub(crate) static JUNCTION: PolicyItem = PolicyItem {
    name: "junction",
    help: "Kelvins that junctions keep from their limit in service",
    form: PolicyForm::Keep {
        dimension: Dimension::TemperatureDifference,
        default: 20.0,
        usual: (10.0, 40.0),
    },
    since: 2026,
};

/// Share of the blocking voltage that may stand across a position.
pub(crate) static BLOCKING_VOLTAGE: PolicyItem = PolicyItem {
    name: "blocking_voltage",
    help: "Share of its blocking voltage that a device may hold at the highest bus voltage, before what commutation adds",
    form: PolicyForm::UseAtMost { default: 0.8, usual: (0.7, 0.9) },
    since: 2026,
};

/// Share of the rated voltage that may stand across a capacitor.
pub(crate) static CAPACITOR_VOLTAGE: PolicyItem = PolicyItem {
    name: "capacitor_voltage",
    help: "Share of its rated voltage that a capacitor may hold at the highest bus voltage with half the ripple",
    form: PolicyForm::UseAtMost { default: 1.0, usual: (0.8, 1.0) },
    since: 2026,
};
