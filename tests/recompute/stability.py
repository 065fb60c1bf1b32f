"""A stability log: how it stands to its specification, what was read last, how it drifts, and when it is looked at next.

The drift is the median of the slopes between all pairs of readings (Theil 1950), with the interval of Sen (1968) at 95 %.
"""

import datetime
import math
from decimal import Context, Decimal
from fractions import Fraction

import figures as fig
from figures import exact, places

Z = Decimal("1.959963984540054")
FINE = Context(prec=40)
LEAST_READINGS, LEAST_DAYS = 5, 28
LOOKS = ("colour", "odour", "separation")


def day_of(text):
    return datetime.date.fromisoformat(text)


def days_after(elapsed, start):
    """A length of time in days after the start: months go by the calendar, to the last day of a shorter month."""
    if not elapsed["months"]:
        return exact(elapsed["days"])
    return (fig.months_after(start, elapsed["months"]) - start).days + exact(elapsed["days"])


def rows_of(block, condition, start):
    """What was read and seen in a condition, in the order of time: (day, {what: value})."""
    rows, first = [], None
    for one in block["observations"]:
        if one.get("condition", condition) == condition:
            when = one["when"]
            day = Fraction((day_of(when["on"]) - start).days) if "on" in when else days_after(when["after"], start)
            rows.append((day, one))
    rows.sort(key=lambda row: row[0])
    out = []
    for day, one in rows:
        read = {look: one[look] for look in LOOKS if look in one}
        if "ph" in one:
            read["ph"] = exact(one["ph"])
        if "viscosity" in one:
            read["viscosity"] = exact(one["viscosity"][0])
        if "weight" in one:
            weight = exact(one["weight"]["value"])
            first = weight if first is None else first
            read["weight-change"] = (weight - first) * 100 / first
        out.append((day, read, one))
    return out


def window_of(specification, measure):
    if measure == "ph" and "ph" in specification:
        return exact(specification["ph"]["low"]), exact(specification["ph"]["high"])
    if measure == "viscosity" and "viscosity" in specification:
        return exact(specification["viscosity"][0]), exact(specification["viscosity"][1])
    if measure == "weight-change" and "weight_change" in specification:
        most = exact(specification["weight_change"]["value"])
        return -most, most
    return None


def fit_of(block, specification, what, value, one):
    """How one reading or look stands to the specification: `None` where nothing is specified."""
    if what in LOOKS:
        allowed = [words.strip().lower() for words in specification.get(what, [])]
        return None if not allowed else "inside" if value.strip().lower() in allowed else "outside"
    window, half = window_of(specification, what), Fraction(0)
    if window is None:
        return None
    if what == "ph":
        measured = block.get("measured", {})
        if "resolution" in measured:
            half = exact(measured["resolution"]) / 2
        elif "strip" in measured.get("with", "").lower():
            return "cannot tell"
        else:
            half = Fraction(1, 10 ** fig.scale(one["ph"])) / 2
    least, most = window
    if value + half < least or most < value - half:
        return "outside"
    is_inside = (least <= value - half and value + half <= most) or (least == most == value)
    return "inside" if is_inside else "cannot tell"


def robust_slope(points):
    """The median slope with its interval, low and high."""
    slopes = []
    for at, (x0, y0) in enumerate(points):
        slopes.extend((y1 - y0) / (x1 - x0) for x1, y1 in points[at + 1 :] if x1 != x0)
    slopes.sort()

    def part(count):
        return count * (count - 1) * (2 * count + 5)

    def ties(values):
        return sum(part(values.count(value)) for value in set(values))

    xs, ys = [x for x, _ in points], [y for _, y in points]
    variance = max(Fraction(part(len(points)) - ties(xs) - ties(ys), 18), Fraction(0))
    sigma = FINE.sqrt(FINE.divide(Decimal(variance.numerator), Decimal(variance.denominator)))
    rank = lambda sign: round(Fraction((len(slopes) + sign * Z * sigma) / 2))
    low, high = max(rank(-1) - 1, 0), min(rank(1), len(slopes) - 1)
    return slopes[low], median(slopes), slopes[high]


def median(values):
    values = sorted(values)
    half = len(values) // 2
    return values[half] if len(values) % 2 else (values[half - 1] + values[half]) / 2


def next_check(wanted, rows, start, ended):
    """The day of the first check that is still open; `None` without one."""
    days = sorted({days_after(check, start) for check in wanted})
    state = dict.fromkeys(days, "open")
    for seen, _, _ in rows:
        # A check may be made a tenth of its time early, by whole days; one of the first day may not.
        may = [day for day in days if seen >= day - (0 if day < 2 else math.ceil(day / 10))]
        if may:
            nearest = min(reversed(may), key=lambda day: abs(seen - day))
            state[nearest] = "made"
    made = [day for day in days if state[day] == "made"]
    last_seen = max((seen for seen, _, _ in rows), default=None)
    if ended:
        return None
    for day in days:
        is_over = (made and day < made[-1]) or (not made and last_seen is not None and last_seen > day)
        if state[day] == "open" and not is_over:
            return day
    return None


def figures_of(block, collection):
    watched = collection.watched(block["of"])
    start = block.get("start") or watched.get("made")
    start = day_of(start) if start else None
    specification = dict(block.get("specification", {}))
    if "ph" not in specification and "ph" in watched:
        specification["ph"] = watched["ph"]
    rested = days_after(block["rest"], start) if "rest" in block else Fraction(0)
    tables = {condition["key"]: rows_of(block, condition["key"], start) for condition in block["conditions"]}
    out, rows = {}, [row for table in tables.values() for row in table]
    fits = set()
    for day, read, one in rows:
        for what, value in read.items():
            fit = fit_of(block, specification, what, value, one)
            fits.add(fit if fit is None or day >= rested else "not rested")
    last_day = max((day for day, _, _ in rows), default=None)
    until = "" if last_day is None else f" until day {fig.plain(Fraction(math.floor(last_day)))}"
    words = {
        "outside": "outside the specification",
        "cannot tell": "the readings cannot tell",
        "inside": f"inside the specification{until}",
    }
    other = "not final until it has rested" if rows and all(day < rested for day, _, _ in rows) else "not known"
    out["status"] = fig.words(next((words[fit] for fit in words if fit in fits), other))
    out["preservation"] = fig.words(preservation(block.get("preservation", {})))
    if start:
        out["start"] = fig.words(start.isoformat())
    if last_day is not None:
        out["days"] = fig.number(last_day, min(places(last_day), 1), "d")
    due = [
        next_check(condition.get("checks", block["checks"]), tables[condition["key"]], start, block.get("ended"))
        for condition in block["conditions"]
    ]
    due = [day for day in due if day is not None]
    if due and start:
        out["next"] = fig.words((start + datetime.timedelta(math.ceil(min(due)))).isoformat())
    decimals, units = {"weight-change": 2}, {"ph": "", "weight-change": "%"}
    for measure in ("ph", "viscosity"):
        written = [one[measure] for _, _, one in rows if measure in one]
        written = [text if isinstance(text, str) else text[0] for text in written]
        decimals[measure] = max(map(fig.scale, written), default=0)
    told = [one["viscosity"][1] for _, _, one in rows if "viscosity" in one]
    units["viscosity"] = specification["viscosity"][2] if "viscosity" in specification else (told + [""])[0]
    for key, table in tables.items():
        for measure in ("ph", "viscosity", "weight-change"):
            read = [(day, read[measure], one) for day, read, one in table if measure in read]
            if read:
                out.update(of_measure(block, specification, measure, read, rested, start, decimals, units, f"{key}/{measure}"))
    return out


def of_measure(block, specification, measure, read, rested, start, decimals, units, base):
    # What ends only after more than twelve decimals is rounded to twelve.
    number = lambda value: fig.read(fig.half_even(value, 12), None, decimals[measure], units[measure])
    out = {base: number(read[-1][1])}
    if measure != "weight-change":
        out[f"{base}/change"] = number(read[-1][1] - read[0][1])
    points = [(day, value) for day, value, _ in read if day >= rested]
    if len({day for day, _ in points}) < LEAST_READINGS or points[-1][0] - points[0][0] < LEAST_DAYS:
        return out
    slopes = robust_slope(points)
    low, typical, high = (7 * slope for slope in slopes)
    digits = min(fig.decimals_of(max(map(abs, (low, typical, high))), 2), 6)
    while (low > 0 or high < 0) and digits < 6 and 0 in (fig.half_even(low, digits), fig.half_even(high, digits)):
        digits += 1
    unit = f"{units[measure]} a week".strip()
    out[f"{base}/drift"] = fig.read(typical, (low, high), digits, unit)
    out[f"{base}/drift/low"] = fig.read(low, None, digits, unit)
    out[f"{base}/drift/high"] = fig.read(high, None, digits, unit)
    window = window_of(specification, measure)
    is_out = fit_of(block, specification, measure, read[-1][1], read[-1][2]) == "outside"
    if (low > 0 or high < 0) and not is_out and window and start:
        bound = window[0] if typical < 0 else window[1]
        middle = median([x for x, _ in points]), median([y for _, y in points])
        first, last = points[0][0], points[-1][0]
        day = max(middle[0] + (bound - middle[1]) / slopes[1], last)
        # Nothing is said beyond as long again as it was watched.
        if day <= last + (last - first):
            out[f"{base}/leaves"] = fig.words((start + datetime.timedelta(math.floor(day))).isoformat())
    return out


def preservation(stated):
    result = stated.get("result", "not_tested").replace("_", " ")
    if "test" not in stated:
        return result
    return f"not tested by {stated['test']}" if result == "not tested" else f"{stated['test']}: {result}"
