"""Exact numbers, ranges, and how figures are printed.

Everything is a fraction of whole numbers, so no digit is lost before a text is made of it. The rules of rounding are told in
notebooks/manual/exported-data.md: halves go to the even neighbour everywhere.
"""

import calendar
from decimal import Decimal
from fractions import Fraction

NBSP = "\u00a0"


class Unknown(Exception):
    """There is no figure here, and the document should say so too."""


def exact(text):
    """A decimal or a fraction `7/3` as the document writes it."""
    return Fraction(text)


def scale(text):
    """The decimals with which a number is written: 1.30 has two."""
    return max(0, -Decimal(text).as_tuple().exponent)


def half_even(value, decimals):
    """Rounded to so many decimals, as a fraction."""
    return Fraction(round(value * 10**decimals), 10**decimals)


def fixed(value, decimals):
    """Rounded and written with exactly so many decimals, a plain hyphen before what is below nothing."""
    units = round(value * 10**decimals)
    sign = "-" if units < 0 else ""
    digits = str(abs(units)).rjust(decimals + 1, "0")
    return sign + (digits if decimals == 0 else digits[:-decimals] + "." + digits[-decimals:])


def places(value, most=28):
    """The least decimals that write a number exactly; `None` when it never ends or takes more than `most`."""
    for decimals in range(most + 1):
        if (value * 10**decimals).denominator == 1:
            return decimals
    return None


def plain(value):
    """Without superfluous zeros; what does not end has as many digits as its 96 bits hold, 28 or 29 of them, and at most 28 decimals."""
    decimals = places(value)
    if decimals is None:
        decimals = next(most for most in range(28, -1, -1) if abs(round(value * 10**most)) < 2**96)
    text = fixed(value, decimals)
    return text.rstrip("0").rstrip(".") if "." in text else text


def decimals_for(value, digits):
    """The decimals that show so many significant digits, without zeros at the end; at most nine."""
    return places(half_even(value, decimals_of(value, digits)))


def decimals_of(value, digits):
    """The decimals that show so many significant digits; at most nine."""
    size, decimals, bound = abs(value), digits, Fraction(1)
    if not size:
        return 0
    while decimals > 0 and size >= bound:
        decimals, bound = decimals - 1, bound * 10
    bound = Fraction(1, 10)
    while digits <= decimals < 9 and size < bound:
        decimals, bound = decimals + 1, bound / 10
    return decimals


def significant(value, digits):
    """Rounded to so many significant digits, halves to even."""
    if not value:
        return value
    decimals = digits
    while abs(value) * Fraction(10) ** decimals >= 10**digits:
        decimals -= 1
    while abs(value) * Fraction(10) ** decimals < 10 ** (digits - 1):
        decimals += 1
    return round(value * Fraction(10) ** decimals) / Fraction(10) ** decimals


class Range:
    """Lowest, typical and highest."""

    def __init__(self, low, typical, high):
        self.low, self.typical, self.high = Fraction(low), Fraction(typical), Fraction(high)

    @staticmethod
    def of(low, high, typical=None):
        low, high = min(low, high), max(low, high)
        typical = (low + high) / 2 if typical is None else typical
        return Range(min(low, typical), typical, max(high, typical))

    @staticmethod
    def exactly(value):
        return Range(value, value, value)

    def __add__(self, other):
        return Range(self.low + other.low, self.typical + other.typical, self.high + other.high)

    def times(self, factor):
        return Range(self.low * factor, self.typical * factor, self.high * factor)

    def over(self, divisor):
        return Range(0, 0, 0) if divisor == 0 else self.times(1 / Fraction(divisor))

    def is_exact(self):
        return self.low == self.high


def total(ranges):
    result = Range(0, 0, 0)
    for one in ranges:
        result = result + one
    return result


def range_of(data):
    """A range of the document."""
    return Range(exact(data["low"]), exact(data["typical"]), exact(data["high"]))


def fact_range(fact):
    """A fact of a raw material as a range; `None` while it has neither a typical value nor both ends."""
    if fact is None:
        return None
    low, typical, high = (exact(fact[key]) if key in fact else None for key in ("min", "typical", "max"))
    if low is not None and high is not None:
        return Range.of(low, high, typical)
    if typical is not None:
        return Range.of(typical if low is None else low, typical if high is None else high, typical)
    return None


def months_after(day, months):
    """By the calendar, to the last day of a shorter month."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return day.replace(year=year, month=month + 1, day=min(day.day, calendar.monthrange(year, month + 1)[1]))


# How a value is printed -----------------------------------------------------------------------------------------------------


def minus(text):
    """A minus sign where a hyphen stands before the first digit of a number."""
    out = []
    for at, letter in enumerate(text):
        before = text[at - 1] if at else ""
        after = text[at + 1] if at + 1 < len(text) else ""
        out.append("\u2212" if letter == "-" and after.isdigit() and not before.isalnum() else letter)
    return "".join(out)


def with_unit(text, unit):
    return f"{text}{NBSP}{unit}" if unit else text


def quantity(value, decimals, unit):
    """So many decimals; what is not nothing never prints as nothing."""
    if half_even(value, decimals) == 0 and value != 0:
        word = f"above{NBSP}-" if value < 0 else f"under{NBSP}"
        return with_unit(f"{word}{fixed(Fraction(1, 10**decimals), decimals)}", unit)
    return with_unit(fixed(value, decimals), unit)


def quantity_range(span, decimals, unit):
    def shown(end, unit):
        return quantity(end, decimals, unit).replace("-", "\u2212")

    if shown(span.low, unit) == shown(span.high, unit):
        return shown(span.high, unit)
    dash = " to " if span.low < 0 else "\u2013"
    return f"{shown(span.low, '')}{dash}{shown(span.high, unit)}"


def reading(value, ends, decimals, unit):
    text = quantity(value, decimals, unit)
    if ends:
        span = quantity_range(Range.of(*ends), decimals, unit)
        if span != text:
            return f"{text} ({span})"
    return text


def percent(value, written=None):
    """A share with the digits it was written with, at most three; else two decimals, three below 0.1."""
    if written is not None and scale(written) <= 3:
        return f"{written}{NBSP}%"
    decimals = places(value, 3)
    if decimals is not None:
        return f"{fixed(value, decimals)}{NBSP}%"
    decimals = 3 if abs(value) < Fraction(1, 10) else 2
    if half_even(value, decimals) == 0:
        return f"under{NBSP}0.001{NBSP}%"
    # Rounding leaves no zeros behind that were not there.
    return f"{fixed(value, decimals)}{NBSP}%"


def percent_to(value, decimals):
    return quantity(value, decimals, "%")


def percent_range(span):
    if span.is_exact():
        share = span.typical
        own = places(share)
        if own is not None and (own <= 2 or (own == 3 and share < Fraction(1, 10))):
            return f"{fixed(share, own)}{NBSP}%"
        if share >= Fraction(1, 10):
            rounded = half_even(share, 2)
            return f"{fixed(rounded, places(rounded))}{NBSP}%"
        return percent(share)
    decimals = 2 if span.high < 1 else 1
    low, high = percent_to(span.low, decimals), percent_to(span.high, decimals)
    return low if low == high else f"{low[:-1].rstrip(NBSP)}\u2013{high}"


# Figures ------------------------------------------------------------------------------------------------------------------


class Figure:
    """What was recomputed: the exact value or ends, the text, the unit, and the decimals that it is printed with or was written with."""

    def __init__(self, text, value=None, low=None, high=None, unit="", digits=None, written=None):
        self.text, self.value, self.low, self.high = text, value, low, high
        self.unit, self.digits, self.written = unit, digits, written


def words(text):
    return Figure(text, value=text)


def mass(grams, decimals):
    return Figure(minus(quantity(grams, decimals, "g")), grams, unit="g", digits=decimals)


def exact_mass(grams):
    """A mass with the digits it has, at most six."""
    return mass(grams, min(places(grams) if places(grams) is not None else 6, 6))


def share(value, written=None):
    decimals = None if written is None else scale(written)
    return Figure(minus(percent(value, written)), value, unit="%", written=decimals)


def share_range(span):
    return Figure(minus(percent_range(span)), span.typical, span.low, span.high, "%")


def ph(low, high):
    """The ends as they are written."""
    text = low if exact(low) == exact(high) else f"{low}\u2013{high}"
    return Figure(text, low=exact(low), high=exact(high))


def ranged(span, decimals, unit):
    text = minus(quantity_range(span, decimals, unit))
    return Figure(text, span.typical, span.low, span.high, unit, decimals)


def number(value, decimals, unit):
    return Figure(minus(quantity(value, decimals, unit)), value, unit=unit, digits=decimals)


def read(value, ends, decimals, unit):
    low, high = ends if ends else (None, None)
    return Figure(minus(reading(value, ends, decimals, unit)), value, low, high, unit, decimals)
