"""The two legs of the boost: duty, ripple, currents and losses of the chips, also where the ripple exceeds the mean.

Sources: Mohan, Undeland, Robbins, Power Electronics, 2003; Chang, Knights, IEEE Trans. Circuits and Systems I 42(5),
1995 (what legs cancel); own integration over a period for the rest.
"""

import numpy as np

from chips import HALF_450
from windings import Component, Core, Winding, triangle_waves

CARRIER, LEGS, HENRIES, OHMS = 10e3, 2, 320e-6, 2.4e-3
TOLERANCE = 0.10
STEINMETZ = 70e3, 20e3, 0.1, 1.5, 1.8
CHOKE = Component(
    Core(30, 24e-4, 1100e-6, STEINMETZ, CARRIER, 0.10),
    [Winding(OHMS, 50e-6, 0.6e-3, 30, 0.9, 0.08, CARRIER)],
    0.08,
)
LINK_BAR = 2 * 1.7241e-8 * 0.240 / 160e-6 * (1 + 0.00393 * 55)  # plus and minus, in air of 75 degC


def currents(low_volts, high_volts, low_amps):
    """Duty, ripple and corners of a leg's current; its voltages take winding and chip as hot as they get."""
    leg = low_amps / LEGS
    knee, slope = HALF_450[0].line.hot
    drop = knee + (slope + OHMS * (1 + 0.00393 * 80)) * leg
    duty = 1 - (low_volts - drop) / high_volts
    swing = high_volts * duty * (1 - duty) / (HENRIES * CARRIER)
    return {"leg": leg, "drop": drop, "duty": duty, "swing": swing, "top": leg + swing / 2, "bottom": leg - swing / 2}


def ways(now):
    """Mean and mean square of the part of the current that runs towards the link, and of the part that runs back."""
    top, bottom, swing = now["top"], now["bottom"], now["swing"]
    ahead, back = top, np.minimum(bottom, 0.0)
    # Where the bottom is above zero, all of it runs ahead.
    low = np.maximum(bottom, 0.0)
    mean = (ahead * ahead - low * low) / (2 * swing)
    square = (ahead**3 - low**3) / (3 * swing)
    return mean, square, back * back / (2 * swing), -(back**3) / (3 * swing)


def losses(now, high_volts):
    """Loss lines of low transistor, high diode, high transistor and low diode, with their currents."""
    transistor, diode = HALF_450
    mean, square, back, back_square = ways(now)
    duty, rest = now["duty"], 1 - now["duty"]
    bottom = now["bottom"]
    forward = np.maximum(bottom, 0.0)
    scale, diode_scale = transistor.scale(high_volts), diode.scale(high_volts)
    edges = transistor.energies["on"].at(forward) + transistor.energies["off"].at(now["top"])
    switched = CARRIER * scale * edges
    recovered = CARRIER * diode_scale * diode.energies["both"].at(forward)
    turned = CARRIER * scale * transistor.energies["off"].at(-bottom)
    now["means"] = duty * mean, rest * mean, rest * back, duty * back
    now["squares"] = duty * square, rest * square, rest * back_square, duty * back_square
    now["switched"] = switched, recovered, turned, 0.0 * turned
    its = zip((transistor, diode, transistor, diode), now["means"], now["squares"], now["switched"])
    return [chip.loss(*of_one) for chip, *of_one in its]


def choke(now):
    """Loss line of the winding and loss of the core."""
    leg, swing, duty = now["leg"], now["swing"], now["duty"]
    now["choke_square"] = leg * leg + swing * swing / 12
    core = CHOKE.core
    now["flux_swing"] = HENRIES * swing / (core.turns * core.area)
    line = CHOKE.windings[0].loss(now["choke_square"], triangle_waves(swing, duty))
    return [line], core.loss(now["flux_swing"], (duty, 1 - duty))


def flux(now):
    """Crest of the flux density; more inductance than stated makes more of the mean current, not of the ripple."""
    core = CHOKE.core
    return HENRIES * ((1 + TOLERANCE) * now["leg"] + now["swing"] / 2) / (core.turns * core.area)


def ripple(now):
    """Squares of the currents into the bank of the low and of the high bus."""
    leg, swing, duty = now["leg"], now["swing"], now["duty"]
    whole = np.floor(LEGS * duty)
    kept = LEGS * (duty - whole / LEGS) * ((whole + 1) / LEGS - duty) / (duty * (1 - duty))
    x = LEGS * (1 - duty)
    k = np.floor(x)
    e = x - k
    s = swing / x
    high = leg * leg * e * (1 - e) + s * s / 12 * (e * ((k + 1) * e) ** 2 + (1 - e) * (k * (1 - e)) ** 2)
    return (kept * swing) ** 2 / 12, high
