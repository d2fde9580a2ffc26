"""Writes a mission to measure: the largest example with a file of rows beside it.

    python3 benches/missions/rows.py FOLDER [ROWS]

A million rows unless said otherwise; the same rows every time. They are a working day of the timber forwarder second by
second: climbs and level stretches over minutes, the crane over seconds, and noise on everything.
"""

import argparse
import math
import pathlib
import shutil

EXAMPLES = pathlib.Path(__file__).resolve().parents[2] / "examples"
UNIT = "timber-forwarder.yaml"
HEAD = [
    "lasts [s]",
    "coolant.inlet [degC]",
    "sources.pack.open_circuit [V]",
    "loads.traction_motor.electrical_power [kW]",
    "loads.traction_motor.line_voltage [V rms]",
    "loads.traction_motor.frequency [Hz]",
    "loads.pump_motor.electrical_power [kW]",
    "loads.cab_supply.power [kW]",
]


def noise():
    """Numbers from 0 to 1 from a linear congruence, with the multiplier of Lehmer and Park."""
    state = 1
    while True:
        state = state * 48271 % 2147483647
        yield state / 2147483647


def rows(count):
    chance = noise()
    for row in range(count):
        climb = 0.5 + 0.5 * math.sin(row / 97.0)
        crane = 0.5 + 0.5 * math.sin(row / 7.0)
        day = row % 30000 / 30000
        traction = 8 + 50 * climb + 10 * next(chance)
        # Speed falls where it climbs; the voltage follows the speed.
        frequency = 210 - 90 * climb + 10 * next(chance)
        voltage = 200 + 0.7 * frequency
        pump = 3 + 22 * crane * crane + 3 * next(chance)
        cab = 0.9 + 0.5 * next(chance)
        inlet = 55 + 12 * climb + next(chance)
        pack = 390 - 70 * day
        yield (2 if row % 50 == 0 else 1, inlet, pack, traction, voltage, frequency, pump, cab)


def main():
    words = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    words.add_argument("folder", type=pathlib.Path)
    words.add_argument("rows", type=int, nargs="?", default=1_000_000)
    words = words.parse_args()
    folder, count = words.folder, words.rows
    shutil.copytree(EXAMPLES / "parts", folder / "parts", dirs_exist_ok=True)
    mission = "\nmissions:\n  day: { file: rows.csv, duty: loaded_climb }\n"
    (folder / "unit.yaml").write_text((EXAMPLES / UNIT).read_text() + mission)
    with open(folder / "rows.csv", "w") as file:
        file.write(",".join(HEAD) + "\n")
        for row in rows(count):
            file.write("%d,%.2f,%.1f,%.2f,%.1f,%.1f,%.2f,%.2f\n" % row)


if __name__ == "__main__":
    main()
