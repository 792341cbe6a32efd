"""A phase inverter, from content/9-gain-stages/3-phase-inverter.md: rest, small signals, and how far it swings.

Both kinds are solved for a drive at the driven grid. To signals each output has its load beside its resistor, through a
capacitor that keeps its volts; supply and the second grid of a pair are held. A way ends where a grid comes to its cathode
or a valve is down to a tenth of its idle current; the nearer end's drive is the drive of both ways.
"""

from scipy.optimize import brentq

from nodal import Network
from section import EXACT, Section
from valve_model import FLAT, SHUT
from valve_table import limit, rows
from verdict import at_most, fitted_to

# The share of its idle current at which a valve counts as shut.
DOWN_TO = 0.1


def parallel(one, other):
    return one * other / (one + other)


class Pair:
    """A long-tailed pair: two anodes, cathodes on one tail, both grids at the tail's top."""

    def __init__(self, inputs, valve):
        self.valve, self.supply, self.load = valve, inputs["supply"], inputs["load"]
        self.anodes = inputs["anode-1"], inputs["anode-2"]
        self.own, self.tail = inputs["cathode"], inputs["tail"]
        self.below = self.own + self.tail
        self.loads = [parallel(anode, self.load) for anode in self.anodes]
        self.cathode = brentq(lambda k: sum(self._resting(k)) - k / self.below, 0, self.supply, **EXACT)
        self.rest = self._resting(self.cathode)
        self.grid = self.cathode * self.tail / self.below
        self.volts = [self.supply - i * r for i, r in zip(self.rest, self.anodes)]

    def _resting(self, cathode):
        grid = -cathode * self.own / self.below
        return [self._on_line(self.supply - cathode, anode, grid) for anode in self.anodes]

    def _on_line(self, feed, resistor, grid):
        """The current of a valve fed through a resistor, by the voltage across it."""
        if feed <= 0:
            return 0.0
        across = brentq(lambda v: self.valve.current(v, grid) - (feed - v) / resistor, 0, feed, **EXACT)
        # The difference is the better figure where most is lost in the resistor, the curve where little is.
        return (feed - across) / resistor if across < feed / 2 else self.valve.current(across, grid)

    def at_rest(self):
        """Anode currents, each valve's grid and anode from the cathode."""
        return [(i, v - self.cathode, self.grid - self.cathode) for i, v in zip(self.rest, self.volts)]

    def driven(self, drive):
        """The currents, the grids from their cathodes, and how far the cathodes have moved."""
        def at(cathode):
            grids = [self.grid + drive - cathode, self.grid - cathode]
            feeds = [v + i * load - cathode for v, i, load in zip(self.volts, self.rest, self.loads)]
            return [self._on_line(*line) for line in zip(feeds, self.loads, grids)], grids

        most = max(v + i * load for v, i, load in zip(self.volts, self.rest, self.loads))
        cathode = brentq(lambda k: sum(at(k)[0]) - k / self.below, 0, most, **EXACT)
        return *at(cathode), cathode - self.cathode

    def moved(self, currents):
        """How far the outputs have moved."""
        return [(rest - i) * load for rest, i, load in zip(self.rest, currents, self.loads)]

    def network(self, slopes, loads, grid):
        network = Network({"g": grid})
        network.resistor("k", "0", self.below)
        for anode, driven, resistor, (gm, ga) in zip(("a1", "a2"), ("g", "0"), self.anodes, slopes):
            network.resistor(anode, "0", resistor)
            network.triode(anode, driven, "k", gm, ga)
        if loads:
            network.resistor("a1", "0", self.load)
            network.resistor("a2", "0", self.load)
        return network

    def signals(self, slopes):
        """Gains to both outputs, and their resistances for both loads alike and for one."""
        out = self.network(slopes, True, 1.0).solve()
        gains = [-out["a1"], out["a2"]]
        # With both loaded alike the cathodes are taken to stand still.
        alike = [1 / (1 / anode + ga) for anode, (_, ga) in zip(self.anodes, slopes)]
        alone = [self.network(slopes, False, 0.0).solve(anode)[anode] for anode in ("a1", "a2")]
        return gains, alike, alone


class Split:
    """A split load: one valve, a resistor at its anode and one at its cathode, its bias above the latter."""

    def __init__(self, inputs, valve):
        self.valve, self.supply, self.load = valve, inputs["supply"], inputs["load"]
        self.own = inputs["anode-load"], inputs["cathode-load"]
        self.bias = inputs["bias-resistor"] if inputs["grid"] == "own" else 0.0
        self.loads = [parallel(own, self.load) for own in self.own]
        self.round = sum(self.own) + self.bias
        fixed = inputs["grid-voltage"] if inputs["grid"] == "direct" else None

        def grid_at(i):
            return -i * self.bias if fixed is None else fixed - i * self.own[1]

        i = brentq(
            lambda i: valve.current(self.supply - i * self.round, grid_at(i)) - i, 0, self.supply / self.round, **EXACT
        )
        self.current, self.across, self.on_grid = i, self.supply - i * self.round, grid_at(i)
        self.volts = [self.supply - i * self.own[0], i * self.own[1]]
        self.cathode = i * (self.own[1] + self.bias)
        self.grid = self.cathode + self.on_grid

    def at_rest(self):
        return [(self.current, self.across, self.on_grid)]

    def driven(self, drive):
        line, below = sum(self.loads) + self.bias, self.loads[1] + self.bias

        def grid(i):
            return self.on_grid + drive - (i - self.current) * below

        # No more flows than brings the anode down to its cathode.
        most = self.current + self.across / line
        i = brentq(
            lambda i: self.valve.current(self.across - (i - self.current) * line, grid(i)) - i, 0, most, **EXACT
        )
        return [i], [grid(i)], (i - self.current) * below

    def moved(self, currents):
        change = currents[0] - self.current
        return [change * load for load in self.loads]

    @property
    def rest(self):
        return [self.current]

    def network(self, slopes, loads, grid):
        network = Network({"g": grid})
        top = "out" if self.bias == 0 else "k"
        if self.bias:
            network.resistor("k", "out", self.bias)
        network.triode("a", "g", top, *slopes[0])
        network.resistor("a", "0", self.own[0])
        network.resistor("out", "0", self.own[1])
        if loads:
            network.resistor("a", "0", self.load)
            network.resistor("out", "0", self.load)
        return network

    def signals(self, slopes):
        def gains(loads):
            out = self.network(slopes, loads, 1.0).solve()
            return [-out["a"], out["out"]]

        loaded, free = gains(True), gains(False)
        # The load takes the gain down as it would a source's of this resistance.
        alike = [self.load * (open_ / with_ - 1) for open_, with_ in zip(free, loaded)]
        alone = [self.network(slopes, False, 0.0).solve(node)[node] for node in ("a", "out")]
        return loaded, alike, alone


def end(stage, way):
    """The drive at which a way ends."""
    def beyond(drive):
        currents, grids, _ = stage.driven(way * drive)
        shut = max(DOWN_TO - i / rest for i, rest in zip(currents, stage.rest))
        return max(shut, *(grid / stage.supply for grid in grids))

    far = stage.supply / 64
    while beyond(far) < 0:
        far *= 2
    return brentq(beyond, 0, far, **EXACT)


def built(inputs):
    valve = Section(inputs)
    return (Pair if inputs["kind"] == "pair" else Split)(inputs, valve)


def answers(inputs):
    stage = built(inputs)
    pair = inputs["kind"] == "pair"
    if not pair and stage.on_grid >= 0:
        return {"refused": "grid-voltage"}
    rest = stage.at_rest()
    slopes = [stage.valve.slopes(anode, grid) for _, anode, grid in rest]
    if any(i < SHUT or ga <= FLAT for (i, *_), (_, ga) in zip(rest, slopes)):
        return {"refused": "supply"}
    gains, alike, alone = stage.signals(slopes)
    drive = min(end(stage, 1), end(stage, -1))
    swung = [stage.driven(way * drive) for way in (1, -1)]
    swing = min(abs(moved) for currents, *_ in swung for moved in stage.moved(currents))
    if swing <= 1e-6:
        return {"refused": "supply"}
    heater = stage.cathode - inputs["heater-voltage"]
    found = {
        "swing": swing,
        "share": -inputs["bias-voltage"] / swing,
        "gain-1": gains[0],
        "gain-2": gains[1],
        "imbalance": (gains[1] - gains[0]) / gains[0],
        "drive": drive,
        "output-resistance-1": alike[0],
        "output-resistance-2": alike[1],
        "alone-1": alone[0],
        "alone-2": alone[1],
        "voltage-1": stage.volts[0],
        "voltage-2": stage.volts[1],
        "cathode-voltage": stage.cathode,
        "grid-voltage": stage.grid,
        "current-1": stage.rest[0],
        "across": max(anode for _, anode, _ in rest),
        "anode-power": max(i * anode for i, anode, _ in rest),
        "heater-cathode": abs(heater),
        "heater-peak": max(abs(heater + moved) for moved in (0.0, *(moved for *_, moved in swung))),
        "cold": inputs["supply"],
    }
    if pair:
        found["current-2"] = stage.rest[1]
    return found


def limits(inputs):
    valve = inputs["valve"]
    volts = limit(valve, "anode-voltage")
    return {
        **at_most("Drive", "share", 1.0),
        **at_most("Heater to cathode", "heater-peak", limit(valve, "heater-cathode")),
        **at_most("Across a valve", "across", volts),
        **at_most("Anodes while the valve is cold", "cold", volts),
        **at_most("Anode dissipation", "anode-power", limit(valve, "anode-power")),
    }


def standings(inputs):
    """By the driven side's current."""
    rest = built(inputs).at_rest()
    return fitted_to(rows(inputs["valve"]), (max(anode for _, anode, _ in rest), 0.0, rest[0][0]))


def floors(inputs):
    """Differences of figures that are nearly alike."""
    load = inputs["load"]
    return {
        # One gain over the other, less one.
        "imbalance": 1e-9,
        # The loss of gain by a load, times the load.
        "output-resistance-1": 1e-9 * load,
        "output-resistance-2": 1e-9 * load,
    }
