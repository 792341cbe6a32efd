"""The bias for a current, or the current at a bias, from content/3-output-stage/6-idle-point.md."""

import re

import numpy as np
from scipy.optimize import brentq, least_squares

from section import EXACT, HIGHEST_GRID
from valve_model import FLAT, SHUT, Pentode, Triode, fitted
from valve_table import kind, limit, rows
from verdict import at_most, fitted_to


class Valve:
    """A triode or a pentode that knows its screen's voltage."""

    def __init__(self, triode, constants, share, screen):
        self.model = (Triode if triode else Pentode)(constants, share)
        self.screen = [] if triode else [screen]

    def currents(self, anode, grid):
        if self.screen:
            return self.model.currents(anode, *self.screen, grid)
        return self.model.current(anode, grid), 0.0

    def slopes(self, anode, grid):
        return self.model.slopes(anode, *self.screen, grid)


def answers(inputs):
    return worked_out(inputs)[0]


def worked_out(inputs):
    """The answers, and the model's own current."""
    constants = fitted(inputs)
    if constants is None:
        return {}, None
    triode = kind(inputs["valve"]) == "triode"
    share = inputs["model-share"] * inputs.get("valve-share", 1.0)
    if inputs["basis"] == "measured":
        constants = refitted(triode, constants, inputs["points"])
    valve = Valve(triode, constants, share, inputs.get("screen-voltage"))
    anode = inputs["anode-voltage"]
    if inputs["find"] == "bias":
        target = inputs["target"]
        over = lambda grid: valve.currents(anode, grid)[0] - target
        if over(-300.0) > 0 or over(0.0) < 0:
            return {"refused": "target"}, None
        grid = brentq(over, -300.0, 0.0, **EXACT)
    else:
        grid = inputs["bias"]
    current, screen = valve.currents(anode, grid)
    if current < SHUT:
        return {"refused": "bias"}, None
    if "gm-share" in inputs:
        # The rest goes with the anode current: it is the model's where that draws as much.
        model = Valve(triode, constants, 1.0, inputs.get("screen-voltage"))
        over = lambda grid: model.currents(anode, grid)[0] - current
        if over(HIGHEST_GRID) < 0:
            return {"refused": "model-share"}, None
        alike = brentq(over, -500.0, HIGHEST_GRID, **EXACT)
        own = inputs.get("valve-slopes", 1.0)
        screen = model.currents(anode, alike)[1] * inputs.get("screen-share", 1.0) * own
        gm, ga = model.slopes(anode, alike)
        gm, ga = gm * inputs["gm-share"] * own, ga / inputs["ra-share"] * own
    else:
        gm, ga = valve.slopes(anode, grid)
    found = {
        "bias": grid,
        "anode-current": current,
        "screen-current": screen if screen > 0 else None,
        "cathode-current": current + screen if screen > 0 else None,
        "per-volt": gm * (1 + screen / current),
        "gm": gm,
        "ra": 1 / ga if ga > FLAT else None,
        "anode-power": anode * current,
    }
    return found, current / share


def limits(inputs):
    if fitted(inputs) is None:
        return {}
    return at_most("Anode dissipation", "anode-power", limit(inputs["valve"], "anode-power"))


def standings(inputs):
    if fitted(inputs) is None:
        return {"Bias to expect": "cannot tell"}
    own = None
    if inputs["basis"] == "measured":
        points = [numbers(point) for point in inputs["points"].split(";")]
        own = [(at[0], at[1] if len(at) == 3 else 0.0, read[0]) for at, read in points]
    point = inputs["anode-voltage"], inputs.get("screen-voltage", 0.0), worked_out(inputs)[1]
    return fitted_to(own or rows(inputs["valve"]), point)


# The fit, as calc-core/src/valve/fit.rs describes it: logarithms of the scales, each with the width within which it may
# be expected, and logarithms of the currents with theirs.
TRIODE = [("mu", 0.2), ("ex", 0.2), ("kp", 0.5), ("kg1", 1.5), ("kvb", 1.0)]
PENTODE = [
    ("mu", 0.3), ("ex", 0.2), ("kp", 0.5), ("kg1", 1.5), ("kg2", 0.8), ("slope", 3e-4), ("alpha_s", 0.7), ("beta", 0.4),
]
AS_THEY_ARE = ("ex", "slope")
ANODE, SCREEN = 0.05, 0.12


def refitted(triode, constants, text):
    """The constants that lie nearest to the reader's points."""
    points = [numbers(point) for point in text.split(";")]
    names = TRIODE if triode else PENTODE

    def with_moved(moved):
        """From steps in widths."""
        found = dict(constants)
        for (name, width), step in zip(names, moved):
            if name in AS_THEY_ARE:
                found[name] = constants[name] + width * step
            else:
                found[name] = constants[name] * np.exp(width * step)
        return found

    def misses(moved):
        model = with_moved(moved)
        off = list(moved)
        for at, read in points:
            anode, *screen, grid = at
            currents = Valve(triode, model, 1.0, *(screen or [None])).currents(anode, grid)
            for current, measured, width in zip(currents, read, (ANODE, SCREEN)):
                off.append(np.clip(np.log(max(current, 1e-300) / measured), -20, 20) / width)
        return off

    exact = {"xtol": 1e-15, "ftol": 1e-15, "gtol": 1e-15}
    found = least_squares(misses, np.zeros(len(names)), jac="3-point", **exact)
    return with_moved(found.x)


def numbers(point):
    """`438/434/-46: 32.5/1.5` as volts and amperes; a bare current is in milliamperes."""
    at, read = point.split(":")
    return [float(one.removesuffix("V")) for one in at.split("/")], [
        float(re.sub(r" ?mA", "", one)) / 1e3 for one in read.split("/")
    ]
