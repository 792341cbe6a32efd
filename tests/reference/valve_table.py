"""The published figures of the valves, read from the table itself (calc-core/data/valves.toml)."""

import functools
import pathlib
import tomllib

PREFIXES = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "µ": 1e-6, "m": 1e-3, "k": 1e3, "M": 1e6}


@functools.cache
def table():
    path = pathlib.Path(__file__).parents[2] / "calc-core/data/valves.toml"
    valves = tomllib.loads(path.read_text())["valve"]
    return {valve["type"]: valve for valve in valves}


def number(text):
    """The value in SI units of a figure as the table writes it: `800 V`, `15.2p`, `500 k`, `7 W`."""
    end = max(at + 1 for at, letter in enumerate(text) if letter.isdigit())
    behind = text[end:].strip()
    return float(text[:end]) * PREFIXES.get(behind[:1], 1.0)


def limit(valve, name):
    """A published limit, `anode-power` or another; None where there is none."""
    figure = table()[valve].get("limit", {}).get(name)
    return number(figure["value"]) if figure else None


def is_output(valve):
    """A valve with a screen whose anode may take more than 5 W: the small pentodes before it take a watt or two."""
    return table()[valve]["kind"] != "triode" and (limit(valve, "anode-power") or 0.0) > 5.0


def kind(valve):
    """“pentode”, “beam tetrode” or “triode”."""
    return table()[valve]["kind"]


def rows(valve):
    """Anode volts, screen volts and anode current of the sheet's rows, cut-off left out; a triode has no screen volts."""
    names = ("anode", "screen", "anode-current")
    points = [point for point in table()[valve]["point"] if point["class"] != "cut-off"]
    return [tuple(number(point.get(name, "0 V")) for name in names) for point in points]
