//! What the edition takes where a description is silent.
//!
//! Defaults belong to an edition and never change within it. Each one that was taken is an origin of its own, and
//! a review names those whose usual range would turn a verdict.

use crate::quantity::Dimension;

/// One default of an edition.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Default {
    /// Its name, by which it is looked up.
    pub id: &'static str,
    /// Where the value would stand; `*` is the name of an entry.
    pub path: &'static str,
    /// The value, in the unit of [`Dimension::unit`].
    pub value: f64,
    /// The range in which values usually lie; equal ends where there is nothing to vary.
    pub usual: (f64, f64),
    /// What it is of.
    pub dimension: Dimension,
    /// What is taken, and why, in a sentence.
    pub why: &'static str,
    /// The edition it belongs to.
    pub edition: u32,
}

/// The editions that are known, the newest last.
pub const EDITIONS: &[u32] = &[2026];

macro_rules! defaults {
    ($($(#[$doc:meta])* $name:ident $id:literal $path:literal = $value:literal, $low:literal..$high:literal, $dimension:ident, $why:literal;)*) => {
        $(
            $(#[$doc])*
            pub const $name: Default = Default {
                id: $id,
                path: $path,
                value: $value,
                usual: ($low, $high),
                dimension: Dimension::$dimension,
                why: $why,
                edition: 2026,
            };
        )*

        /// Every default of edition 2026, in the order of the sections.
        pub const ALL: &[Default] = &[$($name,)*];
    };
}

defaults! {
    /// One device at each switch position.
    PARALLEL "parallel" "stages.*.switches.*.parallel" = 1.0, 1.0..1.0, Ratio,
        "one device stands at each switch position";
    /// Dead time of a stage with IGBTs.
    DEAD_TIME_IGBT "dead-time-igbt" "stages.*.dead_time" = 2e-6, 1e-6..4e-6, Time,
        "IGBTs of this size are driven with a dead time of about 2 µs";
    /// Dead time of a stage with MOSFETs.
    DEAD_TIME_MOSFET "dead-time-mosfet" "stages.*.dead_time" = 0.5e-6, 0.2e-6..1e-6, Time,
        "MOSFETs turn off within a fraction of a microsecond";
    /// Tolerance of the level of an overvoltage trip.
    VOLTAGE_TRIP_TOLERANCE "voltage-trip-tolerance" "buses.*.overvoltage_trip.tolerance" = 0.02, 0.01..0.03, Ratio,
        "divider, reference and comparator of a voltage trip lie within some 2 %";
    /// Tolerance of the level of an overcurrent trip.
    CURRENT_TRIP_TOLERANCE "current-trip-tolerance" "stages.*.current_sensing.trip_tolerance" = 0.05, 0.02..0.08, Ratio,
        "offset and gain of a current sensor and its comparator lie within some 5 %";
    /// How far reflections along a cable lift an edge at the terminals of a machine.
    TERMINAL_OVERSHOOT "terminal-overshoot" "machines.*.terminal_overshoot" = 0.0, 0.0..1.0, Ratio,
        "the cable to a machine is much shorter than an edge, so that nothing is reflected; along a long one each edge comes to twice its height";
    /// Whether a stage may leave the linear range of its modulation; 1 is permitted.
    OVERMODULATION "overmodulation" "stages.*.overmodulation" = 1.0, 1.0..1.0, Ratio,
        "modulation beyond the linear range is permitted, which is routine at high speed";
    /// Legs of a boost or a buck stage.
    LEGS "legs" "stages.*.legs" = 1.0, 1.0..1.0, Ratio,
        "a stage has one leg";
    /// Share of the linear range that is used before the field of a machine is weakened.
    FIELD_WEAKENING "field-weakening" "stages.*.field_weakening" = 0.95, 0.9..1.0, Ratio,
        "the field is weakened before the linear range ends, to keep a reserve for control";
    /// Largest share of the period that the main switch of a forward converter may conduct.
    LARGEST_DUTY "largest-duty" "stages.*.largest_duty" = 0.65, 0.6..0.7, Ratio,
        "the clamp resets the transformer in the rest of the period, and its voltage rises steeply beyond this share";
    /// Share by which ringing lifts the voltage of the rectifiers behind a transformer.
    RECTIFIER_OVERSHOOT "rectifier-overshoot" "stages.*.rectifier_overshoot" = 1.0, 0.2..1.0, Ratio,
        "ringing of leakage and rectifier reaches twice the plateau where no clamp or snubber is stated";
    /// The lead that rectifiers stand in; 0 is the return.
    RECTIFIER_LEAD "rectifier-lead" "stages.*.rectifier_lead" = 0.0, 0.0..0.0, Ratio,
        "rectifiers stand in the return, so that their gates share the potential of the output";
    /// The negative rail of a bus beside others; there is no number of its own.
    NEGATIVE_RAIL "negative-rail" "buses.*.negative_rail" = 0.0, 0.0..0.0, Ratio,
        "a bus that names no negative rail has one of its own, which no other bus shares";
    /// Whether a fuel cell or a generator takes power back; 0 is no.
    ABSORBS "absorbs" "sources.*.absorbs" = 0.0, 0.0..0.0, Ratio,
        "fuel cells and generators take no power back";
    /// Time in which what a source gave and took fades.
    SOURCE_MEMORY "source-memory" "sources.*.memory" = 300.0, 60.0..1800.0, Time,
        "cells, joints and cables of a source take minutes to warm, and longer than the peaks that its ratings know";
    /// Temperature of conductors whose resistance follows from their section, where the air around them is not stated.
    COPPER_TEMPERATURE "copper-temperature" "conductors.*" = 80.0, 40.0..120.0, Temperature,
        "copper of bars, cables and foil is taken at a usual service temperature where `surroundings.inside_air` is not stated";
    /// Resistance of a conductor of which nothing is known.
    CONDUCTOR_RESISTANCE "conductor-resistance" "conductors.*.resistance" = 0.0, 0.0..0.5e-3, Resistance,
        "a conductor whose resistance is neither stated nor follows from its section drops no voltage";
    /// Highest temperature of a bar or foil that states none.
    CONDUCTOR_HOTTEST "conductor-hottest" "conductors.*.hottest" = 105.0, 90.0..130.0, Temperature,
        "joints, supports and insulation that touch bars and foil usually stand 105 °C";
    /// Which way a bar lies: 0 is flat, 1 on edge.
    BAR_POSITION "bar-position" "conductors.*.position" = 0.0, 0.0..1.0, Ratio,
        "a bar lies flat, which cools least";
    /// The surroundings that the rating of a conductor holds for; there is no number of their own.
    RATED_AT "rated-at" "conductors.*.current.at" = 0.0, 0.0..0.0, Ratio,
        "a rated current that names no temperature of its surroundings holds in whatever air there is";
    /// How long what a contactor opens above may flow until it does.
    OPENS_AFTER "opens-after" "conductors.*.opens.after" = 0.0, 0.0..0.1, Time,
        "a contactor opens at once where nothing says how long an overload may flow; detection and contacts take some 10 to 100 ms";
    /// Emissivity of a bare bar.
    BAR_EMISSIVITY "bar-emissivity" "conductors.*.emissivity" = 0.1, 0.05..0.4, Ratio,
        "bare copper is bright and hardly radiates";
    /// Emissivity of a laminated bar.
    FILM_EMISSIVITY "film-emissivity" "conductors.*.emissivity" = 0.9, 0.8..0.95, Ratio,
        "the insulating film of a laminated bar radiates nearly as a black body";
    /// Where foil lies: 0 is inner, 1 outer.
    FOIL_LAYER "foil-layer" "conductors.*.layer" = 0.0, 0.0..1.0, Ratio,
        "foil lies inside the board, which cools least";
    /// Height above sea level, where air is thinner and cools less.
    ALTITUDE "altitude" "surroundings.altitude" = 0.0, 0.0..2000.0, Length,
        "the unit works at sea level";
    /// Time in which a discharge that is switched on must bring a bus below 60 V.
    DISCHARGED_WITHIN "discharged-within" "buses.*.discharge.within" = 5.0, 1.0..60.0, Time,
        "a discharge that is switched on is commonly asked to take a few seconds; the regulation that applies decides";
    /// Time in which a resistor alone must.
    DISCHARGED_PASSIVELY_WITHIN "discharged-passively-within" "buses.*.discharge.passively_within" = 120.0, 60.0..300.0, Time,
        "a resistor alone is commonly asked to take two minutes; the regulation that applies decides";
    /// Share of the voltage that is left as a contactor closes.
    PRECHARGE_REST "precharge-rest" "branches.*.rest" = 0.05, 0.02..0.1, Ratio,
        "main contactors commonly close at 95 % of the source's voltage";
    /// What is switched on to discharge a bus that states a resistor.
    ACTIVE_DISCHARGE "active-discharge" "buses.*.discharge.active" = 0.0, 0.0..0.0, Power,
        "nothing is switched on to discharge the bus: it stays above 60 V for as long as its resistor alone takes";
    /// What else hangs on a circuit that floats.
    BESIDE "isolation-beside" "isolation.domains.*.beside" = 0.0, 0.0..0.0, Ratio,
        "nothing else that hangs on the circuit takes from its isolation resistance; pack, machines and cables do";
    /// What loads draw while a bus is pre-charged.
    PRECHARGE_LOAD "precharge-load" "branches.*.load" = 0.0, 0.0..0.0, Current,
        "loads are held back until the main contactor has closed";
    /// Capacitors of a bank.
    BANK_PARTS "bank-parts" "capacitors.*.parts" = 1.0, 1.0..1.0, Ratio,
        "a bank is one capacitor";
    /// Resistance between a bank and its bus.
    BANK_PATH_RESISTANCE "bank-path-resistance" "capacitors.*.path.resistance" = 0.0, 0.0..1e-3, Resistance,
        "what joins a bank to its bus is wide copper, and without its resistance nothing damps the bank";
    /// Tolerance of a capacitance.
    CAPACITANCE_TOLERANCE "capacitance-tolerance" "capacitor_types.*.tolerance" = 0.1, 0.05..0.2, Ratio,
        "film capacitors are commonly sold within 10 % of their capacitance, electrolytic ones within 20 %";
    /// Kelvins that halve the life of a capacitor.
    LIFE_HALVED_BY "capacitor-life-halved-by" "capacitor_types.*.endurance.halved_by" = 10.0, 7.0..12.0, TemperatureDifference,
        "10 K more at its hot spot halve the life of a capacitor, by rule of thumb";
    /// Highest temperature of what touches a conductor, for some seconds.
    HOTTEST_BRIEFLY "hottest-briefly" "conductors.*.hottest_briefly" = 160.0, 160.0..250.0, Temperature,
        "what touches a conductor stands 160 °C for some seconds, as PVC does";
    /// Temperature of the element of a fuse when fully loaded.
    FUSE_ELEMENT "fuse-element" "conductors.*.element" = 140.0, 130.0..150.0, Temperature,
        "the element of a fuse is at 140 °C when fully loaded";
    /// Share of the current of a fuse that a load may use that comes and goes.
    FUSE_CYCLIC "fuse-cyclic-load" "conductors.*.cyclic_load" = 0.7, 0.5..0.8, Ratio,
        "a load that comes and goes works the element of a fuse, and makers leave it 70 %";
    /// Current over the rated one at which a fuse certainly melts in its conventional time.
    FUSE_CONVENTIONAL "fuse-conventional-fusing" "conductors.*.conventional_fusing" = 1.6, 1.35..1.9, Ratio,
        "fuses for general use melt at 160 % of their current within their conventional time (IEC 60269-2)";
    /// Core loss of a magnetic component that states none.
    CORE_LOSS "core-loss" "magnetics.*.core.loss" = 0.0, 0.0..0.0, Power,
        "the core loss of a component that states neither it nor what its material loses is left out";
    /// Inductance of a choke that states no tolerance.
    INDUCTANCE_TOLERANCE "inductance-tolerance" "magnetics.*.tolerance" = 0.15, 0.05..0.25, Ratio,
        "gap and material of a core spread the inductance of a choke";
    /// Current of one of several legs above the mean of all.
    LEG_IMBALANCE "leg-imbalance" "stages.*.leg_imbalance" = 0.0, 0.0..0.1, Ratio,
        "legs share the current evenly where control holds the current of each; where it does not, some carry several per cent more";
    /// Direct current of one of the two chokes of a current doubler above half of the load.
    CHOKE_IMBALANCE "choke-imbalance" "stages.*.choke_imbalance" = 0.05, 0.0..0.15, Ratio,
        "the resistances of the two ways of a current doubler, which alone divide its direct current, differ by some per cent each way";
    /// Flux off its middle in a transformer of a full bridge.
    FLUX_WALKING "flux-walking" "magnetics.*.flux_walking" = 0.1, 0.0..0.3, Ratio,
        "half periods of a full bridge are never quite alike, and the flux stands off its middle for it";
    /// Fall of a saturation that is stated at one temperature.
    SATURATION_FALL "saturation-fall" "magnetics.*.core.saturation.fall" = 0.004, 0.0005..0.005, PerKelvin,
        "the saturation of ferrite falls this fast about 100 °C, that of other materials more slowly";
    /// How far the loss of a core's material is known beside the point that is stated.
    STEINMETZ_REACH "steinmetz-reach" "magnetics.*.core.steinmetz.reach" = 3.0, 3.0..3.0, Ratio,
        "one pair of exponents fits a data sheet about this far in frequency and flux density";
    /// Temperature of a winding whose resistance is stated cold and whose path of heat is not stated.
    WINDING_TEMPERATURE "winding-temperature" "magnetics.*.*.to_case" = 100.0, 60.0..140.0, Temperature,
        "a winding that states the temperature of its resistance and not the path of its heat is taken at a usual temperature of service";
    /// Hottest place of a winding over its mean.
    HOT_SPOT "hot-spot" "magnetics.*.*.hot_spot" = 15.0, 10.0..20.0, TemperatureDifference,
        "the inside of a winding is hotter than its mean";
    /// Share of the window's breadth that a layer of a winding fills.
    WINDING_FILLING "winding-filling" "magnetics.*.*.conductor.filling" = 0.8, 0.65..0.95, Ratio,
        "insulation and margins take some of the window's breadth";
    /// Output capacitance of the devices of a leg that switches softly.
    OUTPUT_CAPACITANCE "output-capacitance" "devices.*.transistor.output_capacitance" = 0.0, 0.0..1e-9, Capacitance,
        "a leg whose devices state no output capacitance is taken to switch softly";
    /// Growth of a blocking voltage with temperature.
    COLD_BLOCKING "cold-blocking" "devices.*.transistor.blocking_temperature_coefficient" = 0.001, 0.0003..0.0015, PerKelvin,
        "a device blocks less in the cold, silicon some 0.1 % a kelvin";
    /// Pressure drop of a place on the coolant path.
    PIPE_DROP "pipe-pressure-drop" "cooling.elements.*.pressure_drop" = 0.0, 0.0..0.0, Pressure,
        "a coolant element that states no pressure drop drops no pressure";
    /// What a package holds; 1 is a single switch.
    PACKAGE_CIRCUIT "package-circuit" "devices.*.package.circuit" = 1.0, 1.0..1.0, Ratio,
        "a package holds one switch, which shares its case with no other";
    /// Cooled faces of a package.
    COOLED_FACES "cooled-faces" "devices.*.package.cooled_faces" = 1.0, 1.0..1.0, Ratio,
        "a package is cooled on one face";
    /// Share of glycol in a mixture that does not state it.
    GLYCOL "glycol" "cooling.coolant.glycol" = 0.5, 0.4..0.6, Ratio,
        "a mixture of water and glycol that states no share is half glycol";
    /// How much the coolant may warm.
    WARMING "coolant-warming" "cooling.warming" = 10.0, 8.0..15.0, TemperatureDifference,
        "coolant that warms by more than about 10 K leaves the last parts much hotter than the first";
    /// Passages side by side.
    PASSAGES "passages" "cooling.elements.*.passage.count" = 1.0, 1.0..1.0, Ratio,
        "a coolant element has one passage";
    /// Loss coefficients of the ends and bends of a passage.
    PASSAGE_LOSSES "passage-losses" "cooling.elements.*.passage.losses" = 1.5, 0.5..5.0, Ratio,
        "a passage has two sharp ends: 0.5 where the coolant enters and 1 where it leaves";
    /// Largest heat flux into the coolant over the mean.
    HEAT_CONCENTRATION "heat-concentration" "cooling.elements.*.passage.heat_concentration" = 2.0, 1.2..4.0, Ratio,
        "heat enters the coolant below the chips, about twice as dense as on the mean of the wall";
    /// Growth of IGBT switching energies with voltage.
    VOLTAGE_EXPONENT_IGBT "voltage-exponent-igbt" "devices.*.transistor.energies.voltage_exponent" = 1.35, 1.2..1.4, Ratio,
        "switching energies of IGBTs grow slightly faster than the voltage";
    /// Growth of MOSFET switching energies with voltage.
    VOLTAGE_EXPONENT_MOSFET "voltage-exponent-mosfet" "devices.*.transistor.energies.voltage_exponent" = 1.2, 1.0..1.5, Ratio,
        "switching energies of MOSFETs hold a part that grows with voltage and one with its square";
    /// Growth of transistor switching energies with current, where one point is stated.
    CURRENT_EXPONENT_TRANSISTOR "current-exponent-transistor" "devices.*.transistor.energies.current_exponent" = 1.0, 0.9..1.2, Ratio,
        "switching energies of transistors are close to proportional to the current";
    /// Growth of IGBT switching energies with junction temperature.
    TEMPERATURE_COEFFICIENT_IGBT "temperature-coefficient-igbt" "devices.*.transistor.energies.temperature_coefficient" = 0.003, 0.001..0.004, PerKelvin,
        "the tail of an IGBT grows with its temperature";
    /// Growth of MOSFET switching energies with junction temperature.
    TEMPERATURE_COEFFICIENT_MOSFET "temperature-coefficient-mosfet" "devices.*.transistor.energies.temperature_coefficient" = 0.0005, 0.0..0.001, PerKelvin,
        "a MOSFET has no tail, and its switching energies hardly depend on temperature";
    /// Growth of recovery energy with voltage.
    VOLTAGE_EXPONENT_DIODE "voltage-exponent-diode" "devices.*.diode.energies.voltage_exponent" = 0.6, 0.5..0.7, Ratio,
        "recovered charge grows slower than the voltage";
    /// Growth of recovery energy with current, where one point is stated.
    CURRENT_EXPONENT_DIODE "current-exponent-diode" "devices.*.diode.energies.current_exponent" = 0.6, 0.5..0.7, Ratio,
        "recovered charge grows slower than the current";
    /// Growth of recovery energy with junction temperature.
    TEMPERATURE_COEFFICIENT_DIODE "temperature-coefficient-diode" "devices.*.diode.energies.temperature_coefficient" = 0.006, 0.005..0.007, PerKelvin,
        "carriers live longer in a warm diode";
    /// Slope of an on-state voltage that is known at one junction temperature only.
    ON_STATE_SLOPE "on-state-slope" "devices.*.*.on_state" = 0.0, 0.0..0.0, PerKelvin,
        "an on-state curve stated at one junction temperature is taken at every temperature";
    /// The diode may get as hot as the transistor beside it; there is no number of its own.
    DIODE_JUNCTION_LIMIT "diode-junction-limit" "devices.*.diode.junction_limit" = 0.0, 0.0..0.0, TemperatureDifference,
        "the diode may get as hot as the transistor beside it";
    /// The flow that a resistance to the coolant was measured at; there is no number of its own.
    FACE_FLOW "face-flow" "cooling.elements.*.cools.*.flow" = 0.0, 0.0..0.0, Ratio,
        "a resistance to the coolant that names no flow is the same at any flow; less flow would raise it";
    /// Where along an element the coolant temperature is taken; 1 is its outlet, 0 its inlet.
    REFERRED_TO "referred-to" "cooling.elements.*.referred_to" = 1.0, 0.0..1.0, Ratio,
        "resistances to the coolant are referred to the coolant leaving the element, the cautious side";
    /// Resistance of a phase of a machine that stands still and states none.
    STANDSTILL_RESISTANCE "standstill-resistance" "machines.*.phase_resistance" = 0.0, 0.0..0.05, Resistance,
        "a machine at standstill with no phase resistance stated takes next to no voltage";
    /// How far the voltages of a gate supply lie off.
    GATE_RAIL_TOLERANCE "gate-rail-tolerance" "gate_supplies.*.tolerance" = 0.05, 0.02..0.1, Ratio,
        "regulated gate supplies lie within 5 %, others further";
    /// Gate voltage from off to on, where a gate supply does not state both.
    GATE_SWING "gate-swing" "gate_supplies.*.drive_on" = 20.0, 9.0..23.0, Voltage,
        "gates are driven over some 20 V, those of gallium nitride over 9 V; a tenth of it may stand along a shared return";
    /// Gate voltage in the off state behind a bootstrap.
    BOOTSTRAP_OFF "bootstrap-off" "gate_supplies.*.drive_off" = 0.0, 0.0..0.0, Voltage,
        "a bootstrap gives no negative voltage of its own";
    /// Charge that a level shifter takes.
    SHIFT_CHARGE "shift-charge" "gate_supplies.*.bootstrap.shift_charge" = 0.0, 0.0..10e-9, Charge,
        "an isolated driver has no level shifter";
    /// Whether each of several devices in parallel has gate resistors of its own; 1 is yes.
    OWN_GATE_RESISTORS "own-gate-resistors" "drivers.*.resistor_for_each" = 1.0, 0.0..1.0, Ratio,
        "devices in parallel each have gate resistors, without which their gates ring against one another";
    /// How the voltage of a circuit lies to the chassis; 0 is floating.
    EARTHING "earthing" "isolation.domains.*.earthing" = 0.0, 0.0..0.0, Ratio,
        "a circuit floats: its isolation resistance alone leads to the chassis, and either rail may stand whole against it";
    /// How long a duty point lasts; 1 is continuous.
    LASTS "lasts" "duty.*.lasts" = 1.0, 1.0..1.0, Ratio,
        "a duty point lasts until everything has settled";
}

/// The default of that name.
pub fn default(id: &str) -> Option<&'static Default> {
    ALL.iter().find(|default| default.id == id)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_differ_and_values_lie_in_their_usual_range() {
        for (place, one) in ALL.iter().enumerate() {
            assert!(one.usual.0 <= one.value && one.value <= one.usual.1, "{}", one.id);
            assert!(ALL[..place].iter().all(|other| other.id != one.id), "{}", one.id);
            assert!(default(one.id) == Some(one));
            assert!(EDITIONS.contains(&one.edition));
        }
    }
}
