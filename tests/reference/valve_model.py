"""The published equations of valves, with their slopes by differentiation.

Triode: N. Koren, "Improved vacuum tube models for SPICE simulations" (1996), without grid current.
Pentode and beam tetrode: D. Reefman, "SPICE models for vacuum tubes using the uTracer" (2016), the form whose screen
takes 1 + alpha_s / (1 + beta V_a) of its share. Both begin with Koren's E1.
Units: V, A, S. An anode or screen at or below its cathode carries nothing.
"""

import numpy as np

# Below this a valve is shut, and what a model of its working currents says is nothing.
SHUT = 1e-6
# A slope below this is none: an anode resistance of a gigohm.
FLAT = 1e-9


class Triode:
    """Koren's triode; `share` multiplies its current."""

    def __init__(self, constants, share=1.0):
        self.share = share
        self.mu, self.x, self.kg1 = constants["mu"], constants["ex"], constants["kg1"]
        self.kp, self.kvb, self.vct = constants["kp"], constants["kvb"], constants["vct"]

    def _drive(self, va, vg):
        """E1, and by how much its inside rises."""
        inside = self.kp * (1 / self.mu + (vg + self.vct) / np.hypot(np.sqrt(self.kvb), va))
        return va / self.kp * np.logaddexp(0, inside), inside

    def current(self, va, vg):
        """Into the anode."""
        if va <= 0:
            return 0.0
        return 2 * self.share / self.kg1 * self._drive(va, vg)[0] ** self.x

    def slopes(self, va, vg):
        """dI/dV_g and dI/dV_a, by the chain rule."""
        e1, inside = self._drive(va, vg)
        if e1 == 0:
            return 0.0, 0.0
        opened = np.exp(-np.logaddexp(0, -inside))
        root = np.hypot(np.sqrt(self.kvb), va)
        by_drive = self.current(va, vg) * self.x / e1
        by_grid = va * opened / root
        by_anode = e1 / va - va * opened * (vg + self.vct) * va / root**3
        return by_drive * by_grid, by_drive * by_anode


class Pentode:
    """Reefman's pentode."""

    def __init__(self, constants, share=1.0):
        self.share = share
        self.mu, self.x, self.kp = constants["mu"], constants["ex"], constants["kp"]
        self.kg1, self.kg2 = constants["kg1"], constants["kg2"]
        self.a, self.alpha_s, self.beta = constants["slope"], constants["alpha_s"], constants["beta"]

    def _space(self, vs, vg):
        """E1 to the power of x, and its slope by the grid."""
        if vs <= 0:
            return 0.0, 0.0
        inside = self.kp * (1 / self.mu + vg / vs)
        e1 = vs / self.kp * np.logaddexp(0, inside)
        opened = np.exp(-np.logaddexp(0, -inside))
        return e1**self.x, (self.x * e1 ** (self.x - 1) * opened if e1 > 0 else 0.0)

    def _parts(self, va):
        """What anode and screen take of it."""
        va = max(va, 0.0)
        shared = 1 / (1 + self.beta * va)
        alpha = 1 - self.kg1 / self.kg2 * (1 + self.alpha_s)
        anode = (1 + self.a * va - alpha * shared) / self.kg1 - (1 + self.alpha_s * shared) / self.kg2
        return max(anode, 0.0), (1 + self.alpha_s * shared) / self.kg2

    def currents(self, va, vs, vg):
        """Into anode and screen."""
        space = self.share * self._space(vs, vg)[0]
        anode, screen = self._parts(va)
        return space * anode, space * screen

    def cathode(self, va, vs, vg):
        """What the cathode carries."""
        return sum(self.currents(va, vs, vg))

    def slopes(self, va, vs, vg):
        """dI_a/dV_g and dI_a/dV_a."""
        space, by_grid = self._space(vs, vg)
        anode, _ = self._parts(va)
        if anode == 0:
            return 0.0, 0.0
        alpha = 1 - self.kg1 / self.kg2 * (1 + self.alpha_s)
        falls = self.beta / (1 + self.beta * va) ** 2
        by_anode = self.a / self.kg1 + (alpha / self.kg1 + self.alpha_s / self.kg2) * falls
        return self.share * by_grid * anode, self.share * space * by_anode


def fitted(inputs):
    """The constants that the book fitted for the valve of these inputs; None where it has none."""
    return inputs["_models"].get(inputs["valve"])
