"""Every figure that a row moves, under the path that `loadworthy derive` gives it; of like parts the first.

    python3 benches/missions/figures.py FIGURES.csv

lays those of the duty point `loaded_climb` beside what `loadworthy derive examples/timber-forwarder.yaml --format csv
--duty loaded_climb --variant standard` prints. Rows of a mission reckon the same figures.
"""

import csv
import sys

import numpy as np

import banks
import boost
import chain
import comparisons
import coolant
import supply
from chips import BRIDGE_BODY, RECTIFIER_BODY

LOADED_CLIMB = 1.0, 70.0, 346.0, 70.0, 330.0, 160.0, 20.0, 1.4
SHARE = 0.02


def of(row):
    out = {}
    pack(row, out)
    cooling(row, out)
    three_phase(row, out)
    step_up(row, out)
    auxiliary(row, out)
    components(row, out)
    ripple(row, out)
    return out


def put(out, stem, **figures):
    for name, value in figures.items():
        out[f"{stem}.{name}"] = value


def pack(row, out):
    amps, square = row.pack_amps, row.pack_amps**2
    stated = ("pack_fuse", 0.18e-3), ("main_contactor", 0.15e-3), ("pack_plug", 0.1e-3), ("pack_sensor", 0.05e-3)
    for part, ohms in (*stated, ("pack_bar", chain.PACK_BAR)):
        put(out, part, current=amps, loss=ohms * square)
    put(out, "link_bar", current=row.link_amps, loss=boost.LINK_BAR * row.link_amps**2)
    put(out, "board_bar", current=row.board_amps, loss=supply.BOARD_BAR * row.board_amps**2)
    put(
        out, "pack_bus", voltage=row.pack_volts, power=row.pack_watts,
        largest_held_power=comparisons.HELD * row.pack_volts**2,
    )
    put(out, "link", power=row.link_watts)
    put(out, "board_net", power=row.cab_watts)
    terminal = row.pack_volts + chain.PACK_WAY * amps
    put(out, "pack", terminal_voltage=terminal, power=terminal * amps, loss=(chain.PACK - chain.PACK_WAY) * square)


def cooling(row, out):
    riser, left, half_right = row.drops
    boosted, pumped = 2 * row.boost_module.heat, row.bridge_loss[1]
    right = boosted + pumped
    put(
        out, "cooling", heat=row.coolant_watts, capacity_rate=row.rate, outlet=row.outlet, warming=row.outlet - row.inlet,
        cold_outlet=coolant.leaves_cold(row.coolant_watts),
    )
    put(
        out, "cooling.lower_plate", plate_temperature=row.plate, absolute_pressure=coolant.PRESSURE + riser + left,
        boiling_point=coolant.boiling(coolant.PRESSURE + riser + left), outlet=row.low_outlet, heat=row.low_heat,
    )
    put(out, "cooling.riser", pressure_drop=riser)
    put(
        out, "cooling.stacks.left", capacity_rate=row.rate / 2, heat=row.bridge_loss[0],
        warming=row.stack_outlet - row.low_outlet, cold_outlet=coolant.leaves_cold(row.bridge_loss[0], 0.5),
    )
    put(
        out, "cooling.stacks.right", heat=right, warming=row.pump_outlet - row.low_outlet,
        cold_outlet=coolant.leaves_cold(right, 0.5),
    )
    put(out, "cooling.traction_stack", wall_temperature=row.wall, pressure_drop=left, outlet=row.stack_outlet)
    put(
        out, "cooling.boost_stack", absolute_pressure=coolant.PRESSURE + half_right, pressure_drop=half_right,
        boiling_point=coolant.boiling(coolant.PRESSURE + half_right), wall_temperature=row.boost_module.case,
        outlet=row.boosted, heat=boosted,
    )
    put(out, "cooling.pump_stack", wall_temperature=row.pump_module.case, outlet=row.pump_outlet, heat=pumped)


def chip(out, stem, its, line, mean, square, switched, hertz, loss, junction):
    """What one chip carries and loses; `switched` in W at the temperature of its energies."""
    knee, slope = its.line.at(junction)
    conducts = knee * mean + slope * square
    burns = switched * (1 + its.growth * (junction - its.junction))
    put(
        out, stem, average_current=mean, rms_current=np.sqrt(square), knee_voltage=knee, slope_resistance=slope,
        switching_energy=switched / hertz, conduction_loss=conducts, switching_loss=burns, loss=loss,
        loss_per_kelvin=line[1], mean_junction_temperature=junction,
    )


def three_phase(row, out):
    for k, (stage, bridge, now, module, watts, turn) in enumerate((
        ("traction_bridge", chain.TRACTION, row.traction, row.traction_module, row.traction_watts, row.hertz),
        ("pump_bridge", chain.PUMP, row.pump, row.pump_module, row.pump_watts, 120.0),
    )):
        lost = row.bridge_loss[k]
        given = watts + lost
        dead = 4 / np.pi * bridge.link * bridge.dead_time * bridge.carrier
        rms = now["crest"] / np.sqrt(2)
        put(
            out, stage, dc_power=given, dc_current=given / bridge.link, phase_current=rms,
            phase_current_peak=now["crest"], largest_phase_current=now["largest"], output_power=watts,
            device_drop=now["drop"], voltage_drop=now["drop"] + dead, modulation_index=now["index"],
            formed_index=now["formed"], phase_ripple_current=np.sqrt(now["ripple_square"]),
            ripple_factor=np.sqrt(1 + now["ripple_square"] / rms**2), link_ripple_current=np.sqrt(now["link_square"]),
            loss=lost, efficiency=watts / given,
        )
        for k, name in enumerate(("transistor", "diode")):
            its, stem = module.chips[k], f"{stage}.high_side.u.{name}"
            chip(
                out, stem, its, module.lines[k], now["means"][k], now["squares"][k], now["switched"][k],
                bridge.carrier, module.losses[k], module.junctions[k],
            )
            swing = its.swing(turn) * module.losses[k]
            put(
                out, stem, junction_ripple=swing, junction_temperature=module.junctions[k] + swing,
                rated_current=its.rating(module.case),
            )
        gate = 5.8 + 2 * now["crest"] / (250 if bridge is chain.TRACTION else 170)
        put(out, f"{stage}.high_side.u", linear_gate_level=gate)
    put(out, "traction_bridge", carrier_ratio=8e3 / row.hertz)
    put(out, "traction_bridge.package.u", case_temperature=row.traction_module.case, heat=row.traction_module.heat)
    put(out, "pump_bridge.package.u", face_a_heat=row.pump_module.heat / 2)


def step_up(row, out):
    now, module = row.boost, row.boost_module
    low, high = boost.ripple(now)
    watts = row.link_watts + boost.LINK_BAR * row.link_amps**2
    put(
        out, "step_up", low_power=row.boosted_watts, low_current=row.boosted_watts / row.pack_volts,
        high_voltage=row.high_volts, high_power=watts, leg_current=now["leg"], leg_drop=now["drop"],
        low_side_duty=now["duty"], choke_ripple_current=now["swing"], choke_rms_current=np.sqrt(now["choke_square"]),
        choke_peak_current=now["top"], low_bus_ripple_current=np.sqrt(low), high_bus_ripple_current=np.sqrt(high),
        loss=row.boost_loss, efficiency=watts / row.boosted_watts,
    )
    names = "low_side.1.transistor", "high_side.1.diode", "high_side.1.transistor", "low_side.1.diode"
    for k, name in enumerate(names):
        chip(
            out, f"step_up.{name}", module.chips[k], module.lines[k], now["means"][k], now["squares"][k],
            now["switched"][k], boost.CARRIER, module.losses[k], module.junctions[k],
        )
    put(out, "step_up.high_side.1.transistor", rated_current=module.chips[0].rating(module.case))
    put(out, "step_up.high_side.1.diode", rated_current=module.chips[1].rating(module.case))
    put(out, "step_up.package.1", heat=module.heat)
    rise = comparisons.LOOP_450 * 0.8 / 90e-9 * now["top"]
    put(
        out, "step_up.low_side", turn_off_voltage=700 + rise, undamped_turn_off_voltage=700 + 2 * rise,
        linear_gate_level=5.8 + 2 * now["top"] / 250,
    )


def auxiliary(row, out):
    now = row.supply
    given = row.cab_watts + supply.BOARD_BAR * row.board_amps**2
    b, c, d = now["corners"]
    put(
        out, "auxiliary", input_power=row.fed_watts, input_current=row.fed_watts / row.pack_volts,
        output_voltage=now["out_volts"], output_power=given, driven_voltage=now["driven_volts"],
        effective_duty=now["effective"], phase_shift=now["effective"] + now["lost"],
        primary_rms_current=np.sqrt(now["primary_square"]), primary_peak_current=c,
        secondary_rms_current=np.sqrt(now["secondary_square"]), choke_ripple_current=now["swing"],
        choke_rms_current=np.sqrt(now["choke_square"]), choke_peak_current=now["peak"],
        magnetising_ripple_current=now["magnetising"], magnetising_peak_current=now["magnetising"] / 2,
        input_ripple_current=np.sqrt(now["input_square"]), output_ripple_current=np.sqrt(now["output_square"]),
        rectifier_voltage=row.pack_volts / supply.TURNS, loss=row.supply_loss, efficiency=given / row.fed_watts,
    )
    # The channel leaves to the body diode what runs backward in dead times.
    through, free = now["effective"] * (b + c) / 2 + now["lost"] * (b - d) / 2, now["free"] * (c + d) / 2
    whole = -now["amps"] / 2 / supply.BESIDE
    positions = (
        ("bridge_high.a", "leading", BRIDGE_BODY, (through - free) / 2),
        ("bridge_high.b", "lagging", BRIDGE_BODY, (through + free) / 2),
        ("rectifier.1", "rectifier", RECTIFIER_BODY, whole),
    )
    for k, (part, name, body, current) in enumerate(positions):
        its, loss = chain.FETS[k][0], row.fet_losses[k]
        case = row.plate + chain.TO_PLATE * loss
        junction = case + its.resistance * loss
        switched, mean, square = now[name]
        stem = f"auxiliary.{part}"
        chip(
            out, f"{stem}.transistor", its, row.fet_lines[k], current + mean, now[f"{name}_square"],
            switched if k < 2 else 0 * mean, supply.CARRIER, loss, junction,
        )
        knee, slope = body.at(junction)
        put(
            out, f"{stem}.body_diode", average_current=mean, rms_current=np.sqrt(square),
            conduction_loss=knee * mean + slope * square,
        )
        put(out, f"{stem}.package", case_temperature=case, heat=loss)
    recovery = supply.RECTIFIER_RECOVERY
    put(
        out, "auxiliary.rectifier.1.body_diode", recovery_energy=switched / supply.CARRIER,
        recovery_loss=switched * (1 + recovery.growth * (junction - recovery.junction)),
    )
    put(out, "auxiliary.rectifier.1.transistor", peak_current=now["rectifier_peak"])
    share, hot, lost = row.unluckiest
    put(
        out, "auxiliary.rectifier.1.transistor.unluckiest", current_factor=share,
        rms_current=share * np.sqrt(now["rectifier_square"]), peak_current=share * now["rectifier_peak"],
        junction_temperature=hot, loss=lost,
    )
    rise = comparisons.LOOP_650 * 0.8 / 15e-9 * c
    put(
        out, "auxiliary.bridge_high", turn_off_voltage=430 + rise,
        undamped_turn_off_voltage=430 + 2 * rise * np.sin(min(comparisons.RING, np.pi) / 2),
    )
    put(out, "auxiliary.bridge_high.a", linear_gate_level=3.8 + 2 * c / 40)
    put(out, "auxiliary.rectifier", linear_gate_level=3.2 + 2 * now["rectifier_peak"] / 110)


def components(row, out):
    fluxes = supply.fluxes(row.supply)
    for stem, component, (lines, core), (losses, hot, core_hot, whole), flux, swing, squares in (
        ("step_up.step_up_choke", boost.CHOKE, row.choke, row.choke_parts, boost.flux(row.boost),
         row.boost["flux_swing"], (row.boost["choke_square"],)),
        ("auxiliary.auxiliary_transformer", supply.TRANSFORMER, row.transformer, row.transformer_parts, fluxes[0],
         row.supply["flux_swing"], (row.supply["primary_square"], row.supply["secondary_square"])),
        ("auxiliary.auxiliary_choke", supply.CHOKE, row.output_choke, row.output_choke_parts, fluxes[1],
         row.supply["choke_flux_swing"], (row.supply["choke_square"],)),
    ):
        put(
            out, stem, flux_density_swing=swing, core_loss=core,
            case_temperature=row.plate + component.to_plate * whole, core_temperature=core_hot, flux_density=flux,
            loss=whole,
        )
        its = zip(("", "second_"), component.windings, lines, losses, hot, squares)
        for order, winding, line, loss, mean, square in its:
            out[f"{stem}.{order}resistance_ratio"] = loss / (winding.grown(mean) * square)
            out[f"{stem}.{order}winding_loss"] = loss
            out[f"{stem}.mean_{order}winding_temperature"] = mean
            out[f"{stem}.{order}winding_temperature"] = mean + component.hot_spot
            out[f"{stem}.{order}winding_loss_per_kelvin"] = line[1]


def ripple(row, out):
    for part, bus, bank, (each, hot), wave in (
        ("pack_bank", "pack_bus", banks.PACK_BANK, row.pack_bank, row.pack_ripple),
        ("link_bank", "link", banks.LINK_BANK, row.link_bank, row.link_ripple),
        ("board_bank", "board_net", banks.BOARD_BANK, row.board_bank, row.board_ripple),
    ):
        put(
            out, part, ripple_current=bank.count * each, capacitor_ripple_current=each,
            capacitor_loss=bank.ohms * each * each, hot_spot_temperature=hot, peak_voltage=bank.highest + wave / 2,
        )
        put(out, bus, ripple_voltage=wave)
    put(out, "link", highest_service_voltage=chain.LINK + row.link_ripple / 2)


def main():
    row = chain.solve(np.array(LOADED_CLIMB)[:, None])
    banks.ripple(row)
    with open(sys.argv[1]) as file:
        theirs = {its["figure"]: its["value"] for its in csv.DictReader(file)}
    both = far = 0
    for path, value in of(row).items():
        here, there = float(np.squeeze(value)), float(theirs[path])
        both += 1
        apart = abs(here - there) / max(abs(there), 1e-9) if there else abs(here)
        if apart > SHARE:
            far += 1
            print("%-75s %9.5g here, %9.5g there" % (path, here, there))
    print("%d figures reckoned by both, %d further apart than %.0f %%" % (both, far, 100 * SHARE))


if __name__ == "__main__":
    main()
