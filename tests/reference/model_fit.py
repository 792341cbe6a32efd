"""Fits each valve's model to the rows of its sheet, apart from the book's own code, and prints how far the rows lie from it.

    python3 tests/reference/model_fit.py > tests/data/outside/model-margin.toml

Python's standard library alone. The equations are Koren's triode (1996) and Reefman's pentode (2016) as published; the
weights are those that calc-core/src/valve/fit.rs states. Levenberg and Marquardt's method, by the normal equations.
"""

import math
import re
import tomllib
from pathlib import Path

DATA = Path(__file__).parents[2] / "calc-core" / "data"
TRIODE = [0.2, 0.2, 0.5, 1.5, 1.0]
PENTODE = [0.3, 0.2, 0.5, 1.5, 0.8, 3e-4, 0.7, 0.4]
FIGURES = ["anode", "screen", "gm", "ra", "mu"]


def number(text):
    value, unit = re.match(r"(-?[\d.]+)\s*(mA/V|mA|k|V)?", text or "0 V").groups()
    return float(value) * {"mA": 1e-3, "mA/V": 1e-3, "k": 1e3}.get(unit, 1.0)


def drive(attracting, kp, mu, share):
    x = kp * (1 / mu + share)
    return attracting / kp * (x if x > 36 else math.log1p(math.exp(x)))


class Model:
    def __init__(self, at, vct):
        self.at, self.vct = at, vct

    def currents(self, anode, screen, grid):
        if len(self.at) == 5:
            mu, ex, kp, kg1, kvb = (x if i == 1 else math.exp(x) for i, x in enumerate(self.at))
            share = (grid + self.vct) / math.sqrt(kvb + anode * anode)
            return 2 * drive(anode, kp, mu, share) ** ex / kg1, 0.0
        mu, ex, kp, kg1, kg2, a, alpha_s, beta = (
            x if i in (1, 5) else math.exp(x) for i, x in enumerate(self.at)
        )
        space = drive(screen, kp, mu, grid / screen) ** ex
        alpha = 1 - kg1 / kg2 * (1 + alpha_s)
        near = 1 / (1 + beta * anode)
        taken = 1 / kg1 - 1 / kg2 + a * anode / kg1 - (alpha / kg1 + alpha_s / kg2) * near
        return space * max(taken, 0.0), space / kg2 * (1 + alpha_s * near)

    def gm(self, anode, screen, grid):
        ends = [self.currents(anode, screen, grid + step)[0] for step in (1e-4, -1e-4)]
        return (ends[0] - ends[1]) / 2e-4

    def ra(self, anode, screen, grid):
        ends = [self.currents(anode + step, screen, grid)[0] for step in (1e-2, -1e-2)]
        return 2e-2 / (ends[0] - ends[1])

    def grid_for(self, anode, screen, current):
        low, high = -500.0, 100.0
        for _ in range(60):
            middle = (low + high) / 2
            low, high = (middle, high) if self.currents(anode, screen, middle)[0] < current else (low, middle)
        return (low + high) / 2


def misses(at, begin, widths, rows, vct):
    model = Model(at, vct)
    out = [(x - x0) / width for x, x0, width in zip(at, begin, widths)]
    for row in rows:
        volts = row["volts"]
        anode, screen = model.currents(*volts)
        out.append(math.log(anode / row["anode"]) / (0.15 if row["cut-off"] else 0.05))
        if row["screen"]:
            out.append(math.log(screen / row["screen"]) / 0.12)
        if row["gm"]:
            out.append(math.log(model.gm(*volts) / row["gm"]) / 0.1)
        if row["ra"]:
            ra = model.ra(*volts)
            out.append((math.log(ra / row["ra"]) if ra > 0 else 20) / 0.1)
    return out


def solved(matrix, right):
    size = len(right)
    rows = [line[:] + [value] for line, value in zip(matrix, right)]
    for i in range(size):
        best = max(range(i, size), key=lambda k: abs(rows[k][i]))
        rows[i], rows[best] = rows[best], rows[i]
        for k in range(size):
            if k != i:
                part = rows[k][i] / rows[i][i]
                rows[k] = [x - part * y for x, y in zip(rows[k], rows[i])]
    return [rows[i][size] / rows[i][i] for i in range(size)]


def fit(begin, widths, rows, vct):
    at, damping = begin[:], 1e-3
    here = misses(at, begin, widths, rows, vct)
    for _ in range(400):
        columns = []
        for k in range(len(at)):
            step = 1e-9 if k == 5 else 1e-6
            moved = at[:]
            moved[k] += step
            columns.append([(x - y) / step for x, y in zip(misses(moved, begin, widths, rows, vct), here)])
        matrix = [[sum(x * y for x, y in zip(a, b)) for b in columns] for a in columns]
        for k in range(len(at)):
            matrix[k][k] *= 1 + damping
        step = solved(matrix, [-sum(x * y for x, y in zip(a, here)) for a in columns])
        trial = [x + y for x, y in zip(at, step)]
        try:
            there = misses(trial, begin, widths, rows, vct)
            gained = sum(x * x for x in here) - sum(x * x for x in there)
        except (ValueError, OverflowError, ZeroDivisionError):
            gained = -1.0
        if gained > 0:
            at, here, damping = trial, there, damping / 3
            if gained < 1e-13:
                break
        else:
            damping *= 4
            if damping > 1e12:
                break
    return Model(at, vct)


def spans(model, rows):
    """The lowest and highest row over the model, less one; all but the anode current at the row's anode current."""
    off = {figure: [] for figure in FIGURES}
    for row in rows:
        if row["cut-off"]:
            continue
        anode, screen, _ = row["volts"]
        off["anode"].append(row["anode"] / model.currents(*row["volts"])[0] - 1)
        at = (anode, screen, model.grid_for(anode, screen, row["anode"]))
        gm, ra = model.gm(*at), model.ra(*at)
        if row["screen"]:
            off["screen"].append(row["screen"] / model.currents(*at)[1] - 1)
        if row["gm"]:
            off["gm"].append(row["gm"] / gm - 1)
        if row["ra"]:
            off["ra"].append(row["ra"] / ra - 1)
        if row["gm"] and row["ra"]:
            off["mu"].append(row["gm"] * row["ra"] / (gm * ra) - 1)
    return {figure: (min(of), max(of)) for figure, of in off.items() if of}


def main():
    sets = {one["valve"]: one for one in tomllib.loads((DATA / "models.toml").read_text())["set"]}
    print("# How far each sheet's rows lie from its model, worked out by tests/reference/model_fit.py.\n")
    for valve in tomllib.loads((DATA / "valves.toml").read_text())["valve"]:
        begun, points = sets.get(valve["type"]), valve.get("point", [])
        if not begun or not points:
            continue
        rows = [
            {
                "volts": tuple(number(point.get(name)) for name in ("anode", "screen", "grid")),
                "anode": number(point["anode-current"]),
                "screen": number(point.get("screen-current")),
                "gm": number(point.get("gm")),
                "ra": number(point.get("ra")),
                "cut-off": point["class"] == "cut-off",
            }
            for point in points
        ]
        ln, triode = math.log, "kvb" in begun
        kg1 = begun["kg1"] if triode else begun["kg1"] / math.pi
        begin = [ln(begun["mu"]), begun["ex"], ln(begun["kp"]), ln(kg1)]
        begin += [ln(begun["kvb"])] if triode else [ln(16 * kg1), 5e-4, ln(4.0), ln(0.06)]
        model = fit(begin, TRIODE if triode else PENTODE, rows, begun.get("vct", 0.0))
        print(f'["{valve["type"]}"]')
        for figure, (low, high) in spans(model, rows).items():
            print(f"{figure} = [{low:.4f}, {high:.4f}]")
        print()


main()
