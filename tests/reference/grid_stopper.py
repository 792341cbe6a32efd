"""A resistance that drives a grid's capacitance: the transfer in complex numbers, its corner where half the power is left.

The stage's gain moves the anode against the grid, so that the capacitance between them counts 1 + gain times (Miller).
Thermal noise is that of Nyquist at 290 K. The habit of the trade, 1.5 to 10 kΩ, is one of output valves.
"""

import cmath
import math

from scipy import constants, optimize

import valve_table

TOP = 20e3


def transfer(resistance, farads, hertz):
    return 1.0 / (1.0 + 2j * math.pi * hertz * resistance * farads)


def half_power(resistance, farads):
    """Sought over sixty decades."""
    rest = lambda decades: abs(transfer(resistance, farads, 10.0**decades)) ** 2 - 0.5
    return 10.0 ** optimize.brentq(rest, -20.0, 40.0, xtol=1e-13, rtol=1e-15)


def loss(resistance, farads, hertz):
    # |1 + jx|² − 1 is x²: so small losses keep their figures.
    x = 2.0 * math.pi * hertz * resistance * farads
    return 10.0 * math.log1p(x * x) / math.log(10.0)


def answers(i):
    farads = i["grid-capacitance"] + i["stray"]
    # One volt at the grid moves the capacitance to the anode by one and the gain.
    grid, anode = 1.0, -i["gain"]
    farads += i["anode-grid-capacitance"] * (grid - anode)
    whole = i["drive"] + i["stopper"]
    return {
        "input-capacitance": farads,
        "own-corner": half_power(i["stopper"], farads),
        "corner": half_power(whole, farads),
        "loss": -20.0 * math.log10(abs(transfer(whole, farads, TOP))),
        "added-loss": loss(whole, farads, TOP) - loss(i["drive"], farads, TOP),
        "phase": math.degrees(cmath.phase(transfer(whole, farads, TOP))),
        "noise": math.sqrt(4.0 * constants.Boltzmann * 290.0 * i["stopper"] * i["bandwidth"]),
        "drop": i["grid-current"] * i["stopper"],
    }


def standings(i):
    about = "Value, by common practice"
    if i["valve"] != "typed" and not valve_table.is_output(i["valve"]):
        return {about: "no published limit"}
    low, high, value = 1.5e3, 10e3, i["stopper"]
    # The rule names marked values: either end is still inside.
    marked = any(math.isclose(value, end, rel_tol=1e-6) for end in (low, high))
    return {about: "within" if marked or low < value < high else "beyond"}
