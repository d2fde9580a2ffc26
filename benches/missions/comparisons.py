"""What is held against what: carried and allowed of every comparison, under the names that the program gives it.

`of_a_row` gives those that a row moves, `standing` those that no row moves. A comparison that several like parts share
is reckoned once and told for each.
"""

import numpy as np

import banks
import boost
import coolant
import supply
from chain import LINK, PACK, PUMP, TRACTION
from chips import BRIDGE_FET, RECTIFIER_FET


class Comparison:
    """Headroom is one less carried over allowed, or in kelvin what is left below allowed."""

    def __init__(self, check, parts, defect, carried, allowed, kelvin=False):
        self.check, self.parts, self.defect = check, parts, defect
        self.carried, self.allowed, self.kelvin = carried, allowed, kelvin

    def headroom(self):
        return self.allowed - self.carried if self.kelvin else 1 - self.carried / self.allowed


def positions(stage, chip, sides=("high_side", "low_side"), legs=("u", "v", "w")):
    return [f"{stage}.{side}.{leg}.{chip}" for side in sides for leg in legs]


def of_a_row(row):
    yield from bridges(row)
    yield from boosts(row)
    yield from supplies(row)
    yield from buses(row)
    yield from loop(row)


def bridges(row):
    for stage, bridge, now, module, crests, hertz, trip in (
        ("traction_bridge", TRACTION, row.traction, row.traction_module, row.traction_crests, row.hertz, 360.0),
        ("pump_bridge", PUMP, row.pump, row.pump_module, row.pump_crests, np.full_like(row.hertz, 120.0), 340.0),
    ):
        largest = now["largest"]
        for name, chip, square, crest in zip(
            ("transistor", "diode"), (bridge.transistor, bridge.diode), now["squares"], crests
        ):
            parts = positions(stage, name)
            rating = 0.9 * chip.rating(module.case)
            yield Comparison("current-headroom", parts, "continuous-current", np.sqrt(square), rating)
            yield Comparison("current-headroom", parts, "repetitive-peak", largest, 0.8 * chip.peak)
            yield Comparison("junction-temperature", parts, "too-hot", crest, chip.limit - 20, True)
        yield Comparison("output-reach", [stage], "beyond-linear", now["index"], 0.95 * 2 / np.sqrt(3))
        yield Comparison("carrier-ratio", [stage], "few-periods", hertz, bridge.carrier / 15)
        yield Comparison("trip-window", [stage], "trips-in-service", largest, 0.95 * 0.96 * trip)


def boosts(row):
    now, module = row.boost, row.boost_module
    names = (
        ("low_side", "transistor", now["top"]),
        ("high_side", "diode", now["top"]),
        ("high_side", "transistor", np.maximum(-now["bottom"], 0.0)),
        ("low_side", "diode", np.maximum(-now["bottom"], 0.0)),
    )
    for (side, name, peak), chip, square, crest in zip(names, module.chips, now["squares"], row.boost_crests):
        parts = positions("step_up", name, (side,), ("1", "2"))
        rating = 0.9 * chip.rating(module.case)
        yield Comparison("current-headroom", parts, "continuous-current", np.sqrt(square), rating)
        yield Comparison("current-headroom", parts, "repetitive-peak", peak, 0.8 * chip.peak)
        yield Comparison("junction-temperature", parts, "too-hot", crest, chip.limit - 20, True)
        if name == "transistor":
            spike = 700 + LOOP_450 * 0.8 / 90e-9 * peak
            yield Comparison("turn-off-overshoot", [f"step_up.{side}"], "spike", spike, SPIKE_1200)
    choke = ["step_up.step_up_choke"]
    yield Comparison("current-headroom", choke, "rated-current", np.sqrt(now["choke_square"]), 0.9 * 220)
    saturation = 1.45 * (1 - 0.001 * np.maximum(row.choke_parts[2] - 120, 0.0))
    yield Comparison("core-saturation", choke, "saturates", boost.flux(now), 0.85 * saturation)
    yield Comparison("output-reach", ["step_up"], "beyond-duty", now["duty"], 0.85)


def supplies(row):
    now = row.supply
    crest = now["corners"][1]
    for leg, square, hot in zip("ab", (now["leading_square"], now["lagging_square"]), row.fet_crests):
        parts = positions("auxiliary", "transistor", ("bridge_high", "bridge_low"), (leg,))
        loss = row.fet_losses["ab".index(leg)]
        rating = BRIDGE_FET.rating(row.plate + 0.9 * loss)
        yield Comparison("current-headroom", parts, "continuous-current", np.sqrt(square), 0.9 * rating)
        yield Comparison("current-headroom", parts, "repetitive-peak", crest, 0.8 * BRIDGE_FET.peak)
        yield Comparison("junction-temperature", parts, "too-hot", hot, BRIDGE_FET.limit - 20, True)
    parts = positions("auxiliary", "transistor", ("rectifier",), ("1", "2"))
    rating = 0.9 * RECTIFIER_FET.rating(row.plate + 0.9 * row.fet_losses[2])
    rms, peak = np.sqrt(now["rectifier_square"]), now["rectifier_peak"]
    yield Comparison("current-headroom", parts, "continuous-current", rms, rating)
    yield Comparison("current-headroom", parts, "repetitive-peak", peak, 0.8 * RECTIFIER_FET.peak)
    yield Comparison("junction-temperature", parts, "too-hot", row.fet_crests[2], RECTIFIER_FET.limit - 20, True)
    share, hot, _ = row.unluckiest
    yield Comparison("parallel-sharing", parts, "continuous-current", share * rms, rating)
    yield Comparison("parallel-sharing", parts, "repetitive-peak", share * peak, 0.8 * RECTIFIER_FET.peak)
    yield Comparison("parallel-sharing", parts, "too-hot", hot, RECTIFIER_FET.limit - 20, True)
    # The loop rings undamped: a ramp of t_f/0.8 into bars, bank and packages with the output capacitance.
    turn = np.pi if RING >= np.pi else RING
    spike = 430 + 2 * LOOP_650 * 0.8 / 15e-9 * np.sin(turn / 2) * crest
    sides = ["auxiliary.bridge_high", "auxiliary.bridge_low"]
    yield Comparison("turn-off-overshoot", sides, "spike", spike, 0.9 * 650 * COLD)
    transformer, choke = ["auxiliary.auxiliary_transformer"], ["auxiliary.auxiliary_choke"]
    yield Comparison("current-headroom", choke, "rated-current", np.sqrt(now["choke_square"]), 0.9 * 45)
    yield Comparison("current-headroom", transformer, "rated-current", np.sqrt(now["primary_square"]), 0.9 * 25)
    yield Comparison("current-headroom", transformer, "rated-current", np.sqrt(now["secondary_square"]), 0.9 * 80)
    fluxes = supply.fluxes(now)
    for part, flux, parts in zip((transformer, choke), fluxes, (row.transformer_parts, row.output_choke_parts)):
        saturation = 0.46 - 0.1 / 75 * np.maximum(parts[2] - 25, 0.0)
        yield Comparison("core-saturation", part, "saturates", flux, 0.85 * saturation)
    yield Comparison("output-reach", ["auxiliary"], "beyond-phase-shift", now["effective"] + now["lost"], 0.92)


def buses(row):
    amps = row.pack_amps
    for part, rated in (("main_contactor", 450), ("pack_plug", 450), ("pack_sensor", 500), ("pack_bar", 500)):
        yield Comparison("current-headroom", [part], "rated-current", amps, 0.9 * rated)
    yield Comparison("current-headroom", ["link_bar"], "rated-current", row.link_amps, 0.9 * 480)
    yield Comparison("current-headroom", ["board_bar"], "rated-current", row.board_amps, 0.9 * 120)
    rated = 700 * np.sqrt((140 - 75) / (140 - 25))
    yield Comparison("fuse-coordination", ["pack_fuse"], "overloaded", amps, 0.95 * rated)
    yield Comparison("source-limits", ["pack"], "discharge-current", amps, 380.0)
    yield Comparison("power-balance", ["pack"], "beyond-source", row.pack_watts, 8 / 9 * row.open**2 / (4 * PACK))
    yield Comparison("bus-stability", ["pack_bus"], "growing-swing", row.pack_watts, 0.5 * HELD * row.pack_volts**2)
    for bus, bank, volts, wave, (each, hot), rated, limit, voltage in (
        ("pack_bus", banks.PACK_BANK, row.pack_volts, row.pack_ripple, row.pack_bank, 52, 105, 500),
        ("link", banks.LINK_BANK, LINK, row.link_ripple, row.link_bank, 65, 105, 900),
        ("board_net", banks.BOARD_BANK, supply.VOLTS, row.board_ripple, row.board_bank, 5.2, 125, 50),
    ):
        part = [{"pack_bus": "pack_bank", "link": "link_bank", "board_net": "board_bank"}[bus]]
        yield Comparison("link-ripple", part, "ripple-current", each, 0.9 * rated)
        yield Comparison("link-ripple", part, "hot-spot", hot, limit - 5, True)
        yield Comparison("link-ripple", part, "peak-voltage", bank.highest + wave / 2, voltage)
        yield Comparison("link-ripple", [bus], "ripple-voltage", wave, 0.05 * volts)
    yield Comparison("trip-window", ["link"], "trips-in-service", LINK + row.link_ripple / 2, 0.985 * 680)
    service = np.maximum(row.pack_volts + row.pack_ripple / 2, 400.0)
    yield Comparison("trip-window", ["pack_bus"], "trips-in-service", service, 0.985 * 410)


def loop(row):
    riser, left, half_right = row.drops
    at_stacks = coolant.boiling(coolant.PRESSURE) - 10
    yield Comparison("coolant-state", ["cooling.traction_stack"], "boils", row.wall, at_stacks, True)
    yield Comparison("coolant-state", ["cooling.pump_stack"], "boils", row.pump_module.case, at_stacks, True)
    allowed = coolant.boiling(coolant.PRESSURE + half_right) - 10
    yield Comparison("coolant-state", ["cooling.boost_stack"], "boils", row.boost_module.case, allowed, True)
    allowed = coolant.boiling(coolant.PRESSURE + riser + left) - 10
    yield Comparison("coolant-state", ["cooling.lower_plate"], "boils", row.plate, allowed, True)
    stacks = row.bridge_loss[0], 2 * row.boost_module.heat + row.bridge_loss[1]
    for part, share, watts, leaves in (
        ("cooling", 1.0, row.coolant_watts, row.outlet),
        ("cooling.stacks.left", 0.5, stacks[0], row.stack_outlet),
        ("cooling.stacks.right", 0.5, stacks[1], row.pump_outlet),
    ):
        yield Comparison("coolant-supply", [part], "warms-too-much", watts / (share * row.rate), 10.0)
        yield Comparison("coolant-state", [part], "cold-start", coolant.leaves_cold(watts, share), leaves, True)


def wound(bodies):
    """Of windings and cores, followed over all rows."""
    for (part, hot_spots, limits), courses in zip(WOUND, bodies):
        hottest = np.maximum.reduce(courses[:-1]) + hot_spots
        yield Comparison("winding-loading", [part], "hot-winding", hottest, limits[0], True)
        yield Comparison("winding-loading", [part], "hot-core", courses[-1], limits[1], True)


WOUND = (
    ("step_up.step_up_choke", 15.0, (145.0, 120.0)),
    ("auxiliary.auxiliary_transformer", 15.0, (145.0, 115.0)),
    ("auxiliary.auxiliary_choke", 15.0, (145.0, 115.0)),
)
# Blocking voltage falls by a thousandth for each kelvin below 25 degC, down to the coldest start.
COLD = 1 - 0.001 * 55
SPIKE_1200 = 0.9 * 1200 * COLD
LINK_LOOP = 9e-9 + banks.LINK_BANK.henries
LOOP_450, LOOP_300 = LINK_LOOP + 12e-9, LINK_LOOP + 8e-9
LOOP_650 = 12e-9 + banks.PACK_BANK.henries + 2 * 6e-9
RING = 15e-9 / 0.8 / np.sqrt(LOOP_650 * supply.OUTPUT_CAPACITANCE)


def held():
    """Power over the square of the voltage up to which swings of the pack's bus fade, at its lowest resistance."""
    bank, (_, henries) = banks.PACK_BANK, banks.SOURCE
    source = PACK - 55e-3 + 28e-3
    swings = bank.farad * (source + bank.series) / (henries + source * bank.series * bank.farad)
    return min(swings, 1 / source, 1 / bank.series)


HELD = held()


def standing():
    """Those that no row of this mission moves."""
    coasting = np.sqrt(3) * 4 * 2 * np.pi * 5200 / 60 * 0.19
    yield Comparison("back-emf", ["link_bank"], "open-bus-voltage", coasting, 0.9 * 900)
    stages = "step_up", "traction_bridge", "pump_bridge"
    sides = [f"{stage}.{side}" for stage in stages for side in ("high_side", "low_side")]
    yield Comparison("back-emf", sides, "open-bus-voltage", coasting, 0.9 * 1200)
    for stage, trip, henries, fall, loop_henries, peak in (
        ("traction_bridge", 360.0, 310e-6, 90e-9, LOOP_450, 900), ("pump_bridge", 340.0, 420e-6, 85e-9, LOOP_300, 600)):
        tripped = 1.04 * trip + 700 / henries * 6e-6
        yield Comparison("trip-window", [stage], "blind-sensor", 1.04 * trip, 500.0)
        yield Comparison("trip-window", [stage], "too-late", tripped, 0.9 * peak)
        spike = 700 + loop_henries * 0.8 * tripped / fall
        yield Comparison("turn-off-overshoot", [f"{stage}.high_side", f"{stage}.low_side"], "spike", spike, SPIKE_1200)
    for bus, trip, highest, reach in (("link", 680.0, 700.0, 900.0), ("pack_bus", 410.0, 430.0, 550.0)):
        yield Comparison("trip-window", [bus], "too-late", 1.015 * trip, highest)
        yield Comparison("trip-window", [bus], "blind-sensor", 1.015 * trip, reach)
    yield Comparison("coolant-state", ["cooling"], "freezes", coolant.FREEZING, coolant.COLDEST - 5, True)
    yield Comparison("link-ripple", ["pack_bus"], "resonance", max(banks.SHARES), 4 / 3)
    yield Comparison("link-ripple", ["link", "board_net"], "resonance", 1.0, 4 / 3)
    yield from fuse()


def fuse():
    yield Comparison("fuse-coordination", ["pack_fuse"], "voltage", 430.0, 0.9 * 500)
    yield Comparison("fuse-coordination", ["pack_fuse"], "breaking-capacity", 400 / 28e-3, 20e3)
    warm = (1 + 0.00393 * 130) / (1 + 0.00393 * 55)
    way = 0.18e-3 + warm * (PACK - 55e-3 - 0.18e-3)
    yield Comparison("fuse-coordination", ["pack_fuse"], "not-cleared", 1232.0, 260 / (55e-3 + way))
    yield Comparison("fuse-coordination", ["main_contactor"], "let-through", 610e3, 1e6)
    bar = 226.0**2 * 140.0**2 * np.log(1 + (160 - 80) / (234.5 + 80))
    yield Comparison("fuse-coordination", ["pack_bar"], "let-through", 610e3, bar)
