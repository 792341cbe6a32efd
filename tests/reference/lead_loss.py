"""A screened lead between a control and a grid: the wiper's worst place sought, not derived.

The wiper sees what lies above it, with what drives the track, beside what lies below it. Core to screen counts once; another
core that moves as far the other way counts twice.
"""

import math

from scipy import optimize


def beside(a, b):
    return a * b / (a + b)


def behind_the_wiper(i):
    if i["from"] == "typed":
        return i["resistance"]
    drive, track = i["drive"], i["track"]

    def seen(place):
        below = track * place
        return beside(drive + track - below, below) if below > 0.0 else 0.0

    inside = optimize.minimize_scalar(lambda place: -seen(place), bounds=(0.0, 1.0), method="bounded",
                                      options={"xatol": 1e-10})
    # The upper end is no inner maximum.
    return beside(max(seen(1.0), -inside.fun), i["fail-safe"])


def a_metre(i):
    between = 2.0 * i["core-core"] if i["lead"] == "pair" else 0.0
    return i["core-screen"] + between


def loss(resistance, farads, hertz):
    x = 2.0 * math.pi * hertz * resistance * farads
    return 10.0 * math.log1p(x * x) / math.log(10.0)


def answers(i):
    resistance, metre = behind_the_wiper(i), a_metre(i)
    lead = metre * i["length"]
    farads = lead + i["input"]
    over = lambda length: loss(resistance, metre * length + i["input"], i["frequency"]) - i["most-loss"]
    longest, far = 0.0, 1.0
    if over(0.0) < 0.0:
        while over(far) < 0.0:
            far *= 10.0
        longest = optimize.brentq(over, 0.0, far, xtol=1e-16, rtol=1e-14, maxiter=500)
    return {
        "source-resistance": resistance,
        "lead-capacitance": lead,
        "corner": 1.0 / (2.0 * math.pi * resistance * farads),
        "loss-5": loss(resistance, farads, 5e3),
        "loss-10": loss(resistance, farads, 10e3),
        "loss-15": loss(resistance, farads, 15e3),
        "loss": loss(resistance, farads, i["frequency"]),
        "longest": longest,
    }


def limits(i):
    return {"Loss of treble": {"answer": "loss", "limit": i["most-loss"], "side": "most"}}


def floors(i):
    # What the valve leaves for the lead is a difference.
    return {"longest": 1e-9 * i["input"] / a_metre(i)}
