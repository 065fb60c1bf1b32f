"""Makes monotone_curves.csv: values of monotone cubic interpolation by a general-purpose library, to check ours against.

Run once with the Python package scipy 1.17.1 (`pip install scipy==1.17.1`), class scipy.interpolate.PchipInterpolator; the tests read its recorded output
and do not need it. The points are made up to be awkward: uneven spacing, levels, peaks, ends that turn, steep beside flat. `kind` is `at` for a value at an x, and
`solve` for the places where the curve has a value (as the library's own root finder finds them).
"""

import csv
import sys

from scipy.interpolate import PchipInterpolator

CURVES = {
    "rising unevenly": [(0, 0), (0.1, 2), (0.5, 2.5), (2, 7), (2.2, 20), (6, 21)],
    "peak": [(0.2, 1200), (0.4, 1900), (0.6, 3300), (0.8, 5600), (1.0, 7900), (1.2, 9100), (1.4, 8600), (1.6, 6400), (1.8, 3900), (2.0, 2200)],
    "level": [(0, 1), (1, 1), (2, 1), (3, 5), (4, 5), (5, 2)],
    "two peaks": [(-3, 2), (-1, 6), (0, 1), (0.5, 1), (4, 9), (4.5, -2)],
    "titration": [(0, 6.84), (0.05, 6.61), (0.15, 6.22), (0.3, 5.63), (0.45, 5.02), (0.7, 4.31), (1.2, 3.74)],
    "ends that turn": [(0, 5), (1, 0), (10, 100), (11, 99), (30, 0)],
    "three": [(1, 10), (2, 40), (7, 41)],
    "two": [(1, 10), (4, 1)],
}

# Where, as shares of the whole length, and of which values.
SHARES = [0.003, 0.08, 0.21, 0.3333, 0.49, 0.57, 0.7, 0.86, 0.955, 0.9999]
VALUES = {
    "rising unevenly": [1, 10, 20.5],
    "peak": [5000, 2000, 1300],
    "level": [3, 4.9],
    "two peaks": [1.5, 5, 0],
    "titration": [5.2, 5.63, 6.8],
    "ends that turn": [2.5, 50, 99.5],
    "two": [7],
}


def main():
    out = csv.writer(sys.stdout, lineterminator="\n")
    out.writerow(["curve", "points", "kind", "given", "found"])
    for name, points in CURVES.items():
        xs, ys = [float(x) for x, _ in points], [float(y) for _, y in points]
        curve = PchipInterpolator(xs, ys, extrapolate=False)
        written = " ".join(f"{x}:{y}" for x, y in points)
        for share in SHARES:
            x = round(xs[0] + share * (xs[-1] - xs[0]), 6)
            out.writerow([name, written, "at", x, f"{float(curve(x)):.15g}"])
        for value in VALUES.get(name, []):
            roots = " ".join(f"{float(x):.13g}" for x in sorted(curve.solve(value, extrapolate=False)))
            out.writerow([name, written, "solve", value, roots])


main()
