"""A chip: its on-state lines, its switching energies, the straight line its loss follows, and its rated current.

Currents in A, energies in J, temperatures in degC, thermal elements in K/W and s. Curves are straight between their
points. Sources: on-state line and energies as Wintrich, Nicolai, Tursky, Reimann, Application Manual Power
Semiconductors, 2015, have them.
"""

import numpy as np


class Line:
    """A straight line v = knee + slope·i through two points, at two junction temperatures and in between."""

    def __init__(self, cold, hot, amps, at=(25.0, 150.0)):
        slopes = [(v[1] - v[0]) / (amps[1] - amps[0]) for v in (cold, hot)]
        knees = [v[0] - r * amps[0] for v, r in zip((cold, hot), slopes)]
        self.knee, self.knee_per_kelvin = through(knees, at)
        self.slope, self.slope_per_kelvin = through(slopes, at)
        self.hot = knees[1], slopes[1]

    def at(self, junction):
        return self.knee + self.knee_per_kelvin * junction, self.slope + self.slope_per_kelvin * junction


def through(values, at):
    """Value at 0 degC, and for each kelvin."""
    growth = (values[1] - values[0]) / (at[1] - at[0])
    return values[0] - growth * at[0], growth


def channel(cold, hot):
    """Of a MOSFET: resistance alone, in ohm at 25 and 150 degC."""
    return Line((0.0, cold), (0.0, hot), (0.0, 1.0))


class Energy:
    """Energy of an edge over its current, in straight lines; the first goes on below its points, or a ray from 0.

    An edge without current costs nothing. Data sheets do not say how it gets there; here along a ray below a twentieth
    of the first point. Half waves, which hardly dwell there, take the line.
    """

    def __init__(self, amps, joules):
        rates = np.diff(joules) / np.diff(amps)
        starts = np.asarray(joules[:-1]) - rates * np.asarray(amps[:-1])
        self.parts = list(zip(starts, rates, [*amps[1:-1], np.inf]))
        if starts[0] < 0:
            self.parts.insert(0, (0.0, joules[0] / amps[0], amps[0]))
        start, rate, _ = self.parts[0]
        self.near = amps[0] / 20
        self.ray = start / self.near + rate

    def at(self, amps):
        start, rate, _ = self.parts[-1]
        out = start + rate * amps
        for start, rate, end in reversed(self.parts[:-1]):
            out = np.where(amps <= end, start + rate * amps, out)
        return np.where(amps < self.near, self.ray * np.maximum(amps, 0.0), out)

    def half_wave(self, crest):
        """Mean over a turn of the energy at the current of a half wave: 1/(2·π)·∫ E(Î·sin θ) dθ."""
        total, angle, cosine = 0.0, 0.0, 1.0
        for start, rate, end in self.parts:
            if end == np.inf:
                angle_here, cosine_here = np.pi / 2, 0.0
            else:
                sine = np.minimum(end / crest, 1.0)
                angle_here, cosine_here = np.arcsin(sine), np.sqrt(1 - sine * sine)
            total = total + start * (angle_here - angle) + rate * crest * (cosine - cosine_here)
            angle, cosine = angle_here, cosine_here
        return total / np.pi


class Chip:
    """`elements` are those of its thermal impedance; energies hold at `volts` and `junction`."""

    def __init__(self, line, elements, rated, energies, volts, junction, power, growth):
        self.line, self.elements, self.energies = line, elements, energies
        self.resistance = sum(r for r, _ in elements)
        self.rated_current, self.rated_at, self.limit, self.peak = rated
        self.volts, self.junction, self.power, self.growth = volts, junction, power, growth
        knee, slope = line.at(self.limit)
        self.knee_at_limit, self.slope_at_limit = knee, slope
        self.rated_loss = knee * self.rated_current + slope * self.rated_current**2

    def scale(self, volts):
        return (volts / self.volts) ** self.power

    def loss(self, mean, square, switched):
        """Loss in W at 0 degC and for each kelvin: P = V_0·I_avg + r·I_rms² + f·E·(1 + c·(T − T_ref))."""
        line = self.line
        at_zero = line.knee * mean + line.slope * square + switched * (1 - self.growth * self.junction)
        return at_zero, line.knee_per_kelvin * mean + line.slope_per_kelvin * square + self.growth * switched

    def rating(self, case):
        """Direct current that heats the junction from this case to its limit, at most what is stated."""
        allowed = self.rated_loss * (self.limit - case) / (self.limit - self.rated_at)
        knee, slope = self.knee_at_limit, self.slope_at_limit
        amps = (np.sqrt(knee * knee + 4 * slope * allowed) - knee) / (2 * slope)
        return np.minimum(amps, self.rated_current)

    def swing(self, hertz):
        """Rise of the crest within a turn above the mean, for each watt."""
        total = 0.0
        for resistance, tau in self.elements:
            turn = (2 * np.pi * tau * hertz) ** 2
            over = np.pi / 2 / np.sqrt(1 + turn) + 2 / 3 / np.sqrt(1 + 4 * turn)
            total = total + resistance * np.minimum(over, np.pi - 1)
        return total


def igbt(amps, cold, hot, elements, rated, energy_amps, turn_on, turn_off):
    energies = {"on": Energy(energy_amps, turn_on), "off": Energy(energy_amps, turn_off)}
    energies["both"] = Energy(energy_amps, [a + b for a, b in zip(turn_on, turn_off)])
    return Chip(Line(cold, hot, amps), elements, rated, energies, 600.0, 150.0, 1.35, 0.003)


def diode(amps, cold, hot, elements, rated, energy_amps, recovery):
    energies = {"both": Energy(energy_amps, recovery)}
    return Chip(Line(cold, hot, amps), elements, rated, energies, 600.0, 150.0, 0.6, 0.006)


# Half bridges of 1200 V and 450 A, and of 300 A cooled from both faces.
HALF_450 = (
    igbt((100, 450), (1.05, 1.70), (1.05, 2.05), ((0.020, 6e-3), (0.048, 80e-3)), (450, 80, 175, 900),
         (150, 300, 450), (14e-3, 26e-3, 42e-3), (17e-3, 32e-3, 46e-3)),
    diode((100, 450), (1.20, 1.85), (1.05, 1.90), ((0.036, 6e-3), (0.082, 80e-3)), (450, 70, 175, 900),
          (150, 300, 450), (16e-3, 25e-3, 33e-3)),
)
HALF_300 = (
    igbt((70, 300), (1.05, 1.70), (1.06, 2.05), ((0.026, 5e-3), (0.058, 70e-3)), (300, 80, 175, 600),
         (100, 200, 300), (8.5e-3, 16.5e-3, 27e-3), (11e-3, 21e-3, 31e-3)),
    diode((70, 300), (1.20, 1.85), (1.06, 1.90), ((0.046, 5e-3), (0.088, 70e-3)), (300, 75, 175, 600),
          (100, 200, 300), (10.5e-3, 16.5e-3, 22e-3)),
)
# MOSFETs of 650 V and 40 mohm and of 200 V and 5 mohm, with their body diodes.
BRIDGE_FET = Chip(channel(40e-3, 88e-3), ((0.12, 2e-3), (0.28, 20e-3)), (38, 100, 150, 160),
                  {"off": Energy((5, 15, 35), (12e-6, 35e-6, 120e-6))}, 400.0, 125.0, 1.2, 0.0005)
BRIDGE_BODY = Line((0.80, 1.05), (0.65, 0.95), (5, 35))
RECTIFIER_FET = Chip(channel(5e-3, 10.6e-3), ((0.12, 2e-3), (0.28, 20e-3)), (95, 100, 175, 380), {}, 100.0, 125.0, 1.2,
                     0.0005)
RECTIFIER_BODY = Line((0.75, 0.95), (0.58, 0.85), (10, 80))
RECTIFIER_RECOVERY = Chip(RECTIFIER_BODY, (), (95, 100, 175, 380), {"both": Energy((10, 80), (8e-6, 25e-6))}, 100.0,
                          125.0, 0.6, 0.006)
