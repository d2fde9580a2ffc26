"""Heat from row to row: junctions, whose elements relax within a row, and windings and cores, which take minutes.

Currents of a row stand still, and so do the lines that losses follow. Foster elements relax with their own time
constants; cases, plates and coolant hold no heat here, so they step with the losses.
"""

import numpy as np

import boost
import supply
from chain import FETS, TO_PLATE


class Junctions:
    """Hottest junction of each chip in each row, at its begin or its end; what lies between is monotonous."""

    def __init__(self):
        self.before = {}

    def risen(self, name, elements, losses, lasts):
        """Rises of the elements at the end of each row and at its begin, which is the end of the row before.

        A row lasts for more than ten time constants, so what it began with is known well enough from what the row
        before it settles at.
        """
        ends, begins = [], []
        for k, (resistance, tau) in enumerate(elements):
            settled = resistance * losses
            prior = self.before.get((name, k), settled[0])
            begin = np.concatenate(([prior], settled[:-1]))
            end = settled + np.exp(-lasts / tau) * (begin - settled)
            begins.append(np.concatenate(([prior], end[:-1])))
            ends.append(end)
            self.before[name, k] = end[-1]
        return sum(begins), sum(ends)

    def module(self, name, module, inlet, path, lasts, hertz):
        """Crests of all chips of a package; `hertz` where a sine of that frequency swings the junction."""
        begins, ends = zip(*(
            self.risen((name, k), chip.elements, loss, lasts)
            for k, (chip, loss) in enumerate(zip(module.chips, module.losses))
        ))
        # At the begin the case steps to where the losses of junctions that still are as they were put it.
        heat = sum(n * (a + b * rise) for n, (a, b), rise in zip(module.counts, module.lines, begins))
        growth = sum(n * b for n, (_, b) in zip(module.counts, module.lines))
        case = (inlet + path * heat) / (1 - path * growth)
        crests = []
        for chip, (a, b), begin, end, loss in zip(module.chips, module.lines, begins, ends, module.losses):
            at_begin, at_end = case + begin, module.case + end
            if hertz is not None:
                swing = chip.swing(hertz)
                at_begin, at_end = at_begin + swing * (a + b * at_begin), at_end + swing * loss
            crests.append(np.maximum(at_begin, at_end))
        return crests

    def all(self, row):
        part = 2 / row.rate
        row.traction_crests = self.module(
            "traction", row.traction_module, row.low_outlet, 0.026 + 3 * part, row.lasts, row.hertz)
        row.boost_crests = self.module("boost", row.boost_module, row.low_outlet, 0.030 + 2 * part, row.lasts, None)
        row.pump_crests = self.module("pump", row.pump_module, row.boosted, 0.06 + 3 * part, row.lasts, 120.0)
        row.fet_crests = []
        for k, ((chip, _), (a, b), loss) in enumerate(zip(FETS, row.fet_lines, row.fet_losses)):
            begin, end = self.risen(("fet", k), chip.elements, loss, row.lasts)
            case = (row.plate + TO_PLATE * (a + b * begin)) / (1 - TO_PLATE * b)
            row.fet_crests.append(np.maximum(case + begin, row.plate + TO_PLATE * loss + end))


class Bodies:
    """Windings and core of a component on one case without heat capacity: C·dT/dt = P(T) − (T − T_case)/R."""

    def __init__(self, component):
        self.component, self.kept = component, []
        resistances = np.array([w.to_case for w in component.windings] + [component.core.to_case])
        heats = self.heats = np.array([w.heat for w in component.windings] + [component.core.heat])
        to_case = 1 / resistances
        whole = to_case.sum() + 1 / component.to_plate
        # Flows from node to node through the case, and from the plate.
        flows = np.outer(to_case, to_case) / whole - np.diag(to_case)
        root = np.sqrt(heats)
        rates, turn = np.linalg.eigh(flows / np.outer(root, root))
        self.rates, self.out, self.into = rates, turn / root[:, None], turn.T / root
        self.from_plate = to_case / component.to_plate / whole

    def keep(self, lines, core_loss, plate, settled):
        lines = np.array([value for line in lines for value in line])
        self.kept.append((lines, core_loss, plate, np.array([*settled[1], settled[2]])))

    def course(self, lasts):
        """Hottest mean of each winding and the core in each row.

        Rows are cut into stretches that are followed side by side, first from where each would settle, then once more
        from where the one before ends: what a wrong begin leaves at its end fades at known rates.
        """
        lines, core, plate, settled = (np.concatenate(part, axis=-1) for part in zip(*self.kept))
        rows = lasts.size
        stretches = max(1, rows // 1000)
        steps = -(-rows // stretches)
        pad = stretches * steps - rows

        def laid(values):
            values = np.concatenate([values, np.repeat(values[..., -1:], pad, axis=-1)], axis=-1)
            return np.ascontiguousarray(np.moveaxis(values.reshape(*values.shape[:-1], stretches, steps), -1, 0))

        lines, core, plate, lasts = laid(lines), laid(core), laid(plate), laid(lasts)
        starts = np.minimum(np.arange(stretches) * steps, rows - 1)
        first = self.into @ (settled[:, starts] * self.heats[:, None])
        ends = self.follow(first, lines, core, plate, lasts)[0]
        fade = np.exp(self.rates[:, None] * lasts.sum(axis=0))
        begins = first.copy()
        for k in range(1, stretches):
            begins[:, k] = ends[:, k - 1] + fade[:, k - 1] * (begins[:, k - 1] - first[:, k - 1])
        hottest = self.follow(begins, lines, core, plate, lasts)[1]
        return [hot.T.reshape(-1)[:rows] for hot in hottest]

    def follow(self, state, lines, core, plate, lasts):
        """Ends of all stretches, and the hottest of each node in each row; losses are taken where a row begins."""
        count = len(self.component.windings)
        hottest = np.empty((count + 1, *lasts.shape))
        nodes = self.out @ state
        rates = self.rates[:, None]
        for step in range(lasts.shape[0]):
            flows = self.from_plate[:, None] * plate[step]
            flows[:count] += lines[step, 0::2] + lines[step, 1::2] * nodes[:count]
            flows[count] += core[step]
            goal = self.into @ flows / -rates
            state = goal + np.exp(rates * lasts[step]) * (state - goal)
            then = self.out @ state
            np.maximum(nodes, then, out=hottest[:, step])
            nodes = then
        return state, hottest


class Wound:
    """The three kinds of component of the unit."""

    def __init__(self):
        self.bodies = [Bodies(boost.CHOKE), Bodies(supply.TRANSFORMER), Bodies(supply.CHOKE)]

    def keep(self, row):
        made = row.choke, row.transformer, row.output_choke
        settled = row.choke_parts, row.transformer_parts, row.output_choke_parts
        for bodies, (lines, core), settled in zip(self.bodies, made, settled):
            bodies.keep(lines, np.broadcast_to(core, row.plate.shape), row.plate, settled)
