"""A measured series: its highest value, values between the points, and where a value is reached."""

import figures as fig
from figures import exact, places
from interpolation import Curve, read_off


def figures_of(block, collection):
    points = sorted(((exact(point["x"]), point) for point in block["points"]), key=lambda one: one[0])
    means = [sum(map(exact, point["readings"])) / len(point["readings"]) for _, point in points]
    xs = [x for x, _ in points]
    curve = Curve(list(zip(xs, means)))
    x_unit, y_unit = block["x"].get("unit", ""), block["y"].get("unit", "")
    y_decimals = max(places(exact(reading)) for _, point in points for reading in point["readings"])
    x_decimals = max(map(places, xs)) + 1
    out = {}
    peak = max(means)
    first = means.index(peak)
    last = first
    while last + 1 < len(means) and means[last + 1] == peak:
        last += 1
    out["peak"] = fig.read(peak, None, y_decimals, y_unit)
    row = [points[first][1]["x"], points[last][1]["x"]]
    ends = (xs[first], xs[last]) if first < last else None
    out["peak/at"] = fig.read((xs[first] + xs[last]) / 2, ends, max(map(fig.scale, row)), x_unit)
    for name, at in (("low", 0), ("high", -1)):
        out[name] = fig.read(xs[at], None, fig.scale(points[at][1]["x"]), x_unit)
    for x in block["at"]:
        value = dict(zip(xs, means)).get(exact(x))
        if value is None:
            value = read_off(curve.at(exact(x)))
        ends = spread(points, means, exact(x), value)
        out[f"at/{x}"] = fig.read(value, ends, y_decimals, y_unit)
        if len(block["at"]) == 1:
            out["at"] = out[f"at/{x}"]
    is_inside = first > 0 and last + 1 < len(xs)
    for y in block["target"]:
        reached = curve.crossings(exact(y))
        for (start, end), name in zip(reached, names_of(reached, xs[first], xs[last], is_inside)):
            # The span that repeated readings leave open is not reckoned here; such a figure is left out.
            if start == end and spread(points, means, start, exact(y)):
                continue
            ends = (read_off(start), read_off(end)) if start < end else None
            figure = fig.read(read_off((start + end) / 2), ends, x_decimals, x_unit)
            out[f"target/{y}{name}"] = figure
            if len(block["target"]) == 1:
                out[f"target{name}"] = figure
    return out


def names_of(reached, peak_from, peak_to, is_inside):
    """The last part of each address: its side of the peak where that tells it apart, otherwise its number."""
    sides = []
    for start, end in reached:
        side = "before" if end < peak_from else "after" if peak_to < start else "peak"
        sides.append(side if is_inside else None)
    for at, side in enumerate(sides):
        if len(reached) == 1:
            yield ""
        elif side in ("before", "after") and sides.count(side) == 1:
            yield f"/{side}"
        else:
            yield f"/{at + 1}"


def spread(points, means, x, value):
    """How far below and above a value the repeated readings on both sides lie; `None` where one was measured once."""

    def away(at):
        readings = list(map(exact, points[at][1]["readings"]))
        return (means[at] - min(readings), max(readings) - means[at]) if len(readings) > 1 else None

    for at, (here, _) in enumerate(points):
        if here == x:
            one = away(at)
            return one and (value - one[0], value + one[1])
        if here > x:
            one, other = away(at - 1), away(at)
            if not one or not other:
                return None
            share = (x - points[at - 1][0]) / (here - points[at - 1][0])
            below, above = (read_off(a + share * (b - a)) for a, b in zip(one, other))
            return value - below, value + above
    return None
