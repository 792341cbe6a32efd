"""Lead order: the loop of feedback round the output stage. The divider is solved as a circuit, the output stage as two
valves on the halves of an ideal transformer."""

import math

import numpy
from rc import CHASSIS, Circuit
from scipy.optimize import brentq
from track import NoLaw, Track
from valve_model import Pentode

# The grid is looked for from here to 0 V.
LOWEST_GRID = -300.0


def master(inputs, track, share):
    """At the wiper, of the inverter's voltage with nothing on it."""
    if share <= 0.0:
        return 0.0
    circuit = Circuit()
    circuit.source("inverter", 1.0)
    circuit.resistor("inverter", "hot", inputs["inverter"])
    circuit.resistor("hot", "wiper", (1.0 - share) * track.resistance)
    circuit.resistor("wiper", CHASSIS, share * track.resistance)
    circuit.resistor("wiper", CHASSIS, inputs["safe"])
    return circuit.solver()()["wiper"]


def share_of(inputs, track, wanted):
    """The share below the wiper for this share of the inverter's voltage; more than 1 where there is none."""
    def over(share):
        return master(inputs, track, share) - wanted
    if over(1.0) < 0.0:
        return 2.0
    return brentq(over, 0.0, 1.0, xtol=1e-16, rtol=1e-14)


def output_gain(inputs, gm, ra):
    """From the grids, 1 V on one and −1 V on the other, to the speaker: 1 V is what each grid gets."""
    valves, half = inputs["valves"], math.sqrt(inputs["primary"] / inputs["load"]) / 2.0
    g, own = valves * gm, valves / ra
    # Unknown: both anodes, the speaker, and the current out of each anode into its half of the primary.
    system = numpy.array([
        [own, 0.0, 0.0, 1.0, 0.0],
        [0.0, own, 0.0, 0.0, 1.0],
        [1.0, 0.0, half, 0.0, 0.0],
        [0.0, 1.0, -half, 0.0, 0.0],
        # The two halves give the load what they take.
        [0.0, 0.0, 1.0 / inputs["load"], half, -half],
    ])
    return numpy.linalg.solve(system, [-g, g, 0.0, 0.0, 0.0])[2]


def slopes(inputs):
    """Slope in A/V and anode resistance in Ω at idle; nothing where the model does not come to that current."""
    if inputs["valve"] == "typed":
        return inputs["gm"], inputs["ra"]
    model = Pentode(inputs["_models"][inputs["valve"]])
    anode, screen = inputs["anode-voltage"], inputs["screen-voltage"]

    def over(grid):
        return model.currents(anode, screen, grid)[0] - inputs["idle-current"]
    if over(LOWEST_GRID) > 0.0 or over(0.0) < 0.0:
        return None
    grid = brentq(over, LOWEST_GRID, 0.0, xtol=1e-13, rtol=1e-14)
    gm, conductance = model.slopes(anode, screen, grid)
    # At one anode current the valve's slopes go with it; the sheet's gm and ra lie apart from the model's.
    gm *= inputs["gm-share"] * inputs["slope-share"]
    conductance *= inputs["slope-share"] / inputs["ra-share"]
    # An anode resistance of more than 1 GΩ counts for nothing beside any transformer.
    return gm, 1.0 / max(conductance, 1e-9)


def answers(inputs):
    try:
        track = Track(inputs)
    except NoLaw as flaw:
        return {"refused": str(flaw)}
    known = slopes(inputs)
    if known is None:
        return {"refused": "idle-current"}
    gm, ra = known
    gain = output_gain(inputs, gm, ra)
    beta = inputs["lower"] / (inputs["lower"] + inputs["feedback"])
    lossless = beta * inputs["inverter-gain"] * gain
    here = lossless * master(inputs, track, track.share(inputs["knob"] / 10.0))
    full = lossless * master(inputs, track, track.full_up)
    howls = track.first_at(share_of(inputs, track, 1.0 / lossless)) if full >= 1.0 else 1.0
    return {
        "loop": here,
        "loop-full": full,
        "howls-from": 10.0 * howls,
        "rise": 20.0 * math.log10(1.0 + here),
        "left": 1.0 - here,
        "gm": gm,
        "output-gain": gain,
        "beta": beta,
    }


def limits(_inputs):
    """It howls where the loop gain comes to 1."""
    return {"Swapped leads, at this setting": {"answer": "loop", "limit": 1.0, "side": "most"}}


def floors(inputs):
    """What is left until T is 1: the millionth is T's."""
    return {"left": 1e-6 * answers(inputs).get("loop", 0.0)}
