"""A triode stage: its rest on the load line, its small signals as a network, its way to either end.

From content/9-gain-stages/1-triode-stage.md and the textbook circuit: the stage rests where the bias that its current
makes in the cathode resistor gives that current; to signals the supply is chassis, the coupling capacitor a wire.
"""

from math import log10, pi

from scipy.optimize import brentq

from nodal import Network
from section import EXACT, Section
from valve_model import FLAT, SHUT
from valve_table import limit, rows
from verdict import at_most, fitted_to


def answers(inputs):
    supply, ra, rk = inputs["supply"], inputs["anode-resistor"], inputs["cathode-resistor"]
    next_leak = inputs["next-leak"]
    valve = Section(inputs)

    def across(current):
        return supply - current * (ra + rk)

    current = brentq(
        lambda i: valve.current(across(i), -i * rk) - i, 0, supply / (ra + rk), **EXACT
    )
    vak, vgk = across(current), -current * rk
    gm, ga = valve.slopes(vak, vgk)
    if current < SHUT or ga <= FLAT:
        return {"refused": "supply"}

    def stage(bypassed, loaded, grid):
        network = Network({"g": grid, **({"k": 0.0} if bypassed else {})})
        network.resistor("a", "0", ra)
        if loaded:
            network.resistor("a", "0", next_leak)
        network.resistor("k", "0", rk)
        network.triode("a", "g", "k", gm, ga)
        return network

    gains = [-stage(bypassed, True, 1.0).solve()["a"] for bypassed in (True, False)]
    bypassed = inputs["bypass"] == "yes"
    gain = gains[0] if bypassed else gains[1]
    capacitance = (
        inputs["grid-capacitance"] + inputs["anode-grid-capacitance"] * (1 + gain) + inputs["stray"]
    )
    load = ra * next_leak / (ra + next_leak)
    # The grid comes to its cathode; the anode falls on the line that signals see.
    line = load if bypassed else load + rk
    least = brentq(lambda v: valve.current(v, 0.0) - current - (vak - v) / line, 0, vak, **EXACT)
    found = {
        "anode-current": current,
        "anode-voltage": supply - current * ra,
        "cathode-voltage": -vgk,
        "across": vak,
        "gain": gain,
        "gain-bypassed": gains[0],
        "gain-unbypassed": gains[1],
        "output-resistance": stage(bypassed, False, 0.0).solve("a")["a"],
        "input-capacitance": capacitance,
        "input-corner": 1 / (2 * pi * inputs["source"] * capacitance),
        "headroom-up": current * load,
        "headroom-down": (vak - least) / line * load,
        "gm": gm,
        "ra": 1 / ga,
        "mu": gm / ga,
        "anode-power": vak * current,
        "cold": supply,
    }
    if bypassed:
        # What the capacitor sees is its pole; without the valve, its zero.
        seen = stage(False, True, 0.0).solve("k")["k"]
        farads = inputs["bypass-capacitor"]
        found["bypass-corner"] = 1 / (2 * pi * seen * farads)
        found["bypass-foot"] = 1 / (2 * pi * rk * farads)
        found["shelf"] = 20 * log10(gains[0] / gains[1])
    return found


def limits(inputs):
    valve = inputs["valve"]
    return {
        **at_most("Anode dissipation", "anode-power", limit(valve, "anode-power")),
        **at_most("Anode while the valve is cold", "cold", limit(valve, "anode-voltage")),
    }


def standings(inputs):
    found = answers(inputs)
    point = found["across"], 0.0, found["anode-current"]
    return fitted_to(rows(inputs["valve"]), point)
