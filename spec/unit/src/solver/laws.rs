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
    STANDING_LARGEST: "largest standing current in one of n devices", "i = I_max/n, I_max of the phase at its crest, in the others Î/2 and their own ripple", "equal sharing among parallel devices", DEFINITION;
    NO_CURRENT: "this corner leads no current through it", "i = 0", "rotor held where one phase is at its crest", DEFINITION;
    STANDING_AVERAGE: "mean current at standstill", "I = d·i", SHARE, "mean of a chopped constant current";
    STANDING_RMS: "RMS current at standstill", "I = √d·i", SHARE, "mean square of a chopped constant current";
    STANDING_DEAD_AVERAGE: "mean current of a body diode at standstill", "I = 2·t_d·f_s·i where the channel takes over from another transistor, else 0", "constant current", "mean of a chopped constant current";
    STANDING_DEAD_RMS: "RMS current of a body diode at standstill", "I = √(2·t_d·f_s)·i where the channel takes over from another transistor, else 0", "constant current", "mean square of a chopped constant current";
    STANDING_CHANNEL_RMS: "RMS current of a channel at standstill", "I = i·√d where it leads, i·√(d − 2·t_d·f_s) on the other side", SHARE, DEFINITION;
    CHANNEL_AVERAGE: "average current of a channel that leads both ways", "I = î·M·cos φ/4 + 2/π·î·t_d·f_s", "forward less backward current; the body diode leads backward in the dead times", "transistor less diode average of the same position";
    CONDUCTION: "conduction loss", "P = V_0·I_avg + r·I_rms²", "straight on-state line", loadworthy_physics::on_state::CONDUCTION_LOSS.source;
    SWITCHING: "switching loss", "P = f_s·E·(1 + c·(T_j − T_ref))", "linear in the junction temperature; held at a quarter of E where the line would be lower, which reads high in the cold", loadworthy_physics::switching::LOSS.source;
    CHIP_LOSS: "loss of the chip", "P = sum of its losses", ARITHMETIC, DEFINITION;
    LOSS_GROWTH: "growth of the loss with its junction", "dP/dT_j of the straight line that its losses follow", "linear in the junction temperature", DEFINITION;
    STAGE_LOSS: "loss of the stage", "P = Σ n·P", "devices, chokes and transformer; capacitors left out", DEFINITION;
    DC_POWER: "power from the bus", "P_dc = P_out + P_loss", ARITHMETIC, BALANCE;
    OVER_VOLTAGE: "current at a voltage", "I = P/V", ARITHMETIC, BALANCE;
    EFFICIENCY: "efficiency in the direction of flow", "η = P_out/P_dc, recovering P_dc/P_out", ARITHMETIC, DEFINITION;
    JUNCTION_ONE_FACE: "mean junction temperature", "T_j = T_c + R_jc·P", "steady; solved together with the loss", "series of thermal resistances";
    JUNCTION_TWO_FACES: "mean junction temperature between two faces", "T_j = (T_ca + T_cb)/2 + R_jc·P", "steady; R_jc of both faces together, alike on both sides; solved together with the loss", loadworthy_physics::two_faces::JUNCTION.source;
    JUNCTION_CREST: "crest of the junction temperature", "T_j,max = T_j + ΔT", ARITHMETIC, DEFINITION;
    SETTLED: "hottest junction once everything has settled", "T_j,hot = T_j,max", "the duty point goes on, or does not say what it starts from", DEFINITION;
    OVER_TIME: "hottest junction while the duty point lasts", "T_j(t) = T_c + Σ θ_k + ΔT, τ_k·dθ_k/dt = R_k·P(T_j) − θ_k; plates alike where their heat capacity is stated", "currents of the settled lane; coolant, cases and plates without a heat capacity follow at once; steps of implicit exponentials", loadworthy_physics::transient::FADES.source;
    HELD: "no ripple: the loss stands still", "ΔT = 0", "0 Hz; the loss is that of the crest already", DEFINITION;
    CASE: "case temperature", "T_c = T_coolant + R·P", "steady; all chips of the package share the case", "series of thermal resistances";
    FACE_HEAT: "heat through the face of one package", "P = Σ of its chips' losses", "steady", BALANCE;
    FACE_HEAT_OF_TWO: "heat through one of two faces", "P_a = Σ (T_j − T_ca)/(2·R_jc)", "steady", loadworthy_physics::two_faces::JUNCTION.source;
    VOLTAGE_DROP: "voltage along a conductor", "V = R·I", "direct current, copper at the temperature of the air", "Ohm's law";
    TOTAL_DROP: "pressure drop of the loop", "Δp = Σ Δp_place, where the flow divides along the branch that drops most", "every place of it states its drop, or a bore and a length", DEFINITION;
    CHOKE_ENERGY: "energy in a choke", "E = L·(1 + δ)·I²/2 at the crest of its current", "inductance the same up to the crest", "energy of an inductance";
    FAULT_CONSTANT: "time constant of the highest fault", "τ = L·I/V, L of the source with its cables, I its highest prospective current, V its highest voltage", "one source alone drives it; bars on the way and the fault itself add to L", "first-order rise; any textbook on circuits";
    SLOWEST_FAULT: "time constant of a fault that several sources drive", "τ = max of L_k/R_k, L_k and R_k of each source with its cables; L_k·I_k/V_k where a short-circuit current is stated", "no less than that of their sum: what they share adds resistance; bars on the way and the fault itself add to L", "first-order rise; any textbook on circuits";
    PADS_HEAT: "heat into the coolant here", "P = Σ n·P_face + Σ P of conductors on pads here", "steady; all that a conductor on a pad loses goes there", BALANCE;
    PLACE_HEAT: "heat into the coolant here", "P = Σ n·P_face", "steady", BALANCE;
    COOLANT_IN: "coolant entering", "T_in = coolant leaving the place before", "series path", BALANCE;
    COOLANT_OUT: "coolant leaving", "T_out = T_in + P/C", "heat-capacity rate taken at the inlet of the unit", loadworthy_physics::coolant::WARMING.source;
    COOLANT_REFERENCE: "coolant that the resistances are referred to", "T = T_in + c·(T_out − T_in), c = 0 inlet, ½ mean, 1 outlet", ARITHMETIC, DEFINITION;
    PLATE: "plate temperature", "T = T_coolant + R·P", "steady; the plate takes the heat of all that stands on it", "series of thermal resistances";
    LOOP_HEAT: "all heat into the coolant", "P = C·(T_out − T_in)", "steady", BALANCE;
    AT_BUS: "voltage at the bus", "V = voltage of the bus", ARITHMETIC, DEFINITION;
    AT_PORT: "voltage at the stage", "V = V_bus − R·I where it draws, V_bus + R·I where it feeds", "direct current; resistance of the conductors on the way", "Ohm's law";
    AT_TERMINALS: "voltage at the terminals", "V = V_bus + R·I", "direct current; resistance of the conductors on the way", "Ohm's law";
    BUS_AT_SOURCE: "bus voltage behind a source that gives a share", "V = V_terminal − R·I", "direct current; resistance of the conductors on the way", "Ohm's law";
    TIMES_VOLTAGE: "power of a current", "P = V·I", "direct current", BALANCE;
    DRAWN_FROM_BUS: "power drawn from the bus", "P = P_stage + R·I²", "direct current; resistance of the conductors on the way", BALANCE;
    GIVEN_TO_BUS: "power drawn from the bus by what feeds it", "P = R·I² − P_stage", "direct current; negative while it feeds", BALANCE;
    PASSED_ON: "power that the bus it holds asks of a stage", "P = what hangs on the bus, and the loss of the conductors to it", ARITHMETIC, BALANCE;
    PASSED_THROUGH: "power on the other side of a stage", "P_in = P_out + P_loss", ARITHMETIC, BALANCE;
    BUS_POWER_LESS_SHARES: "power drawn from the bus, less the shares that sources give", "P = Σ drawn − Σ shares", ARITHMETIC, BALANCE;
    BALANCES: "share of a source that balances its bus", "P = 0", "it takes what is left over", DEFINITION;
    SHARE_POWER: "share that arrives at the bus", "P = V·I with P_terminal = (V + R·I)·I", "direct current; resistance of the conductors on the way", BALANCE;
    SHARE_CURRENT: "share that arrives at the bus", "P = V·I", "direct current", BALANCE;
    DIVIDES: "current of one of several sources", "I = (V_oc − V)/R", "direct current; highest resistance of the source and that of its conductors", "Ohm's law";
    SERIES: "current in series", "I = I of the branch", ARITHMETIC, BALANCE;
    IN_RESERVE: "current of a conductor around another", "I = 0", "in service the conductor that it leads around is closed", DEFINITION;
    LEG_CURRENT: "mean current of a leg", "I_L = P/(V·n), positive towards the high bus", "legs share evenly", BALANCE;
    LEG_DROP: "voltage that choke and device take", "V = V_0 + r·|I_L| of the device at its hottest curve, in the direction of the current, + R_winding·I_L", "the low side stands for both positions", "Ohm's law";
    LIMITED_DUTY: "duty of the switch that stores energy", "D of the low side of a boost; 1 − D, the high side, of a buck", ARITHMETIC, DEFINITION;
    DRIVEN_VOLTAGE: "output voltage with the drops on the way", "V = V_out + V_rectifier + (R_secondary + R_choke)·I_out", "device at its hottest curve with the whole output current", "Ohm's law";
    SECONDARY: "RMS current of a secondary winding", "centre tap and forward: that of its rectifier; current doubler: n·I_primary", "the magnetising current counts as passed on in a current doubler", DEFINITION;
    BLOCKED: "voltage that is blocked, ringing left out", "switch V_in; rectifier 2·V_in/n with a centre tap, V_in/n with a current doubler", "undamped ringing reaches twice this", "voltage balance";
    SOFT_EDGES: "energy of edges that switch softly", "E = 0", "the circuit takes the voltage or the current away before the edge", DEFINITION;
    DEAD_AVERAGE: "mean current of a body diode while its gate is off", "I = f_s·Σ∫|i| dt after the edges at which it conducts, over n", "current constant over a dead time; of a rectifier falling or rising straight while the leakage moves it to or from the other", "mean of a pulsed current";
    DEAD_RMS: "RMS current of a body diode while its gate is off", "I = √(f_s·Σ∫i² dt) after the edges at which it conducts, over n", "current constant over a dead time; of a rectifier falling or rising straight while the leakage moves it to or from the other", "mean square of a pulsed current";
    MAGNETIC_LOSS: "loss of a magnetic component", "P = Σ of its windings + that of its core", ARITHMETIC, BALANCE;
    FLOW_SHARE: "share of the flow through a branch", "x = Q/Σ Q", ARITHMETIC, DEFINITION;
    PUMPED: "flow of a pump against its path", "p_pump(Q) = Σ Δp(Q) along the path, with one pressure over the branches of a split", "p_pump = p_0 − a·Q − b·Q² through the stated points where that passes all within 2 % of p_0, else straight from point to point", "balance of pressures";
    COLD_FLOW: "flow with all coolant as cold as the surroundings", "a pump that holds its flow: Q as stated; else where its curve meets the drops at the lowest temperature", "all coolant at one temperature, pump curve as stated", DEFINITION;
    ROW_HEAT: "heat into the coolant of a branch", "P = Σ P_place", "steady", BALANCE;
    COLD_OUTLET: "outlet in a cold start", "T = T_coldest + P/(ρ·Q·c_p) at the lowest temperature", "full heat at once, walls without mass: on the high side; of a branch from T_coldest on, what warms the coolant before it left out", BALANCE;
    LEAST_PRESSURE: "lowest absolute pressure where the coolant leaves", "p as stated, else that of the air", "loop open to the air where nothing is stated", DEFINITION;
    PRESSURE_HERE: "lowest absolute pressure here", "p = p_after + Δp_after", "without height; places that state no drop add nothing, which is on the low side", BALANCE;
    WALL_BOUND: "no wetted wall is further above the coolant than what stands on it, where most heat enters", "T_w ≤ T_out + s·(T_hot − T_coolant), T_hot of the plate, else of the hottest case, s the largest heat flux over the mean", "on the high side, by what lies between case and coolant; s as stated, else 2", "heat flows from hot to cold";
    COOLANT_MIXED: "coolant where branches come together", "T = Σ x·T_branch", "heat capacities in the ratio of the flows", BALANCE;
    ELECTRICAL_FREQUENCY: "output frequency", "f = p·n", "synchronous machine", DEFINITION;
    TORQUE_OF_POWER: "torque of a power at the shaft", "T = P/(2·π·n)", ARITHMETIC, DEFINITION;
    AVAILABLE_VOLTAGE: "crest of phase voltage that the bus leaves", "V̂ = k_fw·M_lin·V_dc/2 − 4/π·V_dc·t_d·f_s", "drop of the devices left out; the reserve k_fw covers it", loadworthy_physics::pole_voltage::POLE_INDEX.source;
    CARRIER_RATIO: "carrier periods in a turn of the output", "f_s/f", ARITHMETIC, DEFINITION;
    ALONE: "one device shares with nobody", "x = x of the device", "a single device", DEFINITION;
    NO_SKEW: "threshold skew is not counted", "ΔE/E = 0", "a diode, or a data sheet that does not state how far thresholds lie apart", DEFINITION;
    UNLUCKY: "current of the unluckiest device", "I = k·I_mean", "one device at the low end of its on-state voltage, the others at the high end", DEFINITION;
    SHAFT_CURRENT: "phase current of a machine", "I = √(i_d² + i_q²)/√2", "sinusoidal machine, steady", DEFINITION;
    SHAFT_POWER_FACTOR: "power factor at the terminals of a machine", "cos φ = (v_d·i_d + v_q·i_q)/(V̂·Î)", "sinusoidal machine, steady", DEFINITION;
    BUS_STATED: "bus voltage, as stated", "V = voltage that the duty point states; where it states none, the nominal one", ARITHMETIC, DEFINITION;
    BUS_SOLVED: "bus voltage behind the source's resistance", "V = V_oc − R·P/V, the solution near V_oc; of several sources V_oc = Σ(V_k/R_k)/Σ(1/R_k), R = 1/Σ(1/R_k)", "direct current; highest resistance of the source, and that of the conductors", loadworthy_physics::battery::TERMINAL_VOLTAGE.source;
    RESISTOR_LOSS: "loss of a resistor across a bus", "P = V²/R at the highest bus voltage", "direct voltage", "Ohm's law";
    FOLLOWS: "time of a discharge through another bus", "t = time of the bus that it follows", "a diode leads from this bus to that one", DEFINITION;
    REST_VOLTAGE: "voltage left across a contactor as it closes", "V_rest = x·V of the source", ARITHMETIC, DEFINITION;
    CLOSING_CURRENT: "current as a contactor closes on what a pre-charge left", "Î of a series circuit of C, R and L from V_rest: R = lowest of the source + conductors + banks, L of source and banks", "a bound: inductance counted where it is stated; banks at the high end of their tolerance; loads, banks behind a diode and bouncing left out", "discharge of a series circuit; any textbook on circuits";
    PRECHARGE_INRUSH: "current as a pre-charge begins", "I = V/ΣR", "empty bank, source of constant voltage; the resistance of the source is left out", "Ohm's law";
    PRECHARGE_PULSE: "I²t of a pre-charge", "I²t = E/ΣR", "all of the energy in resistances that one current passes", "Joule heat";
    PRECHARGE_PEAK: "peak power of a pre-charge", "P = V·I as it begins, in all resistances together", "empty bank, source of constant voltage", "Ohm's law";
    SHARED_EVENLY: "ripple current of one capacitor, RMS", "I = I_bank/n", "capacitors of a bank alike and alike far from the bus", DEFINITION;
    BANK_PEAK: "highest voltage across a bank", "V = highest voltage of the bus + ΔV/2", ARITHMETIC, DEFINITION;
    HIGHEST_VOLTAGE: "highest voltage of a bus", "V = the largest of the highest as stated, the solved one, and the highest open-circuit voltage of its sources", "the stated one holds the trip level of the control", DEFINITION;
    BLOCKS_BUS: "highest voltage that a position blocks", "V = highest voltage of the bus", "between the rails; what commutation adds comes on top", "voltage balance";
    BUS_POWER: "power drawn from the bus", "P = sum of what hangs on it", ARITHMETIC, BALANCE;
    SOURCE_LOSS: "loss in the source", "P = R·I²", "direct current", "Joule heat";
    DRAWN_LOSS: "loss that power is drawn for along a conductor", "P = R·I²",
        "direct current, copper as warm as the air; `heating_loss` is with ripple, skin effect and its own temperature",
        "Joule heat";
}
