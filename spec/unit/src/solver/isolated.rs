//! A stage with a transformer: from the power that it passes to the loss line of each chip.

use loadworthy_physics::Law;
use loadworthy_physics::converters::forward;
use loadworthy_physics::converters::full_bridge;
use loadworthy_physics::converters::wave::Wave;

use crate::plan::{Isolated, IsolatedKind, MagneticRole, Plan, Position, Role, Stage};
use crate::solver::carried::{Carried, Edges, Point, carried};
use crate::solver::laws;
use crate::solver::magnetic::{self, Drive};
use crate::solver::operating_point;
use crate::solver::pass::Pass;
use crate::solver::pulsed::{self, Edge, Pulse, PulseLaws};
use crate::solver::resting;
use crate::solver::scratch::Scratch;
use crate::trace::{Operand, Trace};

macro_rules! pulse_laws {
    ($name:ident, $what:literal, $validity:literal, $source:expr) => {
        static $name: PulseLaws = PulseLaws {
            average: Law {
                name: concat!("mean current of a chip in ", $what),
                formula: "I_avg = mean of the part of the position's current that runs its way, over n",
                validity: $validity,
                source: $source,
            },
            rms: Law {
                name: concat!("RMS current of a chip in ", $what),
                formula: "I_rms = √(mean square of the part of the position's current that runs its way, dead times of a channel left out), over n",
                validity: $validity,
                source: $source,
            },
            peak: Law {
                name: concat!("largest current of a chip in ", $what),
                formula: "î = largest current of the position in its direction, over n",
                validity: $validity,
                source: $source,
            },
        };
    };
}

pulse_laws!(
    BRIDGE_SIDE,
    "the bridge",
    "continuous current of the output choke; edges that the leakage turns soft cost nothing",
    full_bridge::PRIMARY.source
);
pulse_laws!(
    RECTIFIER_SIDE,
    "the rectifier",
    "one rectifier keeps the whole current while the primary freewheels",
    full_bridge::RECTIFIER.source
);
pulse_laws!(
    FORWARD_SIDE,
    "the primary",
    "continuous current of the output choke; where main or clamp switch state no output capacitance the turn-on of the main switch counts as hard, which is on the high side",
    forward::PRIMARY.source
);
pulse_laws!(
    FREEWHEEL_SIDE,
    "the rectifier",
    "continuous current of the output choke, leakage included",
    forward::RECTIFIER.source
);

/// Currents of a stage that rectifies.
pub static RECTIFIES: Law = Law {
    name: "currents of a stage with a rectifier",
    formula: "those of a load I_o ≥ 0",
    validity: "power towards the rectifier; none flows back",
    source: "definition of a rectifier",
};

/// Currents of the stage and the loss line of each of its chips.
pub(crate) fn currents<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    isolated: &Isolated,
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    let [_, to] = stage.ports.as_slice() else { return };
    let inputs = &isolated.inputs;
    driven_voltage(plan, stage, isolated, pass);
    let load = pass.figure(to.current);
    let turns = pass.input(inputs.turns_ratio);
    let points: [Point; L] =
        core::array::from_fn(|l| operating_point::point(plan, stage, isolated, pass.at(l)));
    figures(plan, stage, isolated, &points, pass);
    for &own in &stage.magnetics {
        let component = &plan.magnetics[own];
        let is_transformer = component.role == MagneticRole::Transformer;
        let is_doubler = isolated.kind == IsolatedKind::CurrentDoubler;
        let ramps = |l: usize| ramps(&points[l], is_transformer, is_doubler);
        let wave = |winding: usize, l: usize| wave(&points[l], is_transformer, is_doubler, winding, turns[l]);
        let out = &isolated.figures;
        let drive = Drive {
            times: magnetic::times(stage, component),
            peak: (!is_transformer).then_some(out.choke_peak),
            ripple: if is_transformer { out.magnetising_ripple } else { out.ripple },
            duty: out.effective_duty,
            ramps: &ramps,
            wave: &wave,
        };
        magnetic::losses(plan, stage, own, &drive, pass, scratch);
    }
    for position in &stage.positions {
        chips(plan, stage, isolated, position, &points, &load, pass, scratch);
    }
}

/// Shares of its period in which the flux of a component rises and falls.
fn ramps(point: &Point, is_transformer: bool, is_doubler: bool) -> (f64, f64) {
    match (point, is_transformer) {
        (Point::Bridge(point), true) => (0.5 * point.effective_duty, 0.5 * point.effective_duty),
        (Point::Bridge(point), false) if is_doubler => {
            (0.5 * point.effective_duty, 1.0 - 0.5 * point.effective_duty)
        }
        (Point::Bridge(point), false) => (point.effective_duty, 1.0 - point.effective_duty - point.rest),
        (Point::Forward(point), true) => (point.effective_duty, point.resetting),
        (Point::Forward(point), false) => (point.effective_duty, 1.0 - point.effective_duty - point.idle),
    }
}

/// Current of a winding over its period, and what it is multiplied by.
fn wave(point: &Point, is_transformer: bool, is_doubler: bool, winding: usize, turns: f64) -> (Wave, f64) {
    match (point, is_transformer, winding) {
        (Point::Bridge(point), true, 0) => (point.primary_wave, 1.0),
        // The magnetising current counts as passed on.
        (Point::Bridge(point), true, _) if is_doubler => (point.primary_wave, turns),
        (Point::Bridge(point), true, _) => (point.rectifier_wave, 1.0),
        (Point::Bridge(point), false, _) => (point.inductor_wave, 1.0),
        (Point::Forward(point), true, 0) => (point.primary_wave, 1.0),
        (Point::Forward(point), true, _) => (point.forward_wave, 1.0),
        (Point::Forward(point), false, _) => (point.inductor_wave, 1.0),
    }
}

/// Output voltage with what rectifier, secondary winding and output choke take.
fn driven_voltage<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    isolated: &Isolated,
    pass: &mut Pass<'_, L, T>,
) {
    let to = &stage.ports[1];
    let (volts, load) = (pass.figure(to.voltage), pass.figure(to.current));
    let mut from: [Operand; 8] = [to.voltage.into(); 8];
    from[1] = to.current.into();
    let mut count = 2;
    let mut drop = [0.0; L];
    let rectifier =
        stage.positions.iter().find(|position| matches!(position.role, Role::Rectifier | Role::Freewheel));
    if let Some(position) = rectifier {
        let parallel = pass.input(stage.parallel(position));
        let curves = &plan.chips[position.chips.start].conduction;
        from[count] = stage.parallel(position).into();
        from[count + 1] = curves.id.into();
        count += 2;
        for l in 0..L {
            let share = load[l] / parallel[l];
            let (knee, slope) = curves.hottest().map_or((f64::NAN, f64::NAN), |curve| curve.line(share));
            drop[l] += if share > 0.0 { knee + slope * share } else { 0.0 * share };
        }
    }
    // Of the transformer the last winding is the secondary.
    for &magnetic in &stage.magnetics {
        if let Some(winding) = plan.magnetics[magnetic].windings.last() {
            let ohms = magnetic::in_service(winding, pass);
            from[count] = winding.resistance.into();
            count += 1;
            for l in 0..L {
                drop[l] += ohms[l] * load[l];
            }
        }
    }
    pass.put(isolated.figures.driven_voltage, &laws::DRIVEN_VOLTAGE, &from[..count], |l| volts[l] + drop[l]);
}

/// Of which law each group of figures of a stage is.
struct ByKind {
    duty: &'static Law,
    primary: &'static Law,
    choke: &'static Law,
    magnetising: &'static Law,
    input: &'static Law,
    output: &'static Law,
    volts: &'static Law,
}

static OF_FORWARD: ByKind = ByKind {
    duty: &forward::DUTY,
    primary: &forward::PRIMARY,
    choke: &forward::RECTIFIER,
    magnetising: &forward::MAGNETISING,
    input: &forward::CAPACITORS,
    output: &forward::CAPACITORS,
    volts: &forward::VOLTAGES,
};

static OF_BRIDGE: ByKind = ByKind {
    duty: &full_bridge::DUTY,
    primary: &full_bridge::PRIMARY,
    choke: &full_bridge::INDUCTOR,
    magnetising: &full_bridge::MAGNETISING,
    input: &full_bridge::INPUT_CAPACITOR,
    output: &full_bridge::OUTPUT_CAPACITOR,
    volts: &laws::BLOCKED,
};

/// Currents and voltages of the stage as a whole.
fn figures<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    isolated: &Isolated,
    points: &[Point; L],
    pass: &mut Pass<'_, L, T>,
) {
    let (inputs, out) = (&isolated.inputs, &isolated.figures);
    let [from_port, to_port] = stage.ports.as_slice() else { return };
    let all: [Operand; 8] = [
        from_port.voltage.into(),
        out.driven_voltage.into(),
        to_port.current.into(),
        inputs.turns_ratio.into(),
        inputs.leakage.into(),
        inputs.magnetising.into(),
        operating_point::softening(plan, stage)
            .map_or(inputs.inductance.into(), |(curve, _)| (*curve).into()),
        stage.carrier.into(),
    ];
    let is_forward = isolated.kind == IsolatedKind::Forward;
    let of = if is_forward { &OF_FORWARD } else { &OF_BRIDGE };
    let (mut duty, mut choke) = (of.duty, of.choke);
    if points[0].rests() > 0.0 {
        let resting = if is_forward { &forward::RESTING } else { &full_bridge::RESTING };
        (duty, choke) = (resting, resting);
    }
    // With power flowing back what is lost is lost for one reason, and all else follows from the first.
    let flows_back = pass.figure(to_port.current)[0] < 0.0;
    let first: &[Operand] = &[out.effective_duty.into()];
    let rests = resting::would_rest(stage, &points[0]);
    let mut put = |figure, law: &'static Law, by_lane: &dyn Fn(usize) -> f64| {
        let (law, from) = match flows_back && by_lane(0).is_nan() {
            false if rests => (resting::beyond(law), all.as_slice()),
            false => (law, all.as_slice()),
            true if figure == out.effective_duty => (&RECTIFIES, all.as_slice()),
            true => (law, first),
        };
        pass.put(figure, law, from, by_lane);
    };
    macro_rules! either {
        ($bridge:ident $(. $of_bridge:ident())*, $forward:ident $(. $of_forward:ident())*) => {
            &|l| match &points[l] {
                Point::Bridge(point) => point.$bridge$(.$of_bridge())*,
                Point::Forward(point) => point.$forward$(.$of_forward())*,
            }
        };
    }
    put(out.effective_duty, duty, either!(effective_duty, effective_duty));
    put(out.duty, duty, either!(phase_shift, duty));
    put(out.primary_rms, of.primary, either!(primary_rms.si(), primary_wave.square().root().si()));
    put(out.primary_peak, of.primary, either!(primary_peak.si(), main_peak.si()));
    put(out.secondary_rms, &laws::SECONDARY, either!(secondary_rms.si(), forward_rms.si()));
    put(out.ripple, choke, either!(inductor_ripple.si(), inductor_ripple.si()));
    put(out.choke_rms, choke, either!(inductor_rms.si(), inductor_rms.si()));
    put(out.choke_peak, choke, either!(inductor_peak.si(), inductor_peak.si()));
    put(out.magnetising_ripple, of.primary, either!(magnetising_ripple.si(), magnetising_ripple.si()));
    put(out.magnetising_peak, of.magnetising, either!(magnetising_peak.si(), magnetising_peak.si()));
    put(out.input_ripple, of.input, either!(input_capacitor_rms.si(), input_capacitor_rms.si()));
    put(out.output_ripple, of.output, either!(output_capacitor_rms.si(), output_capacitor_rms.si()));
    put(out.rectifier_voltage, of.volts, either!(rectifier_voltage.si(), forward_voltage.si()));
    if let Some(freewheel) = out.freewheel_voltage {
        put(freewheel, of.volts, either!(rectifier_voltage.si(), freewheel_voltage.si()));
    }
    put(out.switch_voltage, of.volts, either!(switch_voltage.si(), switch_voltage.si()));
    switches_softly(stage, isolated, points, from_port.voltage.into(), pass);
}

/// Whether the turn-on that costs most is soft: of a bridge that of its lagging leg, of a forward converter that of its main
/// switch.
fn switches_softly<const L: usize, T: Trace>(
    stage: &Stage,
    isolated: &Isolated,
    points: &[Point; L],
    input_voltage: Operand,
    pass: &mut Pass<'_, L, T>,
) {
    let (inputs, out) = (&isolated.inputs, &isolated.figures);
    let [one, other] = inputs.output_capacitance.map(Operand::from);
    if isolated.kind == IsolatedKind::Forward {
        let from: &[Operand] = &[
            input_voltage,
            out.magnetising_ripple.into(),
            inputs.leakage.into(),
            stage.dead_time.into(),
            stage.carrier.into(),
            one,
            other,
        ];
        let edges: [Edges; L] = core::array::from_fn(|l| edges(stage, isolated, l, pass));
        pass.put(out.soft, &forward::TURN_ON, from, |l| match &points[l] {
            Point::Forward(point) => {
                let (amps, joules) = edges[l].start(point);
                // What is missing stays missing.
                let known = 0.0 * (amps + joules);
                if amps > 0.0 || joules > 0.0 { known } else { 1.0 + known }
            }
            Point::Bridge(_) => f64::NAN,
        });
        return;
    }
    let from: &[Operand] = &[input_voltage, out.primary_peak.into(), inputs.leakage.into(), one, other];
    pass.put(out.soft, &full_bridge::SOFT_SWITCHING, from, |l| match &points[l] {
        Point::Bridge(point) if point.lagging.switches_softly() == Some(false) => 0.0,
        Point::Bridge(_) => 1.0,
        Point::Forward(_) => f64::NAN,
    });
}

/// What decides at the edges of a lane how much a turn-on costs.
fn edges<const L: usize, T: Trace>(
    stage: &Stage,
    isolated: &Isolated,
    l: usize,
    pass: &Pass<'_, L, T>,
) -> Edges {
    let of = |input: crate::ids::InputId| pass.inputs[input.index()][l];
    let carrier = of(stage.carrier);
    Edges {
        dead: of(stage.dead_time) * carrier,
        leakage: of(isolated.inputs.leakage) * carrier,
        turns: of(isolated.inputs.turns_ratio),
        carrier,
        node: operating_point::node(stage, isolated, pass.at(l)),
    }
}

#[expect(clippy::too_many_arguments, reason = "the stage's own state")]
fn chips<const L: usize, T: Trace>(
    plan: &Plan,
    stage: &Stage,
    isolated: &Isolated,
    position: &Position,
    points: &[Point; L],
    load: &[f64; L],
    pass: &mut Pass<'_, L, T>,
    scratch: &mut Scratch<L>,
) {
    let each: [Carried; L] =
        core::array::from_fn(|l| carried(position, &points[l], load[l], &edges(stage, isolated, l, pass)));
    let parallel = pass.input(stage.parallel(position));
    let out = &isolated.figures;
    let is_rectifier = matches!(position.role, Role::Rectifier | Role::Forward | Role::Freewheel);
    let from: [Operand; 5] = [
        out.effective_duty.into(),
        if is_rectifier { stage.ports[1].current.into() } else { out.primary_peak.into() },
        if is_rectifier { out.ripple.into() } else { out.magnetising_ripple.into() },
        stage.parallel(position).into(),
        stage.dead_time.into(),
    ];
    let laws = match position.role {
        Role::Rectifier => &RECTIFIER_SIDE,
        Role::Forward | Role::Freewheel => &FREEWHEEL_SIDE,
        Role::Main | Role::Clamp => &FORWARD_SIDE,
        _ => &BRIDGE_SIDE,
    };
    let edge = |take: fn(&Carried) -> f64| -> Edge<L> { Some(core::array::from_fn(|l| take(&each[l]))) };
    // A body diode conducts no longer than its position carries current backward.
    let within = |dead: f64, all: f64| if dead > all { all } else { dead };
    let pulse = Pulse {
        over_period: core::array::from_fn(|l| each[l].split),
        peaks: (
            core::array::from_fn(|l| each[l].forward_peak),
            core::array::from_fn(|l| each[l].backward_peak),
        ),
        dead: (
            core::array::from_fn(|l| within(each[l].dead.0, each[l].split.backward_mean.si())),
            core::array::from_fn(|l| within(each[l].dead.1, each[l].split.backward_square.si())),
        ),
        burnt: core::array::from_fn(|l| each[l].burnt),
        turn_on: if is_rectifier { None } else { edge(|carried| carried.turn_on) },
        turn_off: if is_rectifier { None } else { edge(|carried| carried.turn_off) },
        recovery: if is_rectifier { edge(|carried| carried.recovery) } else { None },
        voltage: core::array::from_fn(|l| each[l].voltage),
        voltage_from: out.switched(position.role).into(),
        laws,
        from: &from,
    };
    for chip in position.chips.clone() {
        let junction = scratch.junctions_before[chip];
        scratch.lines[chip] = pulsed::currents(stage, &plan.chips[chip], &parallel, &pulse, &junction, pass);
    }
}
