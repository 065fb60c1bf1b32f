"""Workings: named lines of arithmetic with units, exact fractions inside.

A value is kept in base units (g, cm, s, mol, K, money) with its two ends. Readings of temperature, and units that are not listed here
and do not stand alone in a literal, are left out.
"""

import re
from fractions import Fraction

import figures as fig
from figures import exact

MASS, VOLUME, AMOUNT, NUMBER, MONEY = "mass", "volume", "amount of substance", "number", "money"
UNITS = {
    "µg": (MASS, Fraction(1, 10**6)),
    "mg": (MASS, Fraction(1, 1000)),
    "g": (MASS, Fraction(1)),
    "kg": (MASS, Fraction(1000)),
    "lb": (MASS, Fraction("453.59237")),
    "ml": (VOLUME, Fraction(1)),
    "cl": (VOLUME, Fraction(10)),
    "l": (VOLUME, Fraction(1000)),
    "mmol": (AMOUNT, Fraction(1, 1000)),
    "mol": (AMOUNT, Fraction(1)),
    "%": (NUMBER, Fraction(1, 100)),
    "ppm": (NUMBER, Fraction(1, 10**6)),
    "ppb": (NUMBER, Fraction(1, 10**9)),
    "€": (MONEY, Fraction(1)),
    "$": (MONEY, Fraction(1)),
    "£": (MONEY, Fraction(1)),
}


class Skipped(Exception):
    """Something that is not recomputed here."""


def units_of(text):
    """A unit as [(symbol, power)], in order."""
    if not text:
        return []
    above, _, below = text.partition("/")
    units = [(symbol, 1) for symbol in above.split("·")] + [(symbol, -1) for symbol in below.split("·") if symbol]
    for symbol, _ in units:
        if symbol not in UNITS and not re.fullmatch("[A-Z]{3}", symbol):
            raise Skipped(symbol)
    return units


def kind_of(symbol):
    return UNITS.get(symbol, (MONEY, Fraction(1)))[0]


def factor_of(units):
    factor = Fraction(1)
    for symbol, power in units:
        factor *= UNITS.get(symbol, (MONEY, Fraction(1)))[1] ** power
    return factor


def joined(left, right, sign):
    """The unit of a product or quotient: one for each quantity, that of the left where both have one."""
    if sign < 0 and left and right and all(kind_of(symbol) == NUMBER for symbol, _ in left + right):
        return []
    units = dict(left)
    for symbol, power in right:
        kind = kind_of(symbol)
        home = next((known for known in units if kind_of(known) == kind and kind != MONEY), symbol)
        units[home] = units.get(home, 0) + sign * power
        if not units[home]:
            del units[home]
    others = [(symbol, power) for symbol, power in units.items() if kind_of(symbol) != NUMBER]
    if others:
        return others
    # A share of a share is a share still.
    return [(symbol, 1) for symbol, power in list(units.items())[:1] if power > 0]


def name_of(units):
    side = lambda sign: "·".join(symbol for symbol, power in units for _ in range(max(sign * power, 0)))
    above, below = side(1), side(-1)
    return above if not below else f"{above}/{below}" if above else f"per {below}"


class Value:
    """A number with its ends in base units, its unit, and the decimals that were written."""

    def __init__(self, ends, units, decimals):
        self.ends, self.units, self.decimals = ends, units, decimals

    @staticmethod
    def written(low, typical, high, unit, decimals):
        units = units_of(unit)
        return Value([end * factor_of(units) for end in (low, typical, high)], units, decimals)

    def in_unit(self):
        return [end / factor_of(self.units) for end in self.ends]

    def summed(self, other, sign):
        low, typical, high = other.ends
        if sign < 0:
            low, typical, high = -high, -typical, -low
        ends = [one + two for one, two in zip(self.ends, (low, typical, high))]
        return Value(ends, self.units, max(self.decimals, other.decimals) if self.units == other.units else 0)

    def multiplied(self, other, sign):
        join = (lambda one, two: one * two) if sign > 0 else (lambda one, two: one / two)
        corners = [join(one, two) for one in self.ends[::2] for two in other.ends[::2]]
        typical = join(self.ends[1], other.ends[1])
        ends = [min(corners + [typical]), typical, max(corners + [typical])]
        return Value(ends, joined(self.units, other.units, sign), 0)

    def places(self):
        """Exactly where six significant digits do; money with two decimals at the least."""
        low, _, high = self.in_unit()
        if len(self.units) == 1 and kind_of(self.units[0][0]) == MONEY and self.units[0][1] == 1:
            return max(self.decimals, 2)
        needed = [fig.places(end, 9) for end in (low, high)]
        widest, digits = max(abs(low), abs(high)), 9
        while digits > 0 and widest >= Fraction(10) ** (6 - digits):
            digits -= 1
        most = max(digits if widest else 0, self.decimals)
        if None not in needed and max(needed) <= most:
            return max(max(needed), self.decimals)
        return most

    def figure(self):
        low, typical, high = self.in_unit()
        decimals = self.places()

        def number(end):
            if fig.half_even(end, decimals) == 0 and end != 0:
                words = f"above{fig.NBSP}\u2212" if end < 0 else f"under{fig.NBSP}"
                return words + fig.fixed(Fraction(1, 10**decimals), decimals)
            return fig.fixed(end, decimals).replace("-", "\u2212")

        text = number(low) if number(low) == number(high) else f"{number(low)}\u2013{number(high)}"
        unit = name_of(self.units)
        return fig.Figure(fig.with_unit(text, unit), typical, low, high, unit=unit, digits=self.decimals)


def of_figure(figure):
    """A figure to reckon with: nothing but numbers."""
    if figure is None or not isinstance(figure.value, Fraction):
        raise Skipped("a figure")
    low = figure.value if figure.low is None else figure.low
    high = figure.value if figure.high is None else figure.high
    decimals = figure.digits
    if decimals is None:
        own = [fig.places(end) for end in (low, high)]
        decimals = figure.written if figure.written is not None else max(own) if None not in own else 0
        decimals = decimals if decimals <= 6 else 0
    return Value.written(low, figure.value, high, figure.unit, decimals)


class Lines:
    """The lines of a block, each worked out when it is asked for."""

    def __init__(self, block, collection):
        self.lines = {line["name"]: line for line in block["lines"]}
        self.collection, self.known = collection, {}

    def value(self, name):
        if name not in self.known:
            line = self.lines[name]
            self.figures = {address["written"]: address for address in line["figures"]}
            self.known[name] = self.worked(line["expression"], self.figures)
        return self.known[name]

    def worked(self, expression, figures):
        node = expression["node"]
        ((kind, what),) = node.items()
        if kind == "value":
            return self.literal(what)
        if kind == "line":
            return self.value(what)
        if kind == "figure":
            address = figures[what]
            if address["query"]:
                raise Skipped("a query")
            return of_figure(self.collection.figure(address["id"], "/".join(address["path"])))
        if kind == "negated":
            inner = self.worked(what, figures)
            return Value([-end for end in reversed(inner.ends)], inner.units, inner.decimals)
        if kind == "pair":
            left, right = self.worked(what["left"], figures), self.worked(what["right"], figures)
            if what["sign"] in ("plus", "minus"):
                return left.summed(right, 1 if what["sign"] == "plus" else -1)
            return left.multiplied(right, -1 if what["sign"] == "over" else 1)
        if kind == "to":
            inner = self.worked(what[0], figures)
            return Value(inner.ends, units_of(what[1]["unit"]), 0)
        if kind == "round":
            return rounded(self.worked(what[0], figures), what[1], self.literal(what[2]))
        if kind == "choice":
            return chosen([self.worked(part, figures) for part in what[1]], max if what[0] else min)
        raise Skipped(kind)

    def literal(self, data):
        if data["is_reading"]:
            raise Skipped("a reading of temperature")
        units = units_of(data["units"].get("unit", ""))
        # A literal is written in its unit.
        ends = [exact(data[end]) * factor_of(units) for end in ("low", "typical", "high")]
        return Value(ends, units, data["decimals"])


def rounded(value, how, step):
    width = step.ends[1]

    def whole(end):
        count = end / width
        if how == "round":
            return round(count) * width
        down = count.numerator // count.denominator
        return (down if how == "round down" or down == count else down + 1) * width

    return Value([whole(end) for end in value.ends], step.units, step.decimals)


def chosen(values, pick):
    result = values[0]
    for other in values[1:]:
        decimals = max(result.decimals, other.decimals) if result.units == other.units else 0
        result = Value([pick(pair) for pair in zip(result.ends, other.ends)], result.units, decimals)
    return result


def figures_of(block, collection):
    lines, out = Lines(block, collection), {}
    for name in lines.lines:
        try:
            out[name] = lines.value(name).figure()
        except Skipped:
            continue
    return out
