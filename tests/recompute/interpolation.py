"""A smooth curve through measured points that never swings beyond them: monotone cubic Hermite interpolation.

Fritsch and Carlson (1980), with the slopes of Fritsch and Butland (1984). Reckoned with fractions; what is read off has ten
significant digits.
"""

from fractions import Fraction

from figures import significant


def end_slope(near, far):
    """The slope at an end: that of the parabola through three points, held to what keeps the piece monotone."""
    (h0, d0), (h1, d1) = near, far
    slope = ((2 * h0 + h1) * d0 - h0 * d1) / (h0 + h1)
    if slope * d0 <= 0:
        return Fraction(0)
    if d0 * d1 <= 0 and abs(slope) > 3 * abs(d0):
        return 3 * d0
    return slope


class Curve:
    """A curve through points in the order of x."""

    def __init__(self, points):
        self.points = points
        pairs = list(zip(points, points[1:]))
        stretches = [(x1 - x0, (y1 - y0) / (x1 - x0)) for (x0, y0), (x1, y1) in pairs]
        if len(stretches) == 1:
            self.slopes = [stretches[0][1]] * 2
            return
        self.slopes = [end_slope(stretches[0], stretches[1])]
        for (h0, d0), (h1, d1) in zip(stretches, stretches[1:]):
            near, far = 2 * h1 + h0, h1 + 2 * h0
            # Nothing where the straight lines turn; else their harmonic mean, weighted by the lengths.
            self.slopes.append(Fraction(0) if d0 * d1 <= 0 else (near + far) / (near / d0 + far / d1))
        self.slopes.append(end_slope(stretches[-1], stretches[-2]))

    def value(self, at, x):
        """The cubic of the piece that begins at a point."""
        (x0, y0), (x1, y1) = self.points[at : at + 2]
        s0, s1 = self.slopes[at : at + 2]
        length = x1 - x0
        rise, share = (y1 - y0) / length, (x - x0) / length
        square, cube = 3 * rise - 2 * s0 - s1, s0 + s1 - 2 * rise
        return y0 + share * length * (s0 + share * (square + share * cube))

    def at(self, x):
        """The value at an x; `None` outside of the points."""
        for at, (_, (x1, _)) in enumerate(zip(self.points, self.points[1:])):
            if self.points[0][0] <= x <= x1:
                return self.value(at, x)
        return None

    def crossings(self, y):
        """Where the curve has a value, as (from, to), in the order of x; the two differ where it stays level."""
        found, was_there = [], False
        for at, (x0, y0) in enumerate(self.points):
            if y0 == y:
                found[-1:] = [(found[-1][0], x0)] if was_there else found[-1:] + [(x0, x0)]
            was_there = y0 == y
            if at + 1 < len(self.points):
                y1 = self.points[at + 1][1]
                if (y0 < y < y1) or (y1 < y < y0):
                    x = self.solve(at, y)
                    found.append((x, x))
        return found

    def solve(self, at, y):
        """Where a piece has a value that lies between its ends: halved until thirty digits are settled."""
        (low, y0), (high, y1) = self.points[at : at + 2]
        for _ in range(110):
            middle = (low + high) / 2
            if (self.value(at, middle) < y) == (y0 < y1):
                low = middle
            else:
                high = middle
        return (low + high) / 2


def read_off(value):
    """What is read off a curve, with ten significant digits."""
    return significant(value, 10)
