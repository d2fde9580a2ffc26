"""Chokes and transformers: what their layers add, the loss of their cores, and where their temperatures settle.

Sources: Dowell, Proc. IEE 113(8), 1966 (layers); Venkatachalam, Sullivan, Abdallah, Tacca, COMPEL 2002 (core loss of
ramps); IEC 60028 (copper).
"""

import math

import numpy as np

HARMONICS = 32
COPPER = 1.7241e-8, 0.00393  # ohm·m at 20 degC, 1/K
# Copper holds 3.45 MJ/(m^3·K), a core 2.5.
HELD = 3.45e6, 2.5e6
LINE = 60.0, 100.0  # degC between which the loss of a winding is drawn as a line


def resistivity(t):
    return COPPER[0] * (1 + COPPER[1] * (t - 20))


def layered(layer, layers, filling, hertz, t):
    """Ratio of alternating to direct resistance of a stack of sheets."""
    x = layer * math.sqrt(filling * math.pi * hertz * 4e-7 * math.pi / resistivity(t))
    x2 = 2 * x
    own = (math.sinh(x2) + math.sin(x2)) / (math.cosh(x2) - math.cos(x2))
    beside = (math.sinh(x) - math.sin(x)) / (math.cosh(x) + math.cos(x))
    return x * (own + 2 / 3 * (layers**2 - 1) * beside)


class Winding:
    def __init__(self, ohms, area, layer, layers, filling, to_case, hertz, litz=0):
        if litz:
            # A round strand counts as a square of its section, n strands as √n layers.
            layer, layers = layer * math.sqrt(math.pi) / 2, layers * math.sqrt(litz)
        self.to_case, self.ohms = to_case, ohms
        lines = [(k + 1) * hertz for k in range(HARMONICS)]
        self.excess = np.array([[layered(layer, layers, filling, line, t) - 1 for line in lines] for t in LINE])
        self.heat = HELD[0] * ohms * area**2 / COPPER[0]

    def grown(self, t):
        return self.ohms * (1 + COPPER[1] * (t - 20))

    def loss(self, square, waves):
        """Line of the loss, at 0 degC and for each kelvin, of an RMS current and the squares of its harmonics."""
        cold, hot = (self.grown(t) * (square + excess) for t, excess in zip(LINE, self.excess @ waves))
        growth = (hot - cold) / (LINE[1] - LINE[0])
        return cold - growth * LINE[0], growth


class Core:
    def __init__(self, turns, area, volume, steinmetz, hertz, to_case):
        self.turns, self.area, self.to_case = turns, area, to_case
        density, at, flux, self.alpha, self.beta = steinmetz
        k = density / at**self.alpha / flux**self.beta
        a, b = self.alpha, self.beta
        # ∫ |cos θ|^α dθ over a turn
        angles = 2 * math.sqrt(math.pi) * math.gamma((a + 1) / 2) / math.gamma(a / 2 + 1)
        k_i = k / ((2 * math.pi) ** (a - 1) * angles * 2 ** (b - a))
        self.factor = volume * k_i * hertz**a
        self.least = 2 * flux / 4
        self.heat = HELD[1] * volume

    def loss(self, swing, ramps):
        """Of ramps, each a share of the period, that swing the flux once up and once down."""
        shares = sum(ramp ** (1 - self.alpha) for ramp in ramps)
        return self.factor * np.maximum(swing, self.least) ** self.beta * shares


class Component:
    """A core and its windings on one case, on the plate."""

    def __init__(self, core, windings, to_plate, hot_spot=15.0):
        self.core, self.windings, self.to_plate, self.hot_spot = core, windings, to_plate, hot_spot

    def settle(self, lines, core_loss, plate):
        """Losses of the windings and temperatures of windings and core where they settle, and the loss of it all."""
        # P_i = α_i + β_i·T_case with both the winding's own line and its resistance to the case in it.
        alpha, beta = core_loss, 0.0
        parts = []
        for winding, (a, b) in zip(self.windings, lines):
            gain = 1 / (1 - b * winding.to_case)
            parts.append((a * gain, b * gain))
            alpha, beta = alpha + a * gain, beta + b * gain
        case = (plate + self.to_plate * alpha) / (1 - self.to_plate * beta)
        losses = [a + b * case for a, b in parts]
        hot = [case + w.to_case * p for w, p in zip(self.windings, losses)]
        return losses, hot, case + self.core.to_case * core_loss, alpha + beta * case


def triangle_waves(swing, duty):
    """Squares of the harmonics, RMS, of a triangle with this duty; one row a harmonic."""
    scale = 0.25 * (swing / (np.pi**2 * duty * (1 - duty))) ** 2
    cosine = np.cos(2 * np.pi * duty)
    before, here = 1.0, cosine
    waves = np.empty((HARMONICS, duty.size))
    for k in range(1, HARMONICS + 1):
        # sin²(π·k·D) = (1 − cos(2·π·k·D))/2
        np.multiply(scale / k**4, 1 - here, out=waves[k - 1])
        before, here = here, 2 * cosine * here - before
    return waves


def cornered_waves(angles, currents, first=1, step=1):
    """Squares of the harmonics, RMS, of currents of straight pieces that bend at 0 and at two angles of the period.

    The k-th line of such a current is Σ bends·e^(−j·k·θ)/(π·k²), a bend the change of its slope per radian. `currents`
    has the three bends of each; harmonics that are left out are zero.
    """
    turns = [np.exp(1j * angle) for angle in angles]
    steps = [turn**step for turn in turns]
    waves = np.zeros((len(currents), HARMONICS, angles[0].size))
    for k in range(first, HARMONICS + 1, step):
        for of_one, (begin, one, other) in zip(waves, currents):
            line = begin + one * turns[0] + other * turns[1]
            np.multiply(0.5 / (np.pi * k * k) ** 2, line.real**2 + line.imag**2, out=of_one[k - 1])
        turns = [turn * on for turn, on in zip(turns, steps)]
    return waves
