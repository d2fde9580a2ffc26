"""The phase-shifted full bridge with a current doubler that feeds the board net.

Half a period falls into the commutation of the leakage (l), the driven share (De) and the freewheel (F = 1 − De − l).
n turns of the primary for one of the secondary, a = L_lk/(n²·L), m = L_lk/L_m. Source: Sabate, Vlatkovic, Ridley, Lee,
Cho, APEC 1990, with the commutation written out.
"""

import numpy as np

from chips import BRIDGE_BODY, BRIDGE_FET, RECTIFIER_BODY, RECTIFIER_FET, RECTIFIER_RECOVERY
from windings import Component, Core, Winding, cornered_waves

CARRIER, DEAD_TIME, TURNS, LEAKAGE, MAGNETISING, HENRIES = 110e3, 150e-9, 3.5, 4.5e-6, 620e-6, 20e-6
VOLTS, BESIDE = 28.0, 2  # of the board net; rectifier devices in parallel
M, A = LEAKAGE / MAGNETISING, LEAKAGE / (TURNS**2 * HENRIES)
OUTPUT_CAPACITANCE = 0.14e-9
BOARD_BAR = 1.7241e-8 * 0.120 / 36e-6 * (1 + 0.00393 * 55)  # in air of 75 degC
FERRITE = 300e3, 100e3, 0.2, 1.45, 2.5
TRANSFORMER = Component(
    Core(14, 3.5e-4, 36e-6, FERRITE, CARRIER, 0.7),
    [Winding(15e-3, 3e-6, 0.071e-3, 1, 0.8, 1.2, CARRIER, litz=750), Winding(1e-3, 9e-6, 0.3e-3, 4, 0.9, 1.0, CARRIER)],
    0.6,
)
CHOKE = Component(
    Core(13, 1.9e-4, 18e-6, FERRITE, CARRIER, 0.9),
    [Winding(1.4e-3, 12e-6, 0.3e-3, 13, 0.9, 0.9, CARRIER)],
    0.7,
)


def segment(x, y):
    return (x * x + x * y + y * y) / 3


def currents(volts, amps):
    """Shares of the half period, corners of the choke and of the primary."""
    now = {"amps": amps}
    rectifier = RECTIFIER_FET.line.hot[1] / BESIDE
    warm = 1 + 0.00393 * 80
    out = now["out_volts"] = VOLTS + BOARD_BAR * amps
    # Of the output the rectifier carries all, the secondary and each choke one half.
    driven = out + (rectifier + (1e-3 + 1.4e-3) / 2 * warm) * amps
    share = TURNS * driven / volts
    now["driven_volts"] = driven
    rate = driven / (2 * HENRIES * CARRIER)
    kept = (1 + M) / (1 + M + A)
    lost = 0.0
    for _ in range(5):
        effective = share * (2 * (1 + M) + A * (1 + lost))
        free = 1 - effective - lost
        swing, fall = rate * (free * kept + 1 + lost), rate * free * kept
        # Two ramps down of unlike slope: the mean lies a little beside the middle.
        above = (effective * swing + free * (2 * swing - fall) + (1 + lost) * (swing - fall)) / 4
        valley = amps / 2 - above
        peak, end = valley + swing, valley + swing - fall
        lost = 2 * LEAKAGE * CARRIER / (TURNS * volts) * (end + valley)
    now.update(effective=effective, free=1 - effective - lost, lost=lost)
    now.update(swing=swing, peak=peak, valley=valley, end=end)
    driving = (volts + A * TURNS * driven) / (1 + M + A)
    rise = driving * effective / (2 * MAGNETISING * CARRIER)
    flat = A * TURNS * driven / (1 + M + A) * now["free"] / (2 * MAGNETISING * CARRIER)
    magnetising = now["magnetising"] = rise + flat
    b = valley / TURNS - magnetising / 2
    c = peak / TURNS - magnetising / 2 + rise
    d = end / TURNS + magnetising / 2
    now["corners"] = b, c, d
    free = now["free"]
    driven_part, back_part = effective * segment(b, c), lost * segment(-d, b)
    now["primary_square"] = driven_part + free * segment(c, d) + back_part
    mean = effective * (b + c) / 2 + lost * (b - d) / 2
    now["input_square"] = driven_part + back_part - mean * mean
    v, p, w = valley / TURNS, peak / TURNS, end / TURNS
    reflected = effective * segment(v, p) + free * segment(p, w) + lost * segment(-w, v)
    now["secondary_square"] = TURNS**2 * reflected
    up, down, back = effective * segment(valley, peak), free * segment(peak, end), (1 + lost) * segment(end, valley)
    now["choke_square"] = (up + down + back) / 2
    # Of the whole output: both chokes together.
    fall, last = rate * free * (1 + kept), rate * 2 * lost
    height = fall + last
    # Corners about a mean of zero, so that the mean of their square is what the bank takes.
    x, y, z = -height / 2, height / 2, height / 2 - fall
    centre = effective * (x + y) / 2 + free * (y + z) / 2 + lost * (z + x) / 2
    whole = effective * segment(x, y) + free * segment(y, z) + lost * segment(z, x)
    now["output_square"] = whole - centre * centre
    now["whole"] = amps - centre + x, amps - centre + y, amps - centre + z
    return now


def body(line, mean, square):
    """Loss of a body diode at 0 degC and for each kelvin."""
    return (
        line.knee * mean + line.slope * square,
        line.knee_per_kelvin * mean + line.slope_per_kelvin * square,
    )


def burnt(volts, amps, henries):
    """What a turn-on burns where the inductance does not hold enough to swing the node of the leg."""
    needed = OUTPUT_CAPACITANCE * volts * volts
    reach = np.minimum(np.sqrt(henries / 2 / needed) * amps, 1.0)
    return needed * (1 - reach) ** 2


def losses(now, volts):
    """Loss lines of a switch of the leading leg, of the lagging leg, and of one device of the rectifier."""
    b, c, d = now["corners"]
    half = now["primary_square"] / 2
    chip = BRIDGE_FET
    scale = CARRIER * chip.scale(volts)
    # The leading leg turns off the crest, which the chokes hold through the dead time.
    dead = CARRIER * DEAD_TIME
    now["leading_square"] = half - dead * c * c
    edge = scale * chip.energies["off"].at(c) + CARRIER * burnt(volts, c, LEAKAGE + TURNS**2 * HENRIES)
    now["leading"] = edge, dead * c, dead * c * c
    leading = add(chip.loss(0.0, now["leading_square"], edge), body(BRIDGE_BODY, *now["leading"][1:]))
    # The lagging leg turns off what the leakage alone holds; it falls, and the diode conducts no longer than it runs.
    slope = (b + d) * (2 * CARRIER / now["lost"])
    time = np.minimum(DEAD_TIME, d / slope)
    mean = CARRIER * time * (d - slope * time / 2)
    square = CARRIER * time * (d * d - d * slope * time + (slope * time) ** 2 / 3)
    now["lagging_square"] = half - square
    edge = scale * chip.energies["off"].at(d) + CARRIER * burnt(volts, d, LEAKAGE)
    now["lagging"] = edge, mean, square
    lagging = add(chip.loss(0.0, now["lagging_square"], edge), body(BRIDGE_BODY, mean, square))
    return leading, lagging, rectifier_loss(now, volts)


def rectifier_loss(now, volts):
    """Current passes from one to the other within the commutation.

    The gate of the one that lets go is off from its begin, so that its body diode carries all that is left; that of the
    other follows a dead time later.
    """
    v, p, w = (amps / BESIDE for amps in now["whole"])
    ramp = now["lost"] / (2 * CARRIER)
    rises = np.minimum(DEAD_TIME, ramp)
    reached, rest = v * rises / ramp, DEAD_TIME - rises
    mean = CARRIER * (w * ramp / 2 + reached * rises / 2 + v * rest)
    square = CARRIER * (w * w * ramp / 3 + reached * reached * rises / 3 + v * v * rest)
    whole = now["effective"] * segment(v, p) + now["free"] * segment(p, w) + now["lost"] * (v * v + w * w) / 3
    now["rectifier_square"], now["rectifier_peak"] = whole / 2 - square, p
    recovery = RECTIFIER_RECOVERY
    switched = CARRIER * recovery.scale(volts / TURNS) * recovery.energies["both"].at(w)
    now["rectifier"] = switched, mean, square
    now["rectifier_body"] = add(body(RECTIFIER_BODY, mean, square), recovery.loss(0.0, 0.0, switched))
    return add(RECTIFIER_FET.loss(0.0, now["rectifier_square"], 0.0), now["rectifier_body"])


def add(one, other):
    return one[0] + other[0], one[1] + other[1]


def transformer(now):
    """Loss lines of both windings and loss of the core."""
    b, c, d = now["corners"]
    # Half a wave from −d over b and c to d, then its mirror: bends where commutation, drive and freewheel begin.
    lost, driven, free = (np.pi * now[name] for name in ("lost", "effective", "free"))
    v, p, w = (now[name] / TURNS for name in ("valley", "peak", "end"))
    bent = []
    for (start, top, end), turns in (((b, c, d), 1.0), ((v, p, w), TURNS)):
        # Each bend recurs with the other sign half a period later: twice of it in odd lines, nothing in even ones.
        slopes = [2 * turns * slope for slope in ((start + end) / lost, (top - start) / driven, (end - top) / free)]
        bent.append((slopes[0] + slopes[2], slopes[1] - slopes[0], slopes[2] - slopes[1]))
    waves = cornered_waves((lost, lost + driven), bent, step=2)
    squares = now["primary_square"], now["secondary_square"]
    lines = [winding.loss(*its) for winding, *its in zip(TRANSFORMER.windings, squares, waves)]
    core = TRANSFORMER.core
    now["flux_swing"] = MAGNETISING * now["magnetising"] / (core.turns * core.area)
    share = now["effective"] / 2
    return lines, core.loss(now["flux_swing"], (share, share))


def choke(now):
    """Loss line of the winding of one choke and loss of its core; it works at the carrier itself."""
    driven, free, back = (np.pi * share for share in (now["effective"], now["free"], 1 + now["lost"]))
    v, p, w = now["valley"], now["peak"], now["end"]
    slopes = (p - v) / driven, (w - p) / free, (v - w) / back
    bends = slopes[0] - slopes[2], slopes[1] - slopes[0], slopes[2] - slopes[1]
    (waves,) = cornered_waves((driven, driven + free), [bends])
    core = CHOKE.core
    share = now["effective"] / 2
    line = CHOKE.windings[0].loss(now["choke_square"], waves)
    now["choke_flux_swing"] = HENRIES * now["swing"] / (core.turns * core.area)
    return [line], core.loss(now["choke_flux_swing"], (share, 1 - share))


def fluxes(now):
    """Crests of the flux density of transformer, tenth for its walk included, and choke, 15 % more inductance."""
    core, own = TRANSFORMER.core, CHOKE.core
    return (
        1.1 * MAGNETISING * now["magnetising"] / 2 / (core.turns * core.area),
        HENRIES * (1.15 * now["amps"] / 2 + now["peak"] - now["amps"] / 2) / (own.turns * own.area),
    )


def unluckiest(now, plate, to_plate=0.9, spread=0.12):
    """Of two rectifier devices the one with the low on-state voltage: its share of the current, and its junction."""
    line, square = RECTIFIER_FET.line, now["rectifier_square"]
    base, growth = now["rectifier_body"]
    path = to_plate + RECTIFIER_FET.resistance
    share, one, other = 1 + spread, plate + 3.0, plate + 3.0
    for _ in range(3):
        low, high = (1 - spread) * line.at(one)[1], (1 + spread) * line.at(other)[1]
        share = 2 * high / (low + high)
        one = plate + path * (low * share * share * square + base + growth * one)
        other = plate + path * (high * (2 - share) ** 2 * square + base + growth * other)
    return share, one, low * share * share * square + base + growth * one
