"""Ripple in the banks of the three buses, and the voltages that it makes.

Banks at the low end of their tolerance; lines of a stage at twice its carrier. Two bridges of one carrier, a quarter of
a period apart: of what they send together only the lines that do not turn with either output are left, even multiples
of the carrier. The fourth counts against the second.
"""

import numpy as np

import boost
import supply
from bridge import INDICES, line_curve
from chain import LINK, PACK, PUMP, TRACTION

SHIFT = np.pi / 2
# What lies beyond the sixth is a hundredth of these.
LINES = [(k, line_curve(k)) for k in (2, 4, 6)]


class Bank:
    def __init__(self, count, farad, low, ohms, henries, path_ohms, path_henries, kelvin_per_watt, highest):
        self.count, self.ohms, self.kelvin_per_watt, self.highest = count, ohms, kelvin_per_watt, highest
        self.farad = count * farad * low
        self.series, self.henries = path_ohms + ohms / count, path_henries + henries / count

    def impedance(self, hertz):
        turn = 2 * np.pi * hertz
        return self.series + 1j * (turn * self.henries - 1 / (turn * self.farad))

    def lends(self, amps, hertz):
        """Largest voltage from peak to peak that an RMS current of this line can make."""
        return amps / (2 * hertz * self.farad)

    def heat(self, square):
        """RMS current of one capacitor, and its hot spot in air of 75 degC."""
        each = np.sqrt(square) / self.count
        return each, 75.0 + self.kelvin_per_watt * self.ohms * each * each


PACK_BANK = Bank(2, 150e-6, 0.9, 1.0e-3, 20e-9, 0.3e-3, 12e-9, 2.6, 430.0)
LINK_BANK = Bank(6, 120e-6, 0.9, 0.9e-3, 22e-9, 0.2e-3, 8e-9, 2.4, 700.0)
BOARD_BANK = Bank(4, 2.2e-3, 0.8, 18e-3, 14e-9, 0.4e-3, 10e-9, 11.0, 32.0)
SOURCE = PACK, 3.5e-6


def share(bank, hertz):
    """What the bank carries of a line while the source has an inductance: more than all of it above their resonance."""
    source = SOURCE[0] + 2j * np.pi * hertz * SOURCE[1]
    return abs(source / (source + bank.impedance(hertz)))


BOOST_HERTZ, SUPPLY_HERTZ = 2 * boost.CARRIER, 2 * supply.CARRIER
SHARES = share(PACK_BANK, BOOST_HERTZ), share(PACK_BANK, SUPPLY_HERTZ)


def ripple(row):
    low, high = boost.ripple(row.boost)
    feed = row.supply["input_square"]
    pack = SHARES[0] ** 2 * low + SHARES[1] ** 2 * feed
    row.pack_ripple = PACK_BANK.lends(np.sqrt(low), BOOST_HERTZ) + PACK_BANK.lends(np.sqrt(feed), SUPPLY_HERTZ)
    row.pack_bank = PACK_BANK.heat(pack)
    link = high + row.traction["link_square"] + row.pump["link_square"] + 2 * together(row)
    row.link_bank = LINK_BANK.heat(link)
    lent = sum(
        now["crest"] * np.interp(now["formed"], INDICES, bridge.charge)
        for bridge, now in ((TRACTION, row.traction), (PUMP, row.pump))
    )
    row.link_ripple = lent / (TRACTION.carrier * LINK_BANK.farad) + LINK_BANK.lends(np.sqrt(high), BOOST_HERTZ)
    board = row.supply["output_square"]
    row.board_ripple = BOARD_BANK.lends(np.sqrt(board), SUPPLY_HERTZ)
    row.board_bank = BOARD_BANK.heat(board)


def together(row):
    """Mean of the product of what both bridges send, without their means."""
    lines = 0.0
    for k, curve in LINES:
        one, other = (np.interp(now["formed"], INDICES, curve) for now in (row.traction, row.pump))
        lines = lines + np.cos(k * SHIFT) / 2 * one * other
    return TRACTION.cos_phi * PUMP.cos_phi * row.traction["crest"] * row.pump["crest"] * lines
