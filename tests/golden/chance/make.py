"""Chances of a press being ignored or taken for another button, for ../../bands_drift.rs to compare with.

Run as `python3 make.py > chances.csv`, with SciPy installed. Shares no code with `src/bands/chance.rs`:
the bell's tails are SciPy's, and where a whole count is summed, it is summed count by count.
"""
import math

from scipy import stats

# Each wheel: the buttons' bands, upwards.
WHEELS = {
    "apart": [(48, 184), (193, 295), (321, 418), (457, 526), (542, 618), (664, 767), (813, 899)],
    "tight": [(90, 99), (108, 119), (120, 131)],
    "ends": [(0, 40), (500, 530), (960, 1023)],
}
CASES = [
    ("apart", 3, 491.0, 1.8), ("apart", 3, 520.0, 3.0), ("apart", 3, 534.0, 2.0), ("apart", 3, 560.0, 4.0),
    ("apart", 0, 81.0, 4.3), ("apart", 6, 860.0, 25.0), ("apart", 4, 541.0, 1.1),
    ("tight", 0, 95.0, 2.5), ("tight", 1, 113.5, 3.2), ("tight", 2, 125.5, 1.0), ("tight", 1, 119.5, 0.4),
    ("ends", 0, 3.0, 20.0), ("ends", 1, 515.0, 2.5), ("ends", 2, 1020.0, 12.0), ("ends", 2, 945.0, 6.0),
]


def share(centre, sigma, low, high):
    """Of what whole counts from low to high take; a band at an end of the scale takes what lies beyond."""
    total = 0.0
    for count in range(low, high + 1):
        a, b = (count - 0.5 - centre) / sigma, (count + 0.5 - centre) / sigma
        if count == 0:
            a = -math.inf
        if count == 1023:
            b = math.inf
        total += stats.norm.sf(a) - stats.norm.sf(b) if a > 0 else stats.norm.cdf(b) - stats.norm.cdf(a)
    return total


if __name__ == "__main__":
    print("wheel,own,centre,sigma,ignored,taken")
    for wheel, own, centre, sigma in CASES:
        bands = WHEELS[wheel]
        taken = sum(share(centre, sigma, *band) for at, band in enumerate(bands) if at != own)
        held = {count for low, high in bands for count in range(low, high + 1)}
        ignored = sum(share(centre, sigma, count, count) for count in range(1024) if count not in held)
        print(f"{wheel},{own},{centre},{sigma},{ignored:.12e},{taken:.12e}")
