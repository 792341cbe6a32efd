"""A capacitor between two stages: to signals a divider in complex numbers, to direct current a network of two nodes.

A leak ends at the bias node, which its source holds to direct current by its resistance, or at chassis where the valve behind
it makes its own bias.
"""

import math

import numpy


def loss(i, hertz):
    """What the capacitor takes beyond what source and leak take without it."""
    reactance = 1.0 / (2j * math.pi * hertz * i["capacitance"])
    round_it = i["source"] + i["leak"]
    return 20.0 * math.log10(abs((round_it + reactance) / round_it))


def fixed(i):
    return i["bias"] == "fixed"


def direct(i):
    return i["leak"] + (i["bias-source"] if fixed(i) else 0.0)


def foot(i):
    return i["bias-voltage"] if fixed(i) else 0.0


def leakage(i):
    if i["leakage-by"] == "current":
        return i["leakage-current"]
    # The node is the grid; a conductance to the anode and one to the foot.
    before = i["insulation"] + i["source"]
    if before == 0.0:
        return (i["anode-voltage"] - foot(i)) / direct(i)
    grid = numpy.average([i["anode-voltage"], foot(i)], weights=[1.0 / before, 1.0 / direct(i)])
    return float(grid - foot(i)) / direct(i)


def answers(i):
    leaks = leakage(i)
    lift = leaks * direct(i)
    rise = i["gm"] * lift
    return {
        "corner": 1.0 / (2.0 * math.pi * i["capacitance"] * (i["source"] + i["leak"])),
        "loss-40": loss(i, 40.0),
        "loss-80": loss(i, 80.0),
        "loss": loss(i, i["frequency"]),
        "middle-loss": -20.0 * math.log10(i["leak"] / (i["source"] + i["leak"])),
        "leakage": leaks,
        "lift": lift,
        "bias-left": i["bias-voltage"] + lift,
        "rise": rise,
        "rise-share": rise / i["idle"],
        "over-capacitor": i["highest-node"] - foot(i),
    }


def limits(i):
    compared = {
        "Voltage across it": {"answer": "over-capacitor", "limit": i["rated"], "side": "most"},
        "Bass corner": {"answer": "corner", "limit": i["highest-corner"], "side": "most"},
    }
    # Where the leakage takes much of the bias, the margin of what is left of it decides as well.
    if leakage(i) * direct(i) < -0.3 * i["bias-voltage"]:
        compared["Leakage"] = {"answer": "rise-share", "limit": i["most-rise"], "side": "most"}
    return compared


def bias_is_gone(i):
    return i["bias-voltage"] + leakage(i) * direct(i) >= 0.0


def standings(i):
    return {"Leakage": "beyond"} if bias_is_gone(i) else {}


def floors(i):
    # The grid lies a little above its foot, of which it is a difference; the bias that is left is one as well.
    volts = abs(foot(i)) * 1e-12
    amperes = volts / direct(i)
    rise = volts * i["gm"]
    return {
        "leakage": amperes,
        "lift": volts,
        "bias-left": abs(i["bias-voltage"]) * 1e-9,
        "rise": rise,
        "rise-share": rise / i["idle"],
    }
