"""A sine over a resistor, from definitions: RMS, power, and levels.

0 dBV is one volt; 0 dBu is the voltage of one milliwatt in 600 ohms. A square wave of the same peak, which is the worst that
overdrive comes to, has twice the power of the sine.
"""

import math

from scipy import integrate


def rms_of_a_sine(peak):
    """The root of the mean of the squares over a turn."""
    squares, _ = integrate.quad(lambda angle: (peak * math.sin(angle)) ** 2, 0.0, 2.0 * math.pi)
    return math.sqrt(squares / (2.0 * math.pi))


def answers(i):
    peak_to_peak = i["how"] == "peak-to-peak"
    volts = rms_of_a_sine(i["voltage"] / 2.0) if peak_to_peak else i["voltage"]
    watts = volts**2 / i["load"]
    zero_dbu = math.sqrt(1e-3 * 600.0)
    return {
        "power": watts,
        "rms": volts,
        "dbv": 20.0 * math.log10(volts),
        "dbu": 20.0 * math.log10(volts / zero_dbu),
        "load-share": watts / i["load-rating"],
        "overdriven": (volts * math.sqrt(2.0)) ** 2 / i["load"],
    }


def limits(i):
    rating = i["load-rating"]
    return {
        "Load, at this reading": {"answer": "power", "limit": rating, "side": "most"},
        "Load, overdriven": {"answer": "overdriven", "limit": rating, "side": "most"},
    }
