"""The master volume after the inverter: both sides as one circuit, every valve with its own stopper and grid, solved node
by node; the grid circuit by what one ampere raises each grid by."""

import math

from rc import CHASSIS, Circuit
from scipy.optimize import brentq, minimize_scalar
from track import NoLaw, Track
from valve_table import limit

MIDDLE = 1e3
METER = 10e6
SIDES = ("A", "B")


def decibels(ratio):
    return 20.0 * math.log10(ratio)


class Stage:
    """What is built; `shares` are those of the two gangs."""

    def __init__(self, inputs, track):
        self.inputs, self.track = inputs, track
        self.topology = inputs["topology"]
        self.valves = inputs["valves"]
        self.place = inputs.get("safe-at", "none")
        self.lead = inputs["lead"] * (inputs["lead-capacitance"] + 2.0 * inputs["core-capacitance"])

    def below(self, share):
        return share * self.track.resistance + self.inputs["end-resistance"]

    def grids(self, circuit, side, from_node):
        """Stoppers, grids and what is soldered to their tags."""
        for valve in range(self.valves):
            grid = f"grid {side}{valve}"
            circuit.resistor(from_node, grid, self.inputs["stopper"])
            circuit.capacitor(grid, CHASSIS, self.inputs["input-capacitance"])
            if self.place == "tag":
                circuit.resistor(grid, "bias", self.inputs["safe"])

    def built(self, shares, with_control=True):
        """The circuit; without its control nothing but fail-safe resistors and leaks holds the grids."""
        i, circuit = self.inputs, Circuit()
        circuit.resistor("bias", CHASSIS, i["bias-source"])
        circuit.capacitor("bias", CHASSIS, i["bias-capacitor"])
        for side, share in zip(SIDES, shares):
            drive, anode, hot, wiper = (f"{what} {side}" for what in ("drive", "anode", "hot", "wiper"))
            above, below = (1.0 - share) * self.track.resistance, self.below(share)
            circuit.source(drive, 0.0)
            circuit.resistor(drive, anode, i["inverter"])
            circuit.capacitor(anode, hot, i["coupling"])
            if self.topology in ("divider", "chassis"):
                if with_control:
                    circuit.resistor(hot, wiper, above)
                    circuit.resistor(wiper, "bias" if self.topology == "divider" else CHASSIS, below)
            else:
                # A rheostat's point before the stopper is the end of the coupling capacitor.
                circuit.resistor(hot, wiper, 0.0)
                if with_control and self.topology in ("across", "instead"):
                    circuit.resistor(wiper, "bias", below)
            screen = CHASSIS if self.topology in ("bridge", "chassis") else "bias"
            circuit.capacitor(wiper, screen, self.lead)
            socket = wiper
            if self.topology == "chassis":
                socket = f"socket {side}"
                circuit.capacitor(wiper, socket, i["second-coupling"])
            if self.topology in ("across", "bridge", "chassis"):
                circuit.resistor(socket, "bias", i["leak"])
            if self.place in ("pot", "socket"):
                circuit.resistor(wiper, "bias", i["safe"])
            self.grids(circuit, side, socket)
        if self.topology == "bridge":
            circuit.resistor("wiper A", "wiper B", self.below(shares[0]))
        return circuit

    def heard(self, shares, drives=(1.0, -1.0)):
        """The level of grid A over the frequency, of the inverter's voltage with nothing on it."""
        solve = self.built(shares).solver()
        sources = dict(zip(("drive A", "drive B"), drives))
        return lambda frequency: abs(solve(2.0 * math.pi * frequency, sources)["grid A0"])

    def level(self, share, frequency=MIDDLE):
        return decibels(self.heard((share, share))(frequency))

    def before(self):
        """As it was: coupling capacitors, leaks, stoppers and valves alone."""
        i, circuit = self.inputs, Circuit()
        circuit.source("drive", 1.0)
        circuit.resistor("drive", "anode", i["inverter"])
        circuit.capacitor("anode", "socket", i["coupling"])
        circuit.resistor("socket", CHASSIS, i["leak"])
        for valve in range(self.valves):
            circuit.resistor("socket", f"grid {valve}", i["stopper"])
            circuit.capacitor(f"grid {valve}", CHASSIS, i["input-capacitance"])
        return decibels(abs(circuit.solver()(2.0 * math.pi * MIDDLE)["grid 0"]))

    def corner(self, share, upward):
        """Where half the power of 1 kHz is left, the first such frequency from there."""
        heard = self.heard((share, share))
        wanted = heard(MIDDLE) / math.sqrt(2.0)
        step = 1.25 if upward else 1.0 / 1.25
        inside = MIDDLE
        while heard(inside * step) >= wanted:
            inside *= step
        over = lambda logarithm: heard(math.exp(logarithm)) - wanted
        return math.exp(brentq(over, math.log(inside), math.log(inside * step), xtol=1e-13, rtol=1e-14))

    def load(self, share):
        """What each side of the inverter sees at 1 kHz: voltage over current at its anode."""
        sources = {"drive A": 1.0, "drive B": -1.0}
        volts = self.built((share, share)).solver()(2.0 * math.pi * MIDDLE, sources)
        current = (volts["drive A"] - volts["anode A"]) / self.inputs["inverter"]
        return abs(volts["anode A"] / current)

    def grid_circuit(self, share, with_control=True):
        """What the same direct current out of every grid raises one of them by, for each ampere."""
        circuit = self.built((share, share), with_control)
        circuit.capacitors = []
        for side in SIDES:
            # The other side of a coupling capacitor is another circuit.
            circuit.resistor(f"hot {side}", f"wiper {side}", 1e6)
            if self.topology == "chassis":
                circuit.resistor(f"wiper {side}", CHASSIS, 1e6)
            for valve in range(self.valves):
                circuit.current(f"grid {side}{valve}", 1.0)
        return circuit.solver()()["grid A0"]

    def lifted_reading(self):
        """What a meter to chassis at one grid reads, with nothing left but the fail-safe resistors."""
        i, circuit = self.inputs, Circuit()
        circuit.source("supply", i["bias-voltage"])
        circuit.resistor("supply", "bias", i["bias-source"])
        for valve in range(self.valves):
            circuit.resistor("wiper", f"grid {valve}", i["stopper"])
            if self.place == "tag":
                circuit.resistor(f"grid {valve}", "bias", i["safe"])
        if self.place != "tag":
            circuit.resistor("wiper", "bias", i["safe"])
        circuit.resistor("grid 0", CHASSIS, METER)
        return circuit.solver()()["grid 0"]

    def used(self):
        """Heat and current in a rheostat's used part at the inverter's highest swing, each at its own worst knob."""
        i = self.inputs
        sides = 2.0 if self.topology == "bridge" else 1.0
        swing, inverter = sides * i["swing"], sides * i["inverter"]
        across = math.inf
        if self.topology in ("across", "bridge"):
            across = sides * i["leak"]
        elif self.place == "tag":
            across = (i["safe"] + i["stopper"]) / self.valves
        elif self.place in ("pot", "socket"):
            across = i["safe"]

        def volts(part):
            whole = 1.0 / (1.0 / part + 1.0 / across)
            return swing * whole / (inverter + whole)
        least, most = self.below(self.track.share(0.0)), self.below(self.track.full_up)
        ends = [volts(part) ** 2 / part for part in (least, most)]
        if most > least:
            logarithms = math.log(least), math.log(most)
            best = minimize_scalar(lambda x: -volts(math.exp(x)) ** 2 / math.exp(x), bounds=logarithms,
                                   method="bounded", options={"xatol": 1e-9})
            ends.append(-best.fun)
        return max(ends), volts(least) / least


def answers(inputs):
    try:
        track = Track(inputs)
    except NoLaw as flaw:
        return {"refused": str(flaw)}
    stage = Stage(inputs, track)
    topology, place, rotation = stage.topology, stage.place, inputs["knob"] / 10.0
    share, top, step = track.share(rotation), track.full_up, 1.0 / inputs["angle"]
    here, full = stage.level(share), stage.level(top)
    marks = [track.share(mark / 10.0) for mark in range(11)]
    at_zero = track.share(0.0)
    left = stage.heard((at_zero, at_zero), (1.0, -(1.0 - inputs["imbalance"])))(MIDDLE)
    along = inputs["swing"] * (2.0 if topology == "bridge" else 1.0)
    found = {
        "gain": here,
        "below-full": here - full,
        "change": full - stage.before(),
        "bass": stage.corner(share, upward=False),
        "treble": stage.corner(share, upward=True),
        "grid-circuit": stage.grid_circuit(share),
        "grid-circuit-most": max(stage.grid_circuit(share) for share in marks),
        "load": stage.load(share),
        "load-least": min(stage.load(share) for share in marks),
        "residual": decibels(left) - full,
        "track-voltage": along,
        "track-power": along * along / track.resistance,
    }
    if topology in ("divider", "instead") and place != "none":
        safe = inputs["safe"]
        side = (safe + inputs["stopper"]) / stage.valves if place == "tag" else safe
        found["full-up-track"] = track.resistance * side / (track.resistance + side)
        found["grid-circuit-lifted"] = stage.grid_circuit(share, with_control=False)
        found["lifted-reading"] = stage.lifted_reading()
    if topology in ("across", "instead", "bridge"):
        found["used-power"], found["used-current"] = stage.used()
    if topology != "bridge":
        # The wiper rests on metal at both ends.
        other = share * 10.0 ** (-inputs["mismatch"] / 20.0)
        found["balance"] = here - stage.level(other) if 0.0 < share < 1.0 else 0.0
    if rotation + step <= 1.0:
        found["feel-up"] = stage.level(track.share(rotation + step)) - here
    if rotation - step >= 0.0:
        found["feel-down"] = here - stage.level(track.share(rotation - step))
    return found


def limits(inputs):
    topology, judgements = inputs["topology"], {}

    def judged(about, answer, most):
        judgements[about] = {"answer": answer, "limit": most, "side": "most"}
    fixed = inputs["limit-fixed"] if inputs["valve"] == "typed" else limit(inputs["valve"], "grid-circuit-fixed")
    judged("Grid circuit, highest at any setting", "grid-circuit-most", fixed)
    if topology in ("divider", "instead") and inputs["safe-at"] != "none":
        judged("Grid circuit, wiper lifted", "grid-circuit-lifted", fixed)
    judged("Voltage along the track", "track-voltage", inputs["element-voltage"])
    power = inputs["element-power"]
    if topology in ("across", "instead", "bridge"):
        # The current that its watts are in the whole track.
        current = math.sqrt(power / Track(inputs).resistance)
        judged("Heat in the used part of the track", "used-power", power)
        judged("Current in the used part of the track", "used-current", current)
    else:
        judged("Heat in the track", "track-power", power)
    return judgements


def floors(_inputs):
    """Differences of two levels, of whose digits few may be left."""
    return {"feel-up": 1e-9, "feel-down": 1e-9}
