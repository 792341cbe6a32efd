"""The law of a control in its circuit: a driver with its resistance, the track, and what hangs from the wiper to the low
end, solved as a circuit. Settings of a given level by the quadratic that the divider's equation is in x."""

import math

from rc import CHASSIS, Circuit
from scipy.optimize import brentq
from track import NoLaw, Track


def decibels(ratio):
    return 20.0 * math.log10(ratio)


class Stage:
    def __init__(self, inputs, track):
        self.track, self.driver = track.resistance, inputs["driver"]
        hung = [inputs["load"]] if inputs["loaded"] == "yes" else []
        hung += [inputs["shunt"]] if inputs["shunted"] == "yes" else []
        self.hung = hung
        self.full_up = track.full_up

    def circuit(self, share):
        circuit = Circuit()
        circuit.source("driver", 1.0)
        circuit.resistor("driver", "hot", self.driver)
        circuit.resistor("hot", "wiper", (1.0 - share) * self.track)
        circuit.resistor("wiper", CHASSIS, share * self.track)
        for ohms in self.hung:
            circuit.resistor("wiper", CHASSIS, ohms)
        return circuit

    def output(self, share):
        """At the wiper, of the driver's voltage with nothing on it."""
        return self.circuit(share).solver()()["wiper"] if share > 0.0 else 0.0

    def fraction(self, share):
        return self.output(share) / self.output(self.full_up)

    def source(self, share):
        """What one ampere into the wiper raises it by, the driver at rest."""
        circuit = self.circuit(share)
        circuit.current("wiper", 1.0)
        return circuit.solver()(sources={"driver": 0.0}).get("wiper", 0.0)

    def share_of_level(self, level):
        """Where the output is so far below full up. With a = x R_P and all hung from the wiper G: v = a / (a (1 + G R_1) +
        R_1), R_1 = R_d + R_P − a, is quadratic in a."""
        wanted = self.output(self.full_up) * 10.0 ** (level / 20.0)
        hung = sum(1.0 / ohms for ohms in self.hung)
        over = self.driver + self.track
        # v (a + (over − a)(1 + a G)) = a, so that v G a² + (1 − v G over) a − v over = 0.
        a2, a1, a0 = wanted * hung, 1.0 - wanted * hung * over, -wanted * over
        root = math.sqrt(a1 * a1 - 4.0 * a2 * a0)
        # The root that does not cancel; a is above nothing.
        part = 2.0 * -a0 / (a1 + root) if a1 >= 0.0 else (root - a1) / (2.0 * a2)
        return part / self.track

    def worst_share(self):
        """Where as much lies above the wiper as below it, or full up."""
        def over(share):
            return (self.driver + (1.0 - share) * self.track) - share * self.track
        return brentq(over, 0.0, 1.0, xtol=1e-15, rtol=1e-15) if over(1.0) < 0.0 else 1.0


def answers(inputs):
    try:
        track = Track(inputs)
    except NoLaw as flaw:
        return {"refused": str(flaw)}
    stage, angle, rotation = Stage(inputs, track), inputs["angle"], inputs["knob"] / 10.0
    share = track.share(rotation)

    def level_at(turned):
        if not 0.0 <= turned <= 1.0 or track.share(turned) <= 0.0:
            return None
        return decibels(stage.fraction(track.share(turned)))

    found = {}
    here = level_at(rotation)
    if here is not None:
        found["level"] = here
        found["level-made"] = decibels(share / track.full_up)
        up, down = level_at(rotation + 1.0 / angle), level_at(rotation - 1.0 / angle)
        if up is not None:
            found["feel-up"] = up - here
        if down is not None:
            found["feel-down"] = here - down
    at_40, at_6 = (track.first_at(stage.share_of_level(level)) for level in (-40.0, -6.0))
    worst = min(stage.worst_share(), track.full_up)
    found |= {
        "fraction": stage.fraction(share),
        "share": share,
        "knob-at-40": 10.0 * at_40,
        "knob-at-6": 10.0 * at_6,
        "range": (at_6 - at_40) * angle,
        "source": stage.source(share) if share > 0.0 else 0.0,
        "worst-source": stage.source(worst),
        "worst-source-at": 10.0 * track.first_at(worst),
        "loss": decibels(stage.output(track.full_up)),
    }
    below = 1.0 / (track.full_up * track.resistance) + sum(1.0 / ohms for ohms in stage.hung)
    found["driver-load"] = 1.0 / below
    if inputs["gangs"] == "two":
        apart = inputs["mismatch"]
        other = share * 10.0 ** (-apart / 20.0)
        # At its ends the wiper rests on metal.
        ratio = stage.output(share) / stage.output(other) if 0.0 < share < 1.0 else 1.0
        found |= {"tracking": apart, "balance": decibels(ratio), "balance-ratio": ratio}
    return found


def limits(inputs):
    """The table of two gangs: by the sheets 4 dB for linear and 3 dB for other laws down to 20 dB, and by a seller 3 dB for
    audio down to 40."""
    found = answers(inputs)
    if "tracking" not in found:
        return {}
    law = inputs["law"]
    most, down_to = {"linear": (4.0, -20.0), "reverse": (3.0, -20.0)}.get(law, (3.0, -40.0))
    promised = found.get("level-made", -math.inf) >= down_to
    return {"Gang matching": {"answer": "tracking", "limit": most if promised else None, "side": "most"}}


def floors(_inputs):
    """Differences of two levels or two places, of whose digits few may be left."""
    return {"feel-up": 1e-9, "feel-down": 1e-9, "range": 1e-9}
