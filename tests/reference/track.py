"""The track of a control, by the page on the law of a control.

As made it is straight pieces: dead at both stops, and for an audio law a corner half way round, at the share that stands
beside the letter. As measured it is straight from reading to reading.
"""

import re

import numpy

# What a letter behind or within a number multiplies by.
PREFIXES = {"": 1.0, "r": 1.0, "k": 1e3, "m": 1e6, "g": 1e9}


def reading(text):
    """A reading as one notes it: `7k5`, `37.5 kΩ`, `12R`, `15%`, `3,5`. In ohms, or as a share where it is in per cent."""
    text = text.strip().replace(" ", "").replace("\u00a0", "").lower().replace(",", ".")
    text = re.sub(r"(ohms?|ω|Ω)$", "", text)
    for per_cent in ("%", "percent", "pc"):
        if text.endswith(per_cent):
            return float(text[: -len(per_cent)]) / 100.0
    inside = re.fullmatch(r"(\d+)([rkmg])(\d+)", text)
    if inside:
        whole, letter, rest = inside.groups()
        return float(f"{whole}.{rest}") * PREFIXES[letter]
    behind = re.fullmatch(r"([\d.]+(?:e[+-]?\d+)?)([rkmg]?)", text)
    return float(behind[1]) * PREFIXES[behind[2]]


def listed(text, bare):
    """The points of a list, as (knob, reading); a reading without a unit counts `bare` times."""
    points = []
    # A colon parts place and reading; before the next place stands a semicolon, or else a space.
    sides = [side.strip(" \t\n,;") for side in text.strip(" \t\n,;").split(":")]
    place = sides[0]
    for at, side in enumerate(sides[1:], start=2):
        following = ""
        if at < len(sides):
            parted = re.fullmatch(r"(.*)(?:;)(.*)", side, re.S) or re.fullmatch(r"(.*)\s(.*)", side, re.S)
            side, following = parted[1].strip(" \t\n,;"), parted[2].strip()
        plain = re.fullmatch(r"[\d.,]+", side.strip())
        points.append((reading(place), reading(side) * (bare if plain else 1.0)))
        place = following
    return points


class NoLaw(Exception):
    """The points of this field are no law."""


class Track:
    """Its whole resistance, and the share of it below the wiper at each rotation from 0 to 1."""

    def __init__(self, inputs):
        law = inputs["law"]
        if law in ("points", "ohm-points"):
            points = listed(inputs[law], 0.01 if law == "points" else 1.0)
            self.resistance = inputs["resistance"] if law == "points" else points[-1][1]
            rotations, shares = zip(*((knob / 10.0, read) for knob, read in points))
            falls = any(after < before for before, after in zip(shares, shares[1:]))
            if rotations[0] != 0.0 or rotations[-1] != 1.0 or shares[-1] <= 0.0 or falls:
                raise NoLaw(law)
            if law == "ohm-points":
                shares = [share / self.resistance for share in shares]
        else:
            self.resistance = inputs["resistance"]
            low, high = inputs["dead-low"] / inputs["angle"], 1.0 - inputs["dead-high"] / inputs["angle"]
            rotations, shares = [0.0, low, high, 1.0], [0.0, 0.0, 1.0, 1.0]
            if law != "linear":
                slow = inputs["centre"]
                rotations.insert(2, 0.5)
                shares.insert(2, slow if law == "audio" else 1.0 - slow)
        self.rotations, self.shares = numpy.array(rotations), numpy.array(shares)

    def share(self, rotation):
        return float(numpy.interp(rotation, self.rotations, self.shares))

    @property
    def full_up(self):
        return float(self.shares[-1])

    def first_at(self, share):
        """The lowest rotation with at least this share below the wiper; the upper stop where there is none."""
        if share <= self.shares[0]:
            return 0.0
        for before in range(len(self.shares) - 1):
            low, high = self.shares[before], self.shares[before + 1]
            if low < share <= high:
                along = (share - low) / (high - low)
                return float(self.rotations[before] + along * (self.rotations[before + 1] - self.rotations[before]))
        return 1.0
