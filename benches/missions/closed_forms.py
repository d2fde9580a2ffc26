"""The heat of the measured mission once more, vectorised: a yardstick for the time, and a second opinion on temperatures.

    python3 benches/missions/closed_forms.py FOLDER OUT.json [SECONDS]

FOLDER was written by rows.py, OUT.json by `loadworthy mission unit.yaml --format json` in it; SECONDS, where given, is
the processor time that this took. Needs numpy.

Written from the formulas and the data sheets, not from the program. Of each row: phase currents, modulation index,
currents, conduction and switching losses of the chips of both bridges and the boost, each with its feedback from the
junction, pack current, coolant, steps of the junctions, and their crests within a turn. Left out: the 28 V supply
but for the power it draws, the pump bridge's loss as a load of the boost, losses of chokes, skin effect, ripple of the
phase currents, conductors, and everything that is no temperature of these chips. What is left out warms: the
temperatures may differ by TOLERANCE.
"""

import json
import pathlib
import sys
import time

import numpy as np

TOLERANCE = 1.5  # K
LINK = 620.0  # V
# Knee in V and slope in ohm at 25 and 150 degC, energies in J over current in A at 600 V and 150 degC with their exponent
# of voltage and growth per kelvin, thermal elements in K/W and s.
HB1200_450 = {
    "transistor": (((1.05, 1.70), (1.05, 2.05), (100, 450)), ((150, 300, 450), (31e-3, 58e-3, 88e-3)), 1.35, 0.003,
                   ((0.020, 6e-3), (0.048, 80e-3))),
    "diode": (((1.20, 1.85), (1.05, 1.90), (100, 450)), ((150, 300, 450), (16e-3, 25e-3, 33e-3)), 0.6, 0.006,
              ((0.036, 6e-3), (0.082, 80e-3))),
}
DF1200_300 = {
    "transistor": (((1.05, 1.70), (1.06, 2.05), (70, 300)), ((100, 200, 300), (19.5e-3, 37.5e-3, 58e-3)), 1.35, 0.003,
                   ((0.026, 5e-3), (0.058, 70e-3))),
    "diode": (((1.20, 1.85), (1.06, 1.90), (70, 300)), ((100, 200, 300), (10.5e-3, 16.5e-3, 22e-3)), 0.6, 0.006,
              ((0.046, 5e-3), (0.088, 70e-3))),
}
# Turn-on and turn-off apart, for the boost, whose current differs between them.
TURN_ON, TURN_OFF = ((150, 300, 450), (14e-3, 26e-3, 42e-3)), ((150, 300, 450), (17e-3, 32e-3, 46e-3))
# Half of glycol at 65 degC: kg/m^3 and J/(kg K); 14 L/min, half of them through each branch of the stacks.
RATE = 14e-3 / 60 * 1041 * 3500


def line(on_state):
    """Knee and slope, each at 0 degC and for each kelvin."""
    (cold, hot, amps) = on_state
    slopes = [(v[1] - v[0]) / (amps[1] - amps[0]) for v in (cold, hot)]
    knees = [v[0] - r * amps[0] for v, r in zip((cold, hot), slopes)]
    return [((a - (b - a) / 125 * 25), (b - a) / 125) for a, b in (knees, slopes)]


def segments(curve):
    """Straight lines a + b·i of an energy curve with the current where each ends."""
    amps, joules = np.array(curve[0], float), np.array(curve[1], float)
    b = np.diff(joules) / np.diff(amps)
    a = joules[:-1] - b * amps[:-1]
    ends = list(amps[1:-1]) + [np.inf]
    if a[0] < 0:
        return [(0.0, joules[0] / amps[0], amps[0])] + list(zip(a, b, ends))
    return list(zip(a, b, ends))


def half_wave(curve, crest):
    """Mean of the energy over the half wave of a sine."""
    total, angle, cosine = 0.0, 0.0, 1.0
    for a, b, end in segments(curve):
        sine = np.minimum(end / crest, 1.0)
        angle_here, cosine_here = np.arcsin(sine), np.sqrt(1 - sine * sine)
        total = total + a * (angle_here - angle) + b * crest * (cosine - cosine_here)
        angle, cosine = angle_here, cosine_here
    return total / np.pi


def at(curve, amps):
    parts = segments(curve)
    out = parts[-1][0] + parts[-1][1] * amps
    for a, b, end in reversed(parts[:-1]):
        out = np.where(amps <= end, a + b * amps, out)
    return np.maximum(out, 0.0)


def loss_line(chip, mean, square, energy, carrier):
    """Loss in W at 0 degC and for each kelvin."""
    on_state, _, _, growth, _ = chip
    (knee, knee_k), (slope, slope_k) = line(on_state)
    switched = carrier * energy
    at_zero = knee * mean + slope * square + switched * (1 - 150 * growth)
    return at_zero, knee_k * mean + slope_k * square + switched * growth


def bridge(device, watts, volts, cos_phi, carrier):
    """Loss lines of transistor and diode of a position, from power and line voltage."""
    crest = np.sqrt(2 / 3) * watts / (volts * cos_phi)
    (hot_knee, hot_slope) = [a + 150 * b for a, b in line(device["transistor"][0])]
    drop = 4 / np.pi * hot_knee + hot_slope * crest
    phase = np.sqrt(2 / 3) * volts
    index = 2 / LINK * np.sqrt(phase**2 + 2 * phase * drop * cos_phi + drop**2)
    common = -np.sqrt(3) * index * (4 * cos_phi**3 - 3 * cos_phi) / (40 * np.pi**2)
    lines = []
    for name, way in (("transistor", 1), ("diode", -1)):
        chip = device[name]
        mean = crest * (0.5 / np.pi + way * index * cos_phi / 8)
        square = crest**2 * (0.125 + way * (index * cos_phi / (3 * np.pi) + common))
        energy = half_wave(chip[1], crest) * (LINK / 600) ** chip[2]
        lines.append((chip, *loss_line(chip, mean, square, energy, carrier)))
    return lines


def junctions(lines, behind, to_case, lasts, frequency):
    """Means and crests of the junctions of a module of two positions, and its loss, from what is behind its face.

    Loss and temperature hold each other: both are linear, so a few rounds settle them. The junctions relax within a row;
    what is left of the row before, e^(−t/τ), is carried on over three rows, beyond which nothing is left of any.
    """
    hot = [behind + 20.0 for _ in lines]
    for _ in range(4):
        losses = [a + b * t for (_, a, b), t in zip(lines, hot)]
        module = 2 * sum(losses)
        case = behind + to_case * module
        hot = [case + sum(r for r, _ in chip[4]) * p for (chip, _, _), p in zip(lines, losses)]
    crests = []
    for (chip, _, _), mean, loss in zip(lines, hot, losses):
        crest = case.copy()
        for resistance, tau in chip[4]:
            rise = resistance * loss
            for _ in range(3):
                keep = np.exp(-lasts / tau)
                rise[1:] = keep[1:] * rise[:-1] + (1 - keep[1:]) * resistance * loss[1:]
            turn = 2 * np.pi * tau * frequency
            factor = np.pi / 2 / np.sqrt(1 + turn**2) + 2 / 3 / np.sqrt(1 + 4 * turn**2)
            factor = np.minimum(factor, np.pi - 1)
            crest += rise + resistance * loss * factor
        crests.append(crest)
    return crests, module


def behind_resistance(pack, watts):
    """Voltage that is left behind the 55 mohm of the pack."""
    volts = pack
    for _ in range(4):
        volts = pack - 0.055 * watts / volts
    return volts


def boost_lines(volts, leg):
    """Loss lines of the low-side transistor and the high-side diode."""
    duty = 1 - (volts - 0.02 * leg) / LINK
    ripple = (LINK - volts) * (1 - duty) / 320e-6 / 10e3
    square = leg**2 + ripple**2 / 12
    device = HB1200_450
    bottom, top = np.maximum(leg - ripple / 2, 0), leg + ripple / 2
    energy = (at(TURN_ON, bottom) + at(TURN_OFF, top)) * (LINK / 600) ** 1.35
    recovery = at(device["diode"][1], bottom) * (LINK / 600) ** 0.6
    low = loss_line(device["transistor"], duty * leg, duty * square, energy, 10e3)
    high = loss_line(device["diode"], (1 - duty) * leg, (1 - duty) * square, recovery, 10e3)
    return [(device["transistor"], *low), (device["diode"], *high)]


def boost_junctions(lines, behind):
    """Junctions of a module of which one transistor and one diode carry, and its loss.

    Nothing turns in it, and a row lasts for more than ten of its time constants.
    """
    hot = [behind + 20.0 for _ in lines]
    for _ in range(4):
        losses = [a + b * t for (_, a, b), t in zip(lines, hot)]
        case = behind + 0.030 * sum(losses)
        hot = [case + sum(r for r, _ in chip[4]) * p for (chip, _, _), p in zip(lines, losses)]
    return hot, sum(losses)


def main():
    folder = pathlib.Path(sys.argv[1])
    began = time.process_time()
    columns = np.loadtxt(folder / "rows.csv", delimiter=",", skiprows=1, unpack=True)
    read = time.process_time()
    lasts, inlet, pack, traction, volts, frequency, pump, cab = columns
    traction_lines = bridge(HB1200_450, 1e3 * traction, volts, 0.88, 8e3)
    pump_lines = bridge(DF1200_300, 1e3 * pump, 330.0, 0.84, 8e3)
    stack = inlet.copy()
    for _ in range(3):
        # The stack's coolant counts as it leaves.
        traction_crests, traction_loss = junctions(traction_lines, stack, 0.026, lasts, frequency)
        stack = inlet + 3 * traction_loss / (RATE / 2)
    boosted = inlet.copy()
    given = 1e3 * (traction + pump) + 3 * traction_loss
    # What the boost passes includes what it and the traction bridge lose.
    for _ in range(3):
        low_volts = behind_resistance(pack, given + 1e3 * cab)
        leg = given / low_volts / 2
        hot, boost_loss = boost_junctions(boost_lines(low_volts, leg), boosted)
        boosted = inlet + 2 * boost_loss / (RATE / 2)
        given = 1e3 * (traction + pump) + 3 * traction_loss + 2 * boost_loss
    pumped = boosted.copy()
    for _ in range(3):
        pump_crests, pump_loss = junctions(pump_lines, pumped, 0.06, lasts, np.full_like(lasts, 120.0))
        pumped = boosted + 3 * pump_loss / (RATE / 2)
    done = time.process_time()
    own = {
        "traction_bridge transistor": traction_crests[0].max(),
        "traction_bridge diode": traction_crests[1].max(),
        "pump_bridge transistor": pump_crests[0].max(),
        "pump_bridge diode": pump_crests[1].max(),
        "step_up transistor": hot[0].max(),
        "step_up diode": hot[1].max(),
    }
    report(own, json.loads(pathlib.Path(sys.argv[2]).read_text()), read - began, done - read)


def report(own, said, reading, reckoning):
    print("numpy: %.1f s of processor time for reading, %.1f s for reckoning" % (reading, reckoning))
    if len(sys.argv) > 3:
        seconds = float(sys.argv[3])
        print("loadworthy: %.1f s for both, %.1f times as much" % (seconds, seconds / (reading + reckoning)))
    far = False
    for name, warm in own.items():
        stage, kind = name.split()
        its = [
            worst["comparison"]["carried"]["value"]
            for worst in said["worst"]
            if worst["check"] == "junction-temperature"
            and worst["part"].startswith(stage + ".")
            and worst["part"].endswith("." + kind)
        ]
        apart = max(its) - warm
        far = far or not abs(apart) <= TOLERANCE
        print("%-28s %6.2f degC here, %6.2f there, %+.2f K" % (name, warm, max(its), apart))
    if far:
        sys.exit("further apart than %.1f K" % TOLERANCE)


if __name__ == "__main__":
    main()
