"""Weak acids that preserve: how much of them there is, and how much of that has all its protons at the pH of the formula.

1 ÷ (1 + 10^(pH − pKa)) for one step (OpenStax, Chemistry 2e, section 14.6), rounded to eight significant digits.
"""

from decimal import Context, Decimal
from fractions import Fraction

import figures as fig
from composition import serves, slug
from figures import Range, exact

EXACT = Context(prec=60)


def undissociated(ph, steps):
    """The share, from 0 to 1, of an acid with these pKa values, the most acid first."""
    divisor, exponent = Decimal(1), Decimal(0)
    for step in steps:
        exponent += Decimal(ph) - Decimal(step)
        divisor += EXACT.power(Decimal(10), exponent)
    return Fraction(Context(prec=8).create_decimal(EXACT.divide(Decimal(1), divisor)))


def as_acid(substances, inci, acid):
    """Grams of the acid that a gram of a substance counts as, by their molar masses."""
    if inci == acid:
        return Fraction(1)
    masses = [substances.get(name, {}).get("molar_mass") for name in (acid, inci)]
    spans = [fig.fact_range(mass) for mass in masses]
    if None in spans:
        return Fraction(0)
    return spans[0].typical * exact(substances[inci].get("units", "1")) / spans[1].typical


def weak_acids(formula):
    """Each acid that a preservative brings, with its dose, % of the product."""
    gives = formula.facts["preserving_acids"]
    found = set()
    for line in formula.lines:
        if serves(line.material, "preservative") and line.amount:
            found.update(gives[part["inci"]] for part in line.material["contains"] if part["inci"] in gives)
    for acid in sorted(found):
        dose = Range(0, 0, 0)
        for inci, share in formula.substances.items():
            if gives.get(inci) == acid:
                dose = dose + share.times(as_acid(formula.facts["substances"], inci, acid))
        yield acid, dose


def figures_of(formula):
    out, ph = {}, formula.model.get("ph")
    for acid, dose in weak_acids(formula):
        base = f"undissociated/{slug(acid)}"
        out[f"{base}/dose"] = fig.share_range(dose)
        if ph:
            steps = formula.facts["substances"][acid]["pka"]["pka"]
            share = Range.of(undissociated(ph["high"], steps), undissociated(ph["low"], steps))
            left = Range(dose.low * share.low, dose.typical * share.typical, dose.high * share.high)
            out[base] = fig.share_range(share.times(100))
            out[f"{base}/left"] = fig.share_range(left)
    return out
