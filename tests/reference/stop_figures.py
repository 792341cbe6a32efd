"""At what to switch off, from content/3-output-stage/7-stop-figures.md; the meter's reading by nodes."""

from nodal import Network
from valve_table import limit
from verdict import at_most

# In the meter's lead.
LEAD = 1e6


def ratings(inputs):
    """Anode watts, screen watts and anode volts of the sheet."""
    if inputs["valve"] == "typed":
        return inputs["anode-rating"], inputs["screen-rating"], None
    names = ("anode-power", "screen-power", "anode-voltage")
    return tuple(limit(inputs["valve"], name) for name in names)


def answers(inputs):
    anode, screen, volts = ratings(inputs)
    cathode_bias = inputs["bias-feed"] == "cathode"
    counted = inputs["anode-voltage" if cathode_bias else "highest-voltage"]
    current = None
    if anode is not None:
        current = anode / counted
        if cathode_bias:
            # The screen's part flows in the cathode as well; then a tenth.
            current = 1.1 * (current + inputs["screen-share"] * current)
    found = {
        "cathode-current": current,
        "screen-drop": None if screen is None else 0.5 * screen / inputs["screen-voltage"] * inputs["screen-stopper"],
        "anode-voltage": volts,
        "counted-voltage": counted,
    }
    if cathode_bias:
        return found
    true = inputs["bias-expected"] / inputs["mains-marked"] * inputs["mains-measured"]

    def shown(lead):
        """The meter's own volts, behind feed, leak, stopper and what is in its lead."""
        meter = Network({"feed": true})
        meter.resistor("feed", "meter", inputs["bias-source"] + inputs["grid-leak"] + inputs["grid-stopper"] + lead)
        meter.resistor("meter", "0", inputs["meter-resistance"])
        return meter.solve()["meter"]

    return {
        **found,
        "true-bias": true,
        "bias": shown(0.0),
        "bias-through-1m": shown(LEAD),
        "meter-load": (true - shown(0.0)) / true,
    }


def limits(inputs):
    volts = ratings(inputs)[2]
    if inputs["bias-feed"] == "cathode":
        return at_most("Anode voltage", "counted-voltage", volts)
    return {
        **at_most("Highest anode voltage", "counted-voltage", volts),
        **at_most("The meter’s load on the grid", "meter-load", 0.05),
    }
