"""The measured mission once more, vectorised: a yardstick for the time, and a second opinion on every comparison.

    python3 benches/missions/closed_forms.py [-v] FOLDER OUT.json [SECONDS]

FOLDER was written by rows.py, OUT.json by `loadworthy mission unit.yaml --format json` in it; SECONDS, where given, is
the processor time that this took; -v prints every comparison, not only those further apart than they may be. Needs
numpy.

Written from formulas and data sheets, not from the program: `chips`, `bridge`, `boost`, `supply`, `windings`, `banks`
and `coolant` hold them, `chain` brings power and heat together, `over_time` follows what is warm from row to row,
`figures` has all of it under the program's names, and `comparisons` holds what is carried against what is allowed. Of
each comparison the least headroom over all rows is laid beside that of the program. Parts that are alike, such as the
six positions of a bridge, are reckoned once, where the program reckons each.

Left out: power that comes back, standstill, rows without a solution, peak ratings of the pack, and the likely corner of
devices in parallel.
"""

import argparse
import json
import pathlib
import sys
import time

import numpy as np

import banks
import chain
import comparisons
import figures
import over_time

# What may lie between the two: in kelvin, of anything else as a share, and of energies as a share.
KELVIN, SHARE, ENERGY = 1.0, 0.02, 0.03
CHUNK = 4096


class Tally:
    """The least headroom of each comparison, with its row, what is carried there and what is allowed."""

    def __init__(self):
        self.worst, self.energies, self.figures = {}, {}, 0

    def take(self, comparison, first=0):
        headroom = np.atleast_1d(comparison.headroom())
        at = int(headroom.argmin())
        for part in comparison.parts:
            key = comparison.check, part, comparison.defect
            if key not in self.worst or headroom[at] < self.worst[key][0]:
                both = comparison.carried, comparison.allowed
                self.worst[key] = headroom[at], first + at + 1, *(np.broadcast_to(v, headroom.shape)[at] for v in both)

    def spend(self, row):
        """Energies in J: what the pack gives and loses inside, what stages lose, and what the coolant takes."""
        amps = row.pack_amps
        powers = {
            "pack gives": amps * (row.pack_volts + chain.PACK_WAY * amps),
            "pack lost": (chain.PACK - chain.PACK_WAY) * amps * amps,
            "step_up lost": row.boost_loss,
            "traction_bridge lost": row.bridge_loss[0],
            "pump_bridge lost": row.bridge_loss[1],
            "auxiliary lost": row.supply_loss,
            "coolant": row.coolant_watts,
        }
        for name, watts in powers.items():
            self.energies[name] = self.energies.get(name, 0.0) + float(watts @ row.lasts)


def follow(columns):
    tally, junctions, wound = Tally(), over_time.Junctions(), over_time.Wound()
    rows = columns.shape[1]
    for first in range(0, rows, CHUNK):
        row = chain.solve(columns[:, first : first + CHUNK])
        junctions.all(row)
        banks.ripple(row)
        wound.keep(row)
        for comparison in comparisons.of_a_row(row):
            tally.take(comparison, first)
        tally.figures = len(figures.of(row))
        tally.spend(row)
    courses = [bodies.course(columns[0]) for bodies in wound.bodies]
    for comparison in comparisons.wound(courses):
        tally.take(comparison)
    for comparison in comparisons.standing():
        tally.take(comparison)
    return tally


def main():
    words = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    words.add_argument("-v", dest="every", action="store_true")
    words.add_argument("folder", type=pathlib.Path)
    words.add_argument("out", type=pathlib.Path)
    words.add_argument("seconds", type=float, nargs="?")
    words = words.parse_args()
    began = time.process_time()
    columns = np.loadtxt(words.folder / "rows.csv", delimiter=",", skiprows=1, unpack=True, ndmin=2)
    read = time.process_time()
    tally = follow(columns)
    done = time.process_time()
    print("numpy: %d rows of %d figures, %.2f s of processor time for reading, %.2f s for reckoning"
          % (columns.shape[1], tally.figures, read - began, done - read))
    if words.seconds:
        print("loadworthy: %.1f s for both, %.1f times as much" % (words.seconds, words.seconds / (done - began)))
    said = json.loads(words.out.read_text())
    far = beside(tally.worst, said["worst"], words.every) + energies(tally.energies, said["energy"], words.every)
    sys.exit("further apart than they may be: %d" % far if far else 0)


def beside(worst, said, every):
    """Prints what lies further apart than it may, or everything, and how much that is."""
    both = far = 0
    for its in said:
        comparison = its["comparison"]
        if comparison is None:
            continue
        key = its["check"], its["part"], its["defect"]
        name = "%s %s %s" % key
        if key not in worst:
            print("not reckoned here     %s" % name)
            continue
        both += 1
        headroom, row, carried, allowed = worst.pop(key)
        kelvin = comparison["headroom"]["unit"] == "K"
        apart = [
            here - comparison[there]["value"] if kelvin else here / comparison[there]["value"] - 1
            for here, there in ((carried, "carried"), (allowed, "allowed"))
        ]
        limit = KELVIN if kelvin else SHARE
        if max(map(abs, apart)) > limit or every:
            far += max(map(abs, apart)) > limit
            unit = "K" if kelvin else "%"
            scale = 1 if kelvin else 100
            its_own = comparison["carried"]["value"], its["row"]
            print("%-75s %9.5g here in row %d, %9.5g there in row %d; apart %+.3f %s, allowed %+.3f %s"
                  % (name, carried, row, *its_own, scale * apart[0], unit, scale * apart[1], unit))
    for key in worst:
        print("not told by the other %s %s %s" % key)
    print("%d comparisons reckoned by both" % both)
    return far


def energies(own, said, every):
    """As many as lie further apart than they may."""
    theirs = {its["stage"] + " lost": its["lost"] for its in said["stage_losses"]}
    theirs.update({"pack gives": said["sources"][0]["gives"], "pack lost": said["sources"][0]["lost"]})
    theirs["coolant"] = said["coolant"]
    far = 0
    for name, joules in own.items():
        apart = joules / theirs[name] - 1
        far += abs(apart) > ENERGY
        if abs(apart) > ENERGY or every:
            print("%-75s %9.5g J here, %9.5g J there; apart %+.3f %%" % (name, joules, theirs[name], 100 * apart))
    print("%d energies reckoned by both" % len(own))
    return far


if __name__ == "__main__":
    main()
