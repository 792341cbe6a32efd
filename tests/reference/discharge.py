"""Capacitors emptied by a resistor: the course of the voltage, solved for its time and integrated for its energy.

Up to 15 % of the voltage may come back; 60 V may be touched by dry, whole skin; a resistor bears five seconds of its rating as
a pulse (the page on the discharge resistor).
"""

import math

from scipy import integrate, optimize


def answers(i):
    farads = i["reservoir"] + i["second"] + i["others"]
    contradicted = []
    if i["target"] >= i["voltage"]:
        contradicted.append("target")
    if farads <= 0.0:
        contradicted.append("reservoir")
    if contradicted:
        return {"refused": contradicted}
    first = i["voltage"]
    constant = i["resistor"] * farads

    def share_left(constants):
        return math.exp(-constants)

    target = i["target"] / first
    constants = optimize.brentq(lambda n: share_left(n) - target, 0.0, 20.0, xtol=1e-15, rtol=1e-14)
    # In the resistor, v² / R over all of the time, counted in time constants.
    squares, _ = integrate.quad(lambda n: share_left(n) ** 2, 0.0, 40.0, epsabs=0.0, epsrel=1e-11, limit=200)
    return {
        "time": constants * constant,
        "energy": first**2 / i["resistor"] * constant * squares,
        "first": first * (first / i["resistor"]),
        "constant": constant,
        "capacitance": farads,
        "highest": first,
        "recovered": 0.15 * first,
    }


def limits(i):
    return {
        "Resistor, energy of the pulse": {"answer": "energy", "limit": 5.0 * i["rating"], "side": "most"},
        "Resistor, voltage": {"answer": "highest", "limit": i["body"], "side": "most"},
        "What may come back": {"answer": "recovered", "limit": 60.0, "side": "most"},
    }


def standings(i):
    # Ten watts do for any supply; less, where the margins of volts and capacitance stay low.
    return {"Resistor, rating": "within"} if i["rating"] >= 10.0 else {}


def floors(i):
    # Near the target the time is the logarithm of almost one, which keeps few figures.
    return {"time": 1e-12 * i["resistor"] * (i["reservoir"] + i["second"] + i["others"])}
