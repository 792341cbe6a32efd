"""Grid leaks: a network of the bias source, its leaks and its grids, with a current drawn at every grid.

All valves draw alike; the sheet's maximum is for one valve. Limits from the valve table, habits from the page on grid leaks.
"""

import math

import numpy

import valve_table

HABITS = {"EL34": 220e3, "6L6GC": 220e3, "5881": 220e3, "6550": 150e3, "6550A": 150e3, "KT88": 150e3}
DESIGNS = (("", "grid-circuit", ""), (", other design", "other-grid-circuit", "other-"))


def fixed(i):
    return i["bias"] == "fixed"


def bias_source(i):
    return i["bias-source"] if fixed(i) else 0.0


def grid_circuit(i, leak):
    """How far one grid moves for each ampere that every grid draws, by a network of resistances in impedance form."""
    valves, on_leak = i["valves"], i["valves-on-leak"]
    moves = numpy.zeros((valves, valves))
    for one in range(valves):
        for other in range(valves):
            # What the paths of two grids' currents to chassis have in common.
            moves[one, other] += bias_source(i)
            if one // on_leak == other // on_leak:
                moves[one, other] += leak
            if one == other:
                moves[one, other] += i["stopper"]
    return float((moves @ numpy.ones(valves))[0])


def sheet_limit(i, design):
    if i[design + "valve"] == "typed":
        return i[design + ("limit-fixed" if fixed(i) else "limit-cathode")]
    return valve_table.limit(i[design + "valve"], "grid-circuit-fixed" if fixed(i) else "grid-circuit-self")


def answers(i):
    valves, on_leak = i["valves"], i["valves-on-leak"]
    leaks = valves / on_leak
    # One leak has all valves on it, or each of two sides has as many leaks.
    if leaks != 1.0 and leaks % 2.0 != 0.0:
        return {"refused": "valves"}
    design, other = (grid_circuit(i, i[leak]) for leak in ("leak", "other-leak"))
    lost = i["grid-current"] * design
    a_side = 1 if leaks == 1.0 else round(leaks / 2.0)
    load = 1.0 / sum(1.0 / i["leak"] for _ in range(a_side))
    recovery = i["coupling"] * (load + i["inverter"])
    limit = sheet_limit(i, "")
    largest = None
    if limit is not None:
        # The circuit grows with the leak along a straight line.
        none, one = grid_circuit(i, 0.0), grid_circuit(i, 1e6)
        largest = max((limit - none) / ((one - none) / 1e6), 0.0)
    return {
        "grid-circuit": design,
        "largest-leak": largest,
        "bias-lost": lost,
        "bias-left": i["bias-voltage"] + lost if fixed(i) else None,
        "current-rise": i["gm"] * lost,
        "inverter-load": load,
        "loss": 20.0 * math.log10((load + i["inverter"]) / load),
        "corner": 1.0 / (2.0 * math.pi * recovery),
        "recovery": recovery,
        "other-grid-circuit": other,
        "other-current-rise": i["other-gm"] * i["grid-current"] * other,
    }


def limits(i):
    bias = "fixed bias" if fixed(i) else "cathode bias"
    compared = {
        "Bass corner": {"answer": "corner", "limit": i["highest-corner"], "side": "most"},
        "Loss of drive": {"answer": "loss", "limit": i["most-loss"], "side": "most"},
    }
    for whose, answer, design in DESIGNS:
        about = f"Grid circuit, {bias}{whose}"
        compared[about] = {"answer": answer, "limit": sheet_limit(i, design), "side": "most"}
    return compared


def standings(i):
    said = {}
    for whose, _, design in DESIGNS:
        habit = HABITS.get(i[design + "valve"])
        if habit is not None and fixed(i):
            usual = i[design + "leak"] * i["valves-on-leak"] <= habit
            said[f"Leak, by common practice{whose}"] = "within" if usual else "beyond"
    return said


def floors(i):
    # Both are differences that may come out near nothing.
    limit = sheet_limit(i, "")
    return {
        "largest-leak": 1e-9 * (limit or 0.0),
        "bias-left": 1e-9 * abs(i["bias-voltage"]) if fixed(i) else 0.0,
    }
