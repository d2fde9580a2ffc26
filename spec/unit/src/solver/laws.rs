//! Laws that are no more than bookkeeping: sums, products and balances of figures that other laws gave.

use loadworthy_physics::Law;

const ARITHMETIC: &str = "always";
const DEFINITION: &str = "definition";
const BALANCE: &str = "balance of power";
const SHARE: &str = "constant current; share of the carrier period d = ½·(1 + M + z) for the transistor of the leg at the crest, ½·(1 + M/2 − z) for those of the others, 1 less that for what takes over from it; z = −M/4 space vector, −M/6 third harmonic, 0 sine";
const RIPPLED: &str = "linear modulation; X as without ripple; within 1.3 % of î up to a ripple of 0.35";
const RIPPLED_SOURCE: &str = "closed form times the RMS factor of the ripple; own waveform integration";

macro_rules! laws {
    ($($name:ident: $title:literal, $formula:literal, $validity:expr, $source:expr;)+) => {$(
        pub(crate) static $name: Law =
            Law { name: $title, formula: $formula, validity: $validity, source: $source };
    )+};
}

laws! {
    STATED: "taken as stated", "x = stated value", ARITHMETIC, DEFINITION;
    SIGNED_POWER_FACTOR: "power factor with the sign of the power", "cos φ = |cos φ|·sign(P)", ARITHMETIC, DEFINITION;
    STANDING_POWER_FACTOR: "power factor at standstill", "cos φ = 1", "only the resistance of the winding takes power", DEFINITION;
    STANDING_VOLTAGE: "line voltage at standstill, as RMS of the crest position", "V_LL = √3·R·I", "0 Hz; no back-EMF", "Ohm's law";
    CREST: "crest of a sine", "Î = √2·I", "sine current", DEFINITION;
    RESTING: "nothing is asked of it", "x = 0", ARITHMETIC, DEFINITION;
    DEVICE_DROP: "voltage that the conducting devices take", "V_on = 4/π·V_0 + r·î, at 0 Hz without 4/π; the side of the leg that takes more", "line of the hottest curve; along the current", DEFINITION;
    DROP: "voltage that devices and dead time take", "V = V_on + 4/π·V_dc·t_d·f_s, at 0 Hz without 4/π", "along the current", DEFINITION;
    FORMED_INDEX: "modulation index that the poles form", "M = 2/V_dc·|V̂_ph + V_on·e^(−jφ)|", "as the commanded index, less what the dead time takes again", loadworthy_physics::pole_voltage::POLE_INDEX.source;
    RIPPLED_TRANSISTOR_RMS: "RMS current of a transistor with phase ripple", "I = î·√(1/8 + M·cos φ/(3·π) + X)·k_rip", RIPPLED, RIPPLED_SOURCE;
    RIPPLED_DIODE_RMS: "RMS current of a diode with phase ripple", "I = î·√(1/8 − M·cos φ/(3·π) − X)·k_rip", RIPPLED, RIPPLED_SOURCE;
    RIPPLED_CHANNEL_RMS: "RMS current of a channel with phase ripple", "I = î/2·√(1 − 2·t_d·f_s)·k_rip", RIPPLED, RIPPLED_SOURCE;
    PARALLEL_CREST: "crest in one of n devices", "î = Î/n", "equal sharing among parallel devices", DEFINITION;
    STANDING_CREST: "standing current in one of n devices", "i = Î/n in the leg at the crest, Î/(2·n) in the others", "rotor held where one phase is at its crest", DEFINITION;
    NO_CURRENT: "this corner leads no current through it", "i = 0", "rotor held where one phase is at its crest", DEFINITION;
    STANDING_AVERAGE: "mean current at standstill", "I = d·i", SHARE, "mean of a chopped constant current";
    STANDING_RMS: "RMS current at standstill", "I = √d·i", SHARE, "mean square of a chopped constant current";
    STANDING_DEAD_AVERAGE: "mean current of a body diode at standstill", "I = 2·t_d·f_s·i where the channel takes over from another transistor, else 0", "constant current", "mean of a chopped constant current";
    STANDING_DEAD_RMS: "RMS current of a body diode at standstill", "I = √(2·t_d·f_s)·i where the channel takes over from another transistor, else 0", "constant current", "mean square of a chopped constant current";
    STANDING_CHANNEL_RMS: "RMS current of a channel at standstill", "I = i·√d where it leads, i·√(d − 2·t_d·f_s) on the other side", SHARE, DEFINITION;
    CHANNEL_AVERAGE: "average current of a channel that leads both ways", "I = î·M·cos φ/4 + 2/π·î·t_d·f_s", "forward less backward current; the body diode leads backward in the dead times", "transistor less diode average of the same position";
    CONDUCTION: "conduction loss", "P = V_0·I_avg + r·I_rms²", "straight on-state line", loadworthy_physics::on_state::CONDUCTION_LOSS.source;
    SWITCHING: "switching loss", "P = f_s·E·(1 + c·(T_j − T_ref))", "linear in the junction temperature", loadworthy_physics::switching::LOSS.source;
    CHIP_LOSS: "loss of the chip", "P = sum of its losses", ARITHMETIC, DEFINITION;
    STAGE_LOSS: "loss of the stage", "P = Σ n·P_package", "devices only", DEFINITION;
    DC_POWER: "power from the bus", "P_dc = P_out + P_loss", ARITHMETIC, BALANCE;
    OVER_VOLTAGE: "current at a voltage", "I = P/V", ARITHMETIC, BALANCE;
    EFFICIENCY: "efficiency in the direction of flow", "η = P_out/P_dc, recovering P_dc/P_out", ARITHMETIC, DEFINITION;
    JUNCTION_ONE_FACE: "mean junction temperature", "T_j = T_c + R_jc·P", "steady; solved together with the loss", "series of thermal resistances";
    JUNCTION_TWO_FACES: "mean junction temperature between two faces", "T_j = (T_ca + T_cb)/2 + R_jc·P", "steady; R_jc of both faces together, alike on both sides; solved together with the loss", loadworthy_physics::two_faces::JUNCTION.source;
    JUNCTION_CREST: "crest of the junction temperature", "T_j,max = T_j + ΔT", ARITHMETIC, DEFINITION;
    JUNCTION_RIPPLE: "crest over mean, from the output frequency", "ΔT = P·Σ R_k·(g_k − 1), g_k = 1 + (π/2)/√(1 + (ω·τ_k)²) + (2/3)/√(1 + (2·ω·τ_k)²), at most π", "half-sine loss; reads 0 to 11 % high in usual chains; up to 6 % low where conduction dominates below 1 Hz", loadworthy_physics::junction_ripple::PEAK_RISE.source;
    HELD: "no ripple: the loss stands still", "ΔT = 0", "0 Hz; the loss is that of the crest already", DEFINITION;
    CASE: "case temperature", "T_c = T_coolant + R·P", "steady; all chips of the package share the case", "series of thermal resistances";
    FACE_HEAT: "heat through the face of one package", "P = Σ of its chips' losses", "steady", BALANCE;
    FACE_HEAT_OF_TWO: "heat through one of two faces", "P_a = Σ (T_j − T_ca)/(2·R_jc)", "steady", loadworthy_physics::two_faces::JUNCTION.source;
    PLACE_HEAT: "heat into the coolant here", "P = Σ n·P_face", "steady", BALANCE;
    COOLANT_IN: "coolant entering", "T_in = coolant leaving the place before", "series path", BALANCE;
    COOLANT_OUT: "coolant leaving", "T_out = T_in + P/C", "heat-capacity rate taken at the inlet of the unit", loadworthy_physics::coolant::WARMING.source;
    COOLANT_REFERENCE: "coolant that the resistances are referred to", "T = T_in + c·(T_out − T_in), c = 0 inlet, ½ mean, 1 outlet", ARITHMETIC, DEFINITION;
    PLATE: "plate temperature", "T = T_coolant + R·P", "steady; the plate takes the heat of all that stands on it", "series of thermal resistances";
    LOOP_HEAT: "all heat into the coolant", "P = C·(T_out − T_in)", "steady", BALANCE;
    BUS_STATED: "bus voltage, as the duty point states it", "V = stated value", ARITHMETIC, DEFINITION;
    BUS_SOLVED: "bus voltage behind the source's resistance", "V = V_oc − R·P/V, the solution near V_oc", "direct current; highest resistance of the source", loadworthy_physics::battery::TERMINAL_VOLTAGE.source;
    BUS_POWER: "power drawn from the bus", "P = sum of what hangs on it", ARITHMETIC, BALANCE;
    SOURCE_LOSS: "loss in the source", "P = R·I²", "direct current", "Joule heat";
}
