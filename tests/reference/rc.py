"""Circuits of resistors and capacitors by nodal analysis.

Kirchhoff's current law at every node: (G + jωC) v = i, solved by numpy. A source holds its node at a voltage; what is
joined by 0 Ω is one node.
"""

import numpy

CHASSIS = "chassis"


class Circuit:
    """Parts between named nodes, in Ω, F, V, A."""

    def __init__(self):
        self.resistors, self.capacitors, self.currents = [], [], []
        self.held = {CHASSIS: 0.0}
        self.joined = {}

    def one(self, node):
        """The node that this one is joined to by 0 Ω; itself if to none."""
        while node in self.joined:
            node = self.joined[node]
        return node

    def resistor(self, a, b, ohms):
        if ohms > 0.0:
            self.resistors.append((a, b, 1.0 / ohms))
        elif self.one(a) != self.one(b):
            # A held node stays what it is called.
            first, second = (a, b) if self.one(a) in self.held else (b, a)
            self.joined[self.one(second)] = self.one(first)

    def capacitor(self, a, b, farads):
        if farads > 0.0:
            self.capacitors.append((a, b, farads))

    def source(self, node, volts):
        self.held[self.one(node)] = volts

    def current(self, into, amperes):
        self.currents.append((into, amperes))

    def solver(self):
        """A function from ω and the voltages of held nodes that differ, to the voltages of all nodes, by name."""
        named = {node for part in self.resistors + self.capacitors for node in part[:2]}
        named |= set(self.held) | {into for into, _ in self.currents} | set(self.joined)
        free = sorted({self.one(node) for node in named} - set(self.held))
        place = {node: at for at, node in enumerate(free)}
        held = sorted(self.held)

        def matrix(parts):
            square = numpy.zeros((len(free), len(free)))
            to_held = numpy.zeros((len(free), len(held)))
            for a, b, admittance in parts:
                a, b = self.one(a), self.one(b)
                for here, there in ((a, b), (b, a)):
                    if here in place and here != there:
                        square[place[here], place[here]] += admittance
                        if there in place:
                            square[place[here], place[there]] -= admittance
                        else:
                            to_held[place[here], held.index(there)] += admittance
            return square, to_held

        conductances, conductances_to = matrix(self.resistors)
        capacitances, capacitances_to = matrix(self.capacitors)
        injected = numpy.zeros(len(free))
        for into, amperes in self.currents:
            if self.one(into) in place:
                injected[place[self.one(into)]] += amperes

        def solve(omega=0.0, sources=None):
            volts = numpy.array([{**self.held, **(sources or {})}[node] for node in held])
            left, right = conductances, conductances_to @ volts + injected
            if omega:
                left = left + 1j * omega * capacitances
                right = right + 1j * omega * (capacitances_to @ volts)
            found = dict(zip(free, numpy.linalg.solve(left, right)))
            found.update(zip(held, volts))
            return {node: found[self.one(node)] for node in named}

        return solve
