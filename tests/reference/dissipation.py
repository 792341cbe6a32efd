"""Heat of anode and screen at idle: each is the power that its voltage from the cathode gives its own current.

The cathode's current is anode's and screen's together. Ratings from the valve table or typed.
"""

import valve_table


def cathode(i):
    return i["cathode-voltage"] if i["anode-from"] == "chassis" else 0.0


def rating(i, name):
    if i["valve"] == "typed":
        return {"anode-power": i["anode-rating"], "screen-power": i["screen-rating"]}.get(name)
    return valve_table.limit(i["valve"], name)


def screen_current(i, cathode_current):
    how = i["screen-how"]
    if how == "stopper":
        return i["screen-drop"] / i["screen-stopper"]
    if how == "current":
        return i["screen-current"]
    if how == "estimated":
        return i["screen-share"] * cathode_current
    return None


def most_of_one(i):
    """How many times the mean one valve may take; it cannot take more than all."""
    if i["sharing"] == 1:
        return 1.0
    if i["spread"] == "unknown":
        return float(i["sharing"])
    return min(1.0 + i["spread-percent"], i["sharing"])


def what_it_may_be(i, anode_volts):
    """The cathode's current at each share of the rating: anode and screen together, the screen's a part of the whole."""
    contradicted = ["anode-voltage"] if anode_volts <= 0.0 else []
    if i["lowest-target"] > i["target"]:
        contradicted.append("lowest-target")
    if contradicted:
        return {"refused": contradicted}

    def reading_for(share):
        anode = share * rating(i, "anode-power") / anode_volts
        screen_per_anode = i["screen-estimate"] / (1.0 - i["screen-estimate"])
        return anode + anode * screen_per_anode

    return {
        "highest-reading": reading_for(i["target"]),
        "lowest-reading": reading_for(i["lowest-target"]),
        "anode-to-cathode": anode_volts,
    }


def answers(i):
    anode_volts = i["anode-voltage"] - cathode(i)
    if i["asked"] == "may":
        return what_it_may_be(i, anode_volts)
    screen_volts = i["screen-voltage"] - cathode(i)
    each = i["cathode-current"] / i["sharing"]
    screen = screen_current(i, each)
    anode = each - (screen or 0.0)
    contradicted = []
    if anode_volts <= 0.0:
        contradicted.append("anode-voltage")
    if screen_volts <= 0.0:
        contradicted.append("screen-voltage")
    if anode < 0.0:
        contradicted.append("cathode-current")
    if i["lowest-target"] > i["target"]:
        contradicted.append("lowest-target")
    if contradicted:
        return {"refused": contradicted}
    heat = anode_volts * anode
    heat_allowed = rating(i, "anode-power")

    def reading_for(share):
        """What the shared reading shows while the anode has this share; screen and anode keep their proportion."""
        anode_wanted = share * heat_allowed / anode_volts
        screen_per_anode = (each - anode) / anode if anode > 0.0 else 0.0
        return i["sharing"] * (anode_wanted + anode_wanted * screen_per_anode)

    most = most_of_one(i)
    return {
        "anode-power": heat,
        "anode-current": anode,
        "anode-share": heat / heat_allowed,
        "screen-power": None if screen is None else screen_volts * screen,
        "lowest-reading": reading_for(i["lowest-target"]),
        "highest-reading": reading_for(i["target"]),
        "anode-to-cathode": anode_volts,
        "screen-to-cathode": screen_volts,
        "worst-anode-power": most * heat if most > 1.0 else None,
    }


def limits(i):
    if i["asked"] == "may":
        return {"Anode voltage": {"answer": "anode-to-cathode", "limit": rating(i, "anode-voltage"), "side": "most"}}
    heat_allowed = rating(i, "anode-power")
    target = f"{100.0 * i['target']:.0f}\u00a0% of the rating"
    compared = {
        "Anode voltage": {"answer": "anode-to-cathode", "limit": rating(i, "anode-voltage"), "side": "most"},
        "Screen voltage": {"answer": "screen-to-cathode", "limit": rating(i, "screen-voltage"), "side": "most"},
        target: {"answer": "anode-power", "limit": i["target"] * heat_allowed, "side": "most"},
    }
    if i["screen-how"] != "unknown":
        allowed = rating(i, "screen-power")
        compared["Screen dissipation"] = {"answer": "screen-power", "limit": allowed, "side": "most"}
    # A mean of an unknown spread is judged by more than one comparison.
    if i["sharing"] == 1 or i["spread"] == "measured":
        taken = "worst-anode-power" if answers(i)["worst-anode-power"] is not None else "anode-power"
        compared["Anode dissipation"] = {"answer": taken, "limit": heat_allowed, "side": "most"}
    return compared


def standings(i):
    return {"Screen dissipation": "cannot tell"} if i.get("screen-how") == "unknown" else {}


def floors(i):
    if i["asked"] == "may":
        return {}
    # What the screen leaves of the cathode's current is a difference.
    amperes = 1e-12 * i["cathode-current"]
    watts = amperes * i["anode-voltage"]
    heat_allowed = rating(i, "anode-power")
    return {
        "anode-current": amperes,
        "anode-power": watts,
        "worst-anode-power": watts * i["sharing"],
        "anode-share": watts / heat_allowed,
    }
