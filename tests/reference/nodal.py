"""Small signals in a network of a few nodes: conductances, sources steered by voltages, and what one ampere makes."""

import numpy as np


class Network:
    """Node "0" is the chassis; the nodes named `held` stand at the voltages given for them."""

    def __init__(self, held):
        self.held = {"0": 0.0, **held}
        self.nodes, self.rows = [], []

    def _add(self, out, into, slope, plus, minus):
        for node in (out, into, plus, minus):
            if node not in self.held and node not in self.nodes:
                self.nodes.append(node)
        self.rows.append((out, into, slope, plus, minus))

    def resistor(self, one, other, ohms):
        self._add(one, other, 1 / ohms, one, other)

    def steered(self, out, into, siemens, plus, minus):
        """A current from `out` through the part into `into`, siemens times V(plus) - V(minus)."""
        self._add(out, into, siemens, plus, minus)

    def triode(self, anode, grid, cathode, gm, ga):
        self.steered(anode, cathode, gm, grid, cathode)
        self.resistor(anode, cathode, 1 / ga)

    def solve(self, driven=None):
        """The voltages, by name; one ampere flows into the node `driven`."""
        at = {node: row for row, node in enumerate(self.nodes)}
        matrix, right = np.zeros((len(at), len(at))), np.zeros(len(at))
        for out, into, slope, plus, minus in self.rows:
            for node, way in ((out, 1), (into, -1)):
                if node not in at:
                    continue
                for steering, sign in ((plus, 1), (minus, -1)):
                    if steering in at:
                        matrix[at[node], at[steering]] += way * sign * slope
                    else:
                        right[at[node]] -= way * sign * slope * self.held[steering]
        if driven is not None:
            right[at[driven]] += 1
        return {**self.held, **dict(zip(self.nodes, np.linalg.solve(matrix, right)))}
