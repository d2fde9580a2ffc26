"""A three-phase bridge with space-vector modulation: currents, index, ripple, and the loss of its chips.

Sources: Kolar, Ertl, Zach, IEEE Trans. Industry Applications 27(6), 1991 (means and RMS of the chips); Kolar, Round,
IEE Proc. Electric Power Applications 153(4), 2006 (capacitor current); Holmes, Lipo, Pulse Width Modulation for Power
Converters, 2003 (ripple of the phase current, dead time).
"""

import numpy as np

ANGLES = np.radians(np.arange(2.5, 60, 5))


class Bridge:
    def __init__(self, chips, cos_phi, henries, link=620.0, carrier=8e3, dead_time=2e-6):
        self.transistor, self.diode = chips
        self.cos_phi, self.phi, self.henries = cos_phi, np.arccos(cos_phi), henries
        self.link, self.carrier, self.dead_time = link, carrier, dead_time
        self.scales = [chip.scale(link) for chip in chips]
        self.charge = charge_curve(self.phi)

    def currents(self, watts, volts):
        """What a row's output power and line voltage make of the bridge; nothing of it hangs on temperature."""
        out = {}
        cos = self.cos_phi
        crest = out["crest"] = np.sqrt(2 / 3) / cos * watts / volts
        knee, slope = self.transistor.line.hot
        drop = out["drop"] = 4 / np.pi * knee + slope * crest
        phase = np.sqrt(2 / 3) * volts
        formed = out["formed"] = 2 / self.link * np.sqrt(phase * (phase + 2 * cos * drop) + drop * drop)
        drop = drop + 4 / np.pi * self.link * self.dead_time * self.carrier
        out["index"] = 2 / self.link * np.sqrt(phase * (phase + 2 * cos * drop) + drop * drop)
        squared = formed * formed
        fourth = 27 / 16 - 81 * np.sqrt(3) / (64 * np.pi)
        distortion = squared * (1.5 - 4 * np.sqrt(3) / np.pi * formed + fourth * squared)
        square = 0.5 * crest * crest
        ripple = out["ripple_square"] = (self.link / (24 * self.henries * self.carrier)) ** 2 * distortion
        grown = 2 * square + 2 * ripple
        common = -np.sqrt(3) / (40 * np.pi**2) * np.cos(3 * self.phi)
        way = formed * (cos / (3 * np.pi) + common)
        out["squares"] = grown * (0.125 + way), grown * (0.125 - way)
        out["means"] = crest * (0.5 / np.pi + cos / 8 * formed), crest * (0.5 / np.pi - cos / 8 * formed)
        link = 2 * formed * square * (np.sqrt(3) / (4 * np.pi) + cos**2 * (np.sqrt(3) / np.pi - 9 / 16 * formed))
        out["link_square"] = link + formed * ripple
        out["largest"] = self.largest(crest, formed)
        return out

    def largest(self, crest, formed):
        """Largest sum in a turn of the sine and half the ripple that rides on it.

        The crest stands where this leg is the highest of the three. From the middle of a zero vector the flux of the
        ripple has corners after (1 − d_1), then (d_1 − d_2), then (d_2 − d_3) of half a period; it mirrors after that.
        """
        best = None
        half = 0.5 * self.link / (self.henries * self.carrier)
        for angle in ANGLES:
            own = 0.5 * np.cos(angle) * formed
            first = (0.5 * (np.cos(angle) - np.cos(angle - 2 * np.pi / 3))) * formed
            whole = (0.5 * (np.cos(angle) - np.cos(angle + 2 * np.pi / 3))) * formed
            rest = 0.5 - 0.5 * whole
            ends = own * rest
            middle = (2 / 3 - own) * first - ends
            ripple = np.maximum(ends, np.abs(middle))
            sums = np.cos(angle - self.phi) * crest + half * ripple
            best = sums if best is None else np.maximum(best, sums)
        return best

    def losses(self, currents):
        """Loss lines of transistor and diode of each position."""
        chips = self.transistor, self.diode
        crest = currents["crest"]
        currents["switched"] = [
            self.carrier * scale * chip.energies["both"].half_wave(crest) for chip, scale in zip(chips, self.scales)
        ]
        its = zip(chips, currents["means"], currents["squares"], currents["switched"])
        return [chip.loss(mean, square, switched) for chip, mean, square, switched in its]


def duties(index, angles):
    """Shares of the period for which each leg is high, centred by the zero sequence; one row a leg."""
    legs = np.array([0.5 * index * np.cos(angles - k * 2 * np.pi / 3) for k in range(3)])
    return 0.5 + legs - 0.5 * (legs.max(axis=0) + legs.min(axis=0))


INDICES = np.linspace(0.02, 2 / np.sqrt(3), 400)


def charge_curve(phi):
    """Largest charge in a carrier period of 1 s that the link has to lend, over all angles, for a crest of 1 A.

    The power factor is one for all rows, so this is a curve over the index, drawn once.
    """
    angles = np.radians(np.arange(0, 360, 1.0))
    out = []
    for index in INDICES:
        share = duties(index, angles)
        amps = np.array([np.cos(angles - phi - k * 2 * np.pi / 3) for k in range(3)])
        order = np.argsort(-share, axis=0)
        high, middle, low = np.take_along_axis(share, order, axis=0)
        first = np.take_along_axis(amps, order, axis=0)[0]
        mean = 0.75 * index * np.cos(phi)
        one = mean * (1 - high)
        two = one + (mean - first) * (high - middle)
        out.append(np.max(np.abs([one, two, mean * low])))
    return np.array(out)


def line_curve(multiple):
    """Strength of the line of the link current at a multiple of the carrier, for Î·cos φ of 1 A, over the index.

    Only what does not turn with the output counts between bridges of different frequency. d is even about the crest of
    the voltage, so of the current only its part in phase remains.
    """
    angles = np.radians(np.arange(0.5, 360, 1.0))
    share = np.array([duties(index, angles)[0] for index in INDICES])
    pulse = 2 * np.sin(np.pi * multiple * share) / (np.pi * multiple)
    return 3 * np.mean(np.cos(angles) * pulse, axis=1)
