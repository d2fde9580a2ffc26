"""The unit in some thousand rows at once: power from the loads back to the pack, heat along the coolant, both together.

What bridges carry hangs on neither. Boost and pack settle in a few passes, as losses are a small share of the power;
junctions, cases and coolant need no guess, since every loss is a straight line over its temperature.
"""

import numpy as np

import boost
import coolant
import supply
from bridge import Bridge
from chips import BRIDGE_FET, HALF_300, HALF_450, RECTIFIER_FET

TRACTION = Bridge(HALF_450, 0.88, 310e-6)
PUMP = Bridge(HALF_300, 0.84, 420e-6)
LINK = 620.0
PASSES = 3
# Way from the pack to its bus: fuse, contactor, plug, sensor and a bar in air of 75 degC.
PACK_BAR = 1.7241e-8 * 0.220 / 140e-6 * (1 + 0.00393 * 55)
PACK_WAY = 0.18e-3 + 0.15e-3 + 0.10e-3 + 0.05e-3 + PACK_BAR
PACK = 55e-3 + PACK_WAY
PLATE = 0.012  # K/W, of the whole lower plate at this flow
TO_PLATE = 0.9  # K/W, of each MOSFET on the lower plate


class Module:
    """Chips in one package: the line of loss of each, how often each is there, and K/W to the coolant."""

    def __init__(self, chips, lines, counts, to_coolant):
        self.chips, self.lines, self.counts, self.to_coolant = chips, lines, counts, to_coolant

    def settle(self, inlet, per_watt, packages):
        """With the coolant counted as it leaves all packages of the place; `per_watt` is one over its capacity rate."""
        alpha = beta = 0.0
        reduced = []
        for chip, (a, b), count in zip(self.chips, self.lines, self.counts):
            gain = 1 / (1 - b * chip.resistance)
            reduced.append((a * gain, b * gain))
            alpha, beta = alpha + count * a * gain, beta + count * b * gain
        path = self.to_coolant + packages * per_watt
        self.case = (inlet + path * alpha) / (1 - path * beta)
        self.losses = [a + b * self.case for a, b in reduced]
        self.heat = alpha + beta * self.case
        self.outlet = inlet + packages * per_watt * self.heat
        self.junctions = [self.case + chip.resistance * loss for chip, loss in zip(self.chips, self.losses)]
        return self.outlet


class Row:
    """Figures of the rows of one chunk; names are those of the description."""


def solve(columns):
    row = Row()
    row.lasts, row.inlet, row.open, traction, volts, row.hertz, pump, cab = columns
    row.traction_watts, row.pump_watts, row.cab_watts = 1e3 * traction, 1e3 * pump, 1e3 * cab
    row.traction = TRACTION.currents(row.traction_watts, volts)
    row.pump = PUMP.currents(row.pump_watts, np.full_like(volts, 330.0))
    row.rate = coolant.capacity_rate(row.inlet)
    modules(row)
    row.board_amps = row.cab_watts / supply.VOLTS
    balance(row)
    loop(row)
    row.unluckiest = supply.unluckiest(row.supply, row.plate)
    return row


def modules(row):
    both = (2, 2)
    row.traction_module = Module(HALF_450, TRACTION.losses(row.traction), both, 0.026)
    row.pump_module = Module(HALF_300, PUMP.losses(row.pump), both, 0.06)


def balance(row):
    part = 2 / row.rate  # half of the coolant goes through each side of the stacks
    row.low_outlet = row.inlet + 0.25
    row.boost_loss = 0.015 * (row.traction_watts + row.pump_watts)
    boosted = row.low_outlet + 0.7 * row.boost_loss * part
    row.fed_watts = 1.035 * row.cab_watts
    for step in range(PASSES):
        row.stack_outlet = row.traction_module.settle(row.low_outlet, part, 3)
        row.pump_outlet = row.pump_module.settle(boosted, part, 3)
        row.bridge_loss = 3 * row.traction_module.heat, 3 * row.pump_module.heat
        row.link_watts = row.traction_watts + row.pump_watts + row.bridge_loss[0] + row.bridge_loss[1]
        row.link_amps = row.link_watts / LINK
        row.high_volts = LINK + boost.LINK_BAR * row.link_amps
        row.boosted_watts = row.link_watts + boost.LINK_BAR * row.link_amps**2 + row.boost_loss
        row.pack_watts = row.boosted_watts + row.fed_watts
        row.pack_volts = (row.open + np.sqrt(row.open**2 - 4 * PACK * row.pack_watts)) / 2
        row.boost = boost.currents(row.pack_volts, row.high_volts, row.boosted_watts / row.pack_volts)
        lines = boost.losses(row.boost, row.high_volts)
        transistor, diode = HALF_450
        row.boost_module = Module((transistor, diode, transistor, diode), lines, (1, 1, 1, 1), 0.030)
        boosted = row.boost_module.settle(row.low_outlet, part, 2)
        row.choke = boost.choke(row.boost)
        if step in (0, PASSES - 1):
            # A pack that moves by a volt moves the loss of the supply by some tens of a milliwatt.
            feed(row)
        lower_plate(row)
        row.boost_loss = 2 * (row.boost_module.heat + row.choke_loss)
    row.boosted, row.pack_amps = boosted, row.pack_watts / row.pack_volts


def feed(row):
    now = row.supply = supply.currents(row.pack_volts, row.board_amps)
    row.fet_lines = supply.losses(now, row.pack_volts)
    row.transformer, row.output_choke = supply.transformer(now), supply.choke(now)
    row.plate = row.low_outlet + PLATE * 250.0


FETS = ((BRIDGE_FET, 2), (BRIDGE_FET, 2), (RECTIFIER_FET, 4))


def lower_plate(row):
    """Everything that stands on the lower plate, the plate itself, and the power that the supply takes."""
    for _ in range(2):
        row.fet_losses = [
            (a + b * row.plate) / (1 - b * (TO_PLATE + chip.resistance))
            for (a, b), (chip, _) in zip(row.fet_lines, FETS)
        ]
        row.choke_parts = boost.CHOKE.settle(*row.choke, row.plate)
        row.transformer_parts = supply.TRANSFORMER.settle(*row.transformer, row.plate)
        row.output_choke_parts = supply.CHOKE.settle(*row.output_choke, row.plate)
        row.choke_loss = row.choke_parts[3]
        fets = sum(count * loss for loss, (_, count) in zip(row.fet_losses, FETS))
        row.supply_loss = fets + row.transformer_parts[3] + 2 * row.output_choke_parts[3]
        row.low_heat = row.supply_loss + 2 * row.choke_loss
        row.low_outlet = row.inlet + row.low_heat / row.rate
        row.plate = row.low_outlet + PLATE * row.low_heat
    row.fed_watts = row.cab_watts + supply.BOARD_BAR * row.board_amps**2 + row.supply_loss


def loop(row):
    """What the loop comes to: where it leaves, what it takes, pressure drops, and the wall below the hottest modules."""
    row.outlet = (row.stack_outlet + row.pump_outlet) / 2
    row.coolant_watts = row.rate * (row.outlet - row.inlet)
    thickness, weight = coolant.viscosity(row.inlet), coolant.density(row.inlet)
    row.drops = [drop.at(thickness, weight) for drop in (coolant.RISER, coolant.LEFT, coolant.HALF_RIGHT)]
    row.wall = coolant.wall(row.low_outlet, row.stack_outlet, row.bridge_loss[0])
