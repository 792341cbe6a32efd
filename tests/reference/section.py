"""A triode as a stage has it: what its inputs say of it."""

from scipy.optimize import brentq

from valve_model import SHUT, Triode, fitted

# For brentq: as near as numbers go.
EXACT = {"xtol": 1e-300, "rtol": 8.9e-16, "maxiter": 1000}
# The book looks for the grid of a current no further up than this, V.
HIGHEST_GRID = 100.0


class Section(Triode):
    """The triode of a stage, as its inputs have it. Its slopes go with its current: they are the model's where that draws
    as much, times what the inputs say of the slopes themselves."""

    def __init__(self, inputs):
        super().__init__(fitted(inputs), inputs["model-share"] * inputs["valve-share"])
        self.inputs = inputs

    def slopes(self, va, vg):
        if "gm-share" not in self.inputs:
            return super().slopes(va, vg)
        model, drawn = Triode(fitted(self.inputs)), self.current(va, vg)
        if drawn < SHUT or model.current(va, HIGHEST_GRID) < drawn:
            return 0.0, 0.0
        grid = brentq(lambda grid: model.current(va, grid) - drawn, -500.0, HIGHEST_GRID, **EXACT)
        gm, ga = model.slopes(va, grid)
        steeper = self.inputs["gm-share"] * self.inputs["valve-gm"]
        return gm * steeper, ga * steeper / (self.inputs["mu-share"] * self.inputs["valve-mu"])
