"""A filament lamp in series with an amplifier: where their two characteristics cross.

The lamp's current rises with the power 0.55 of its voltage, from its marking; cold it has a fifteenth of its hot resistance
and never less (the page on the lamp and its sources). The amplifier is a resistor. Electronic lamps limit nothing.
"""

from scipy import optimize

EXPONENT = 0.55
COLD = 1.0 / 15.0


def lamp_current(i, volts):
    rated = i["lamp-power"] / i["lamp-voltage"]
    hot = i["lamp-voltage"] / rated
    return min(rated * (volts / i["lamp-voltage"]) ** EXPONENT, volts / (COLD * hot))


def amplifier_conductance(i):
    if i["amplifier"] == "watts":
        return i["watts"] / i["mains"] ** 2
    return i["current"] / i["mains"]


def answers(i):
    if i["kind"] == "electronic":
        return {}
    mains = i["mains"]
    lamp, at_amplifier = mains, 0.0
    if i["amplifier"] != "short":
        through = amplifier_conductance(i)
        # Sought from both ends, so that the smaller of the two voltages keeps its figures.
        more = lambda volts: lamp_current(i, mains - volts) - through * volts
        at_amplifier = optimize.brentq(more, 0.0, mains, xtol=1e-15 * mains, rtol=1e-14)
        more = lambda volts: lamp_current(i, volts) - through * (mains - volts)
        lamp = optimize.brentq(more, 0.0, mains, xtol=1e-15 * mains, rtol=1e-14)
    drawn = lamp_current(i, lamp)
    share = at_amplifier / mains
    return {
        "amplifier-voltage": at_amplifier,
        "share": share,
        "lamp-voltage": lamp,
        "drawn": drawn,
        "lamp-heat": lamp * drawn,
        "heater": 6.3 * share,
        "short": mains,
    }


def limits(i):
    if i["kind"] == "electronic":
        return {}
    marked = i["lamp-voltage"]
    return {"Lamp, if the amplifier is shorted": {"answer": "short", "limit": marked, "side": "most"}}


def standings(i):
    return {"Lamp": "beyond"} if i["kind"] == "electronic" else {}
