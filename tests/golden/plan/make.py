"""Sense-resistor plans by exact ratios and NumPy, and preferred values by the package eseries, for
../../sense_plan.rs to compare with.

Run as `python3 make.py`, with NumPy and eseries installed; it writes series.csv and plans.json.
Shares no code with `src/circuit`: node voltages are Kirchhoff's current law solved by numpy.linalg,
whole counts come of exact rational arithmetic, slopes of a central difference, and the choice of a plain
search over a table.
"""
import csv
import json
import math
from fractions import Fraction

import eseries
import numpy as np

SERIES = {name: eseries.series(getattr(eseries, name)) for name in ("E3", "E6", "E12", "E24", "E48", "E96", "E192")}


def hundredths(values):
    """eseries gives 10 to 91 for the coarse ones and 100 to 988 for the fine ones."""
    return [round(value * 10) if max(values) < 100 else round(value) for value in values]


def within(name, low, high):
    """Every value from low to high, as exact fractions of an ohm."""
    found = []
    for decade in range(-2, 8):
        for value in hundredths(SERIES[name]):
            ohm = Fraction(value, 100) * Fraction(10) ** decade
            if low <= ohm <= high:
                found.append(ohm)
    return sorted(found)


def node_share(sense, rs, ohm):
    """By Kirchhoff's current law at the node, solved as a linear system of one unknown, with 1 V of feed."""
    if ohm is None:
        return 1.0 if sense == "pull_up" else 0.0
    if ohm == 0:
        return 0.0 if sense == "pull_up" else 1.0
    up, down = (1 / rs, 1 / ohm) if sense == "pull_up" else (1 / ohm, 1 / rs)
    return float(np.linalg.solve(np.array([[up + down]]), np.array([up]))[0])


def exact_count(sense, rs, ohm, full):
    """Whole counts in rational arithmetic: 1024 V/Vref, the fraction dropped, held to 0 to 1023."""
    if ohm is None:
        share = Fraction(1) if sense == "pull_up" else Fraction(0)
    else:
        ohm = Fraction(ohm)
        share = ohm / (ohm + rs) if sense == "pull_up" else rs / (ohm + rs)
    return min(1023, max(0, math.floor(1024 * full * share)))


def value(case, rs):
    full = Fraction(case["feed_v"]) / Fraction(case["reference_v"])
    noise = case["noise"]
    rows = []
    for rung in case["rungs"]:
        ohm = rung["ohm"]
        count = exact_count(case["sense"], rs, ohm, full)
        ideal = 1024 * float(full) * node_share(case["sense"], float(rs), ohm)
        slope = 0.0
        if not rung["is_rest"]:
            step = 1e-4 * (ohm + 1)
            at = lambda r: 1024 * float(full) * node_share(case["sense"], float(rs), r)
            slope = abs(at(ohm + 2 * step) - at(ohm + step)) / step
        contact, wear = slope * noise["between_ohm"], slope * noise["wear_ohm"] / math.sqrt(12)
        sigma = float(np.linalg.norm([noise["converter_error_count"] / math.sqrt(3), noise["within_count"], contact, wear]))
        reach = max(noise["tolerance_factor"] * math.hypot(noise["within_count"], contact), noise["converter_error_count"])
        rows.append((rung, count, min(max(ideal, 0), 1023), sigma, reach, ideal))
    gap, separation, alike = 10**9, math.inf, False
    for a in range(len(rows)):
        for b in range(len(rows)):
            one, other = rows[a], rows[b]
            if a == b or one[0]["wire"] != other[0]["wire"] or one[2] > other[2]:
                continue
            gap = min(gap, abs(one[1] - other[1]))
            separation = min(separation, (other[2] - one[2]) / math.hypot(one[3], other[3]))
            high = min(1023, math.ceil(one[1] + one[4]))
            low = max(0, math.floor(other[1] - other[4]))
            alike |= low - high - 1 < 1
    saturates = full > 1 and any(row[5] >= 1023 and not row[0]["is_rest"] for row in rows)
    return {"ohm": float(rs), "gap": gap, "sigma": separation, "alike": bool(alike), "saturates": bool(saturates)}


def bounds(case):
    seen = [Fraction(rung["ohm"]) for rung in case["rungs"] if rung["ohm"]]
    return max(Fraction(10), min(seen) / 30), min(Fraction(10**6), max(seen) * 30)


def plan(case):
    values = [value(case, rs) for rs in within(case["series"], *bounds(case))]
    good = [one for one in values if not one["alike"] and not one["saturates"]]
    choice = None
    if good:
        best = max(one["sigma"] for one in good)
        near = [one for one in good if one["sigma"] >= 0.95 * best]
        choice = max(near, key=lambda one: (one["gap"], one["sigma"], one["ohm"]))["ohm"]
    rows = [[one["ohm"], one["gap"], round(one["sigma"], 9), one["alike"], one["saturates"]] for one in values]
    return {**case, "values": rows, "choice": choice}


def cases():
    rng = np.random.default_rng(4217)
    for number in range(36):
        buttons = int(rng.integers(2, 17 if number % 9 == 8 else 9))
        two = number % 5 == 4
        ohms, total = [], int(rng.choice([0, 47, 82, 100]))
        for _ in range(buttons):
            ohms.append(total)
            total += int(100 + total * rng.uniform(0.3, 1.0))
        rungs = [{"wire": 1 + (k % 2 if two else 0), "ohm": ohm, "is_rest": False} for k, ohm in enumerate(ohms)]
        for wire in (1, 2) if two else (1,):
            rest = None if number % 3 == 0 else total + int(rng.choice([4700, 10000, 22000]))
            rungs.append({"wire": wire, "ohm": rest, "is_rest": True})
        yield {
            "sense": "pull_up" if number % 2 else "pull_down",
            "feed_v": 5,
            "reference_v": [5, 5, 5, 4, 3][number % 5] if number < 20 else 5,
            "series": ["E12", "E24", "E48", "E96"][number % 4],
            "noise": {
                "converter_error_count": 2.0,
                "within_count": float(np.round(rng.uniform(0.3, 2.0), 3)),
                "between_ohm": float(np.round(rng.uniform(0.0, 6.0), 3)),
                "wear_ohm": float(rng.choice([0, 10, 30, 100])),
                "tolerance_factor": float(np.round(rng.uniform(3.0, 6.0), 3)),
            },
            "rungs": rungs,
        }


if __name__ == "__main__":
    with open("series.csv", "w", newline="") as file:
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow(["series", "hundredths"])
        for name, values in SERIES.items():
            rows.writerows((name, one) for one in hundredths(values))
    with open("plans.json", "w") as file:
        file.write("[\n" + ",\n".join(json.dumps(plan(case), separators=(",", ":")) for case in cases()) + "\n]\n")
