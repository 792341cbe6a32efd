"""Another mains: windings in proportion, output valves by their model, from content/8-supply/1-todays-mains.md.

The model is moved along its grid until it draws at the marked mains what was read; what it gains from there on, times the
slope's share, is added to the reading. A cathode resistor, of bias over current, makes the bias that its current makes.
"""

from scipy.optimize import brentq

from section import EXACT
from valve_model import Pentode, fitted
from valve_table import limit, rows
from verdict import at_most, fitted_to

LOWEST_GRID = -300.0


def answers(inputs):
    return worked_out(inputs)[0]


def worked_out(inputs):
    """The answers, and where the valve then stands: anode and screen volts, anode current."""
    share = inputs["measured"] / inputs["marked"]
    found = {
        "bias": inputs["bias"] * share,
        "heater": inputs["heater"] * share,
        "ht": inputs["ht"] * share,
        "share": share,
        "off": abs(inputs["measured"] - inputs["marked"]) / inputs["marked"],
    }
    if inputs["output"] == "none" or fitted(inputs) is None:
        return found, None
    model = Pentode(fitted(inputs))
    bias, read = inputs["bias"], inputs["idle"]
    cathode_bias = inputs["output"] == "cathode"
    # The cathode's volts from the chassis.
    lift = -bias if cathode_bias else 0.0
    anode, screen = inputs["ht"], inputs["screen"]
    if min(anode, screen) <= lift:
        return {"refused": "bias"}, None
    over = lambda grid: model.cathode(anode - lift, screen - lift, grid) - read
    if over(0.0) < 0 or over(LOWEST_GRID) > 0:
        return {"refused": "idle"}, None
    moved = brentq(over, LOWEST_GRID, 0.0, **EXACT) - bias

    def now(grid, lift):
        """The cathode's and the anode's current, and the anode's volts."""
        volts = (share * anode - lift, share * screen - lift, grid + moved)
        flows = model.cathode(*volts)
        slope = inputs["slope"] * inputs.get("gm-share", 1.0)
        cathode = max(read + slope * (flows - read), 0.0)
        at_anode, on_screen = model.currents(*volts)
        on_screen *= inputs.get("screen-share", 1.0)
        part = at_anode / (at_anode + on_screen) if flows > 0 else 1.0
        return cathode, cathode * part, volts[0]

    if cathode_bias:
        resistor = lift / read
        over = lambda volts: now(-volts, volts)[0] * resistor - volts
        most = share * min(anode, screen)
        if over(0.0) < 0 or over(most) > 0:
            return {"refused": "bias"}, None
        lift = brentq(over, 0.0, most, **EXACT)
        found["bias"] = -lift
        cathode, at_anode, volts = now(-lift, lift)
    else:
        cathode, at_anode, volts = now(share * bias, 0.0)
    found.update({"idle": cathode, "anode-power": volts * at_anode})
    return found, (volts, share * screen - lift, at_anode)


def limits(inputs):
    found = at_most("Mains", "off", 0.1)
    if inputs["output"] != "none" and fitted(inputs) is not None:
        rating = limit(inputs["valve"], "anode-power")
        found.update(at_most("Anode dissipation at this mains", "anode-power", rating))
    return found


def standings(inputs):
    if inputs["output"] == "none":
        return {}
    if fitted(inputs) is None:
        return {"Idle current": "cannot tell"}
    return fitted_to(rows(inputs["valve"]), worked_out(inputs)[1])
