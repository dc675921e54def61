"""The boxes of `circuit::tolerance` in numpy, written from the model's description alone, and as one would
write it there: whole columns, a million boxes long. It makes the tables of tests/golden/boxes
(`python3 tests/benches/boxes.py CASE.json --write`) and is what `cargo bench --bench boxes` is held against.

Prints JSON: boxes, misreading, ignoring, seconds, and for each rung ignored, misread, misread_as (by rung),
and mean and standard deviation of its readings in each condition."""

import argparse
import json
import time

import numpy as np

NOBODY, REST = 255, 254


def build(case, boxes, rng):
    d = case["drifts"]
    uniform = lambda: rng.uniform(-1.0, 1.0, boxes)
    sense = case["sense_ohm"] * (1 + d["sense_tolerance"] * uniform())
    sense_k, lot_k = d["sense_per_k"] * uniform(), (d["ladder_per_k"] - d["ladder_tracking_per_k"]) * uniform()
    reference = d["reference_tolerance"] * uniform()
    reference_k = d["reference_per_k"] * uniform()
    leak = 0.0 if case["leak_ohm"] is None else 1.0 / case["leak_ohm"]
    full = 1024.0 * (1.0 if case["reference_v"] is None else case["feed_v"] / case["reference_v"])

    wires = []
    for wire in case["wires"]:
        resistors = wire["ohm"] + ([] if wire["end_ohm"] is None else [wire["end_ohm"]])
        wires.append({
            "value": [r * (1 + d["ladder_tolerance"] * uniform()) for r in resistors],
            "own_k": [d["ladder_tracking_per_k"] * uniform() for _ in resistors],
            "wear": [d["wear_ohm"] * rng.uniform(0.0, 1.0, boxes) for _ in wire["ohm"]],
            "error": [wire["error_count"] * uniform() for _ in range(len(wire["ohm"]) + 1)],
        })

    def owners(wire, first):
        table = np.full(1024, NOBODY, np.uint8)
        for number, (low, high) in enumerate(wire["bands"]):
            table[low:high + 1] = first + number
        if wire["rest_band"] is not None:
            table[wire["rest_band"][0]:wire["rest_band"][1] + 1] = REST
        return table

    layout, first = [], 0
    for wire in case["wires"]:
        judged_rest = wire["end_ohm"] is not None and wire["rest_band"] is not None
        layout.append((first, owners(wire, first), judged_rest))
        first += len(wire["ohm"]) + judged_rest
    rungs = first
    ignored = np.zeros((rungs, boxes), bool)
    misread_as = np.zeros((rungs, rungs, boxes), bool)
    is_rest = np.zeros(rungs, bool)
    mean, sigma = [[] for _ in range(rungs)], [[] for _ in range(rungs)]

    for celsius in (d["cold_c"], 25.0, d["hot_c"]):
        k = celsius - 25.0
        sense_now = sense * (1 + sense_k * k)
        gain = (1 + d["feed_tolerance"] * uniform()) / (1 + reference + reference_k * k)
        for wire, parts, (first, table, judged_rest) in zip(case["wires"], wires, layout):
            ohm = [v * (1 + (lot_k + own) * k) for v, own in zip(parts["value"], parts["own_k"])]
            steps, end = ohm[:len(wire["ohm"])], (ohm[-1] if wire["end_ohm"] is not None else np.inf)
            taps = np.cumsum(steps, axis=0)

            def read(rung, seen):
                over = seen if case["sense"] == "pull_up" else sense_now
                count = full * gain * over / (seen + sense_now + seen * sense_now * leak) + parts["error"][rung]
                mean[first + rung].append(float(count.mean()))
                sigma[first + rung].append(float(count.std()))
                owner = table[np.clip(np.floor(count), 0, 1023).astype(np.int64)]
                own = REST if rung == len(steps) else first + rung
                ignored[first + rung] |= (owner != own) & ((owner == NOBODY) | (owner == REST))
                for other in np.unique(owner):
                    if other not in (NOBODY, REST, own):
                        misread_as[first + rung, other] |= owner == other

            for worn in (0.0, 1.0):
                for button in range(len(steps)):
                    contact = case["contact_ohm"] + worn * parts["wear"][button]
                    if wire["topology"] == "series":
                        behind = taps[-1] - taps[button] + end
                        path = contact if wire["end_ohm"] is None else contact * behind / (contact + behind)
                        read(button, taps[button] + path)
                    else:
                        own = steps[button] + contact
                        read(button, own if wire["end_ohm"] is None else own * end / (own + end))
                if judged_rest:
                    is_rest[first + len(steps)] = True
                    read(len(steps), (taps[-1] if wire["topology"] == "series" else 0.0) + end)

    misread = misread_as.any(axis=1)
    return {
        "boxes": boxes,
        "misreading": int(misread.any(axis=0).sum()),
        "ignoring": int(ignored[~is_rest].any(axis=0).sum()),
        "rungs": [{
            "ignored": int(ignored[rung].sum()),
            "misread": int(misread[rung].sum()),
            "misread_as": [int(other.sum()) for other in misread_as[rung]],
            "mean_count": [round(value, 4) for value in mean[rung]],
            "sigma_count": [round(value, 4) for value in sigma[rung]],
        } for rung in range(rungs)],
    }


def main():
    words = argparse.ArgumentParser(description=__doc__)
    words.add_argument("case")
    words.add_argument("--boxes", type=int, default=1_000_000)
    words.add_argument("--seed", type=int, default=5)
    words.add_argument("--write", action="store_true", help="keep the result in the case")
    words = words.parse_args()
    with open(words.case) as file:
        case = json.load(file)
    began = time.perf_counter()
    result = build(case, words.boxes, np.random.default_rng(words.seed))
    seconds = time.perf_counter() - began
    if words.write:
        case["expected"] = result
        with open(words.case, "w") as file:
            json.dump(case, file, indent=1)
            file.write("\n")
    print(json.dumps({**result, "seconds": seconds}))


if __name__ == "__main__":
    main()
