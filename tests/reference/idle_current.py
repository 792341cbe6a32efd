"""Idle current by up to three readings: Ohm's law with the meter counted, by conductances.

Copper's resistance is a straight line that would be nothing at 234.5 degrees below zero. More than an ampere is no idle
current of an output valve: such a reading is of something open. The answer gets no reading where none was taken.
"""

MOST = 1.0


def ways(i):
    return {way: i[way + "-way"] == "read" for way in ("resistor", "half", "ammeter")}


def winding(i):
    if i["winding-how"] == "warm":
        return i["winding-warm"]
    nothing_at = -234.5
    per_degree = i["winding-cold"] / (i["cold-temperature"] - nothing_at)
    return per_degree * (i["warm-temperature"] - nothing_at)


def answers(i):
    read = ways(i)
    if not any(read.values()):
        return {"refused": "resistor-way"}
    said = dict.fromkeys(["by-resistor", "less-screen", "by-half", "by-ammeter", "winding", "meter-share"])
    contradicted = []
    if read["resistor"]:
        said["by-resistor"] = i["cathode-drop"] * (1.0 / i["cathode-resistor"] + 1.0 / i["meter-input"])
        if said["by-resistor"] > MOST:
            contradicted.append("cathode-drop")
    if read["half"] or read["ammeter"]:
        said["winding"] = winding(i)
    if read["half"]:
        said["by-half"] = i["half-drop"] * (1.0 / said["winding"] + 1.0 / i["meter-input"])
        if said["by-half"] > MOST:
            contradicted.append("half-drop")
    if read["ammeter"]:
        # The same voltage over both: the winding carries a current of its own.
        volts = i["ammeter-reading"] * i["ammeter-resistance"]
        said["by-ammeter"] = i["ammeter-reading"] + volts / said["winding"]
        through = 1.0 / i["ammeter-resistance"]
        said["meter-share"] = through / (through + 1.0 / said["winding"])
        if said["by-ammeter"] > MOST:
            contradicted.append("ammeter-reading")
    if read["resistor"] and (read["half"] or read["ammeter"]) and i["screen-how"] == "read":
        said["less-screen"] = said["by-resistor"] - i["screen-current"]
        if said["less-screen"] < 0.0:
            contradicted.append("screen-current")
    return {"refused": contradicted} if contradicted else said


def floors(i):
    # Anode current as the difference of two others.
    return {"less-screen": 1e-9 * i["screen-current"]} if "screen-current" in i else {}


def limits(i):
    # Where several ways were read, the margins decide which of them is judged.
    about, answer = alone(i)
    if about is None or answers(i).get(answer) == 0.0:
        return {}
    # 0.2 V on 1 ohm, whatever the valve.
    return {about: {"answer": answer, "limit": 0.2, "side": "most"}}


def alone(i):
    """What the stop figure of the one way that was read is called, and its answer."""
    answer = {"resistor": "by-resistor", "half": "by-half", "ammeter": "by-ammeter"}
    name = {"resistor": "cathode resistor", "half": "half primary", "ammeter": "ammeter across the half"}
    read = [way for way, taken in ways(i).items() if taken]
    if len(read) != 1:
        return None, None
    return f"Stop figure, {name[read[0]]}", answer[read[0]]


def standings(i):
    about, answer = alone(i)
    if about is None:
        return {}
    # Nothing checks a way that was read alone; and no reading at all is no proof that no current flows.
    nothing = {about: "cannot tell"} if answers(i).get(answer) == 0.0 else {}
    return {"Agreement of the ways": "cannot tell"} | nothing
