"""The list of ingredients, in the order that the rules ask for.

EU: Regulation (EC) No 1223/2009, Article 19(1)(g), with the allergens of Regulation (EU) 2023/1545. US: 21 CFR 701.3.
"""

from fractions import Fraction

import figures as fig
from composition import WATER, as_on_label, serves, taken_apart
from figures import Range, exact, fact_range, total

FRAGRANCE = {"eu": "Parfum", "us": "Fragrance"}
ORDERED, FREE, COLOUR = range(3)


def rules_of(settings):
    """The first rule set of the collection that has rules for declarations; the EU's where none has."""
    return next((rules for rules in settings.get("rules", []) if rules in FRAGRANCE), "eu")


def figures_of(formula):
    out = {f"declaration/{rules}": fig.words(text(formula, rules)) for rules in FRAGRANCE}
    out["declaration"] = out[f"declaration/{rules_of(formula.settings)}"]
    return out


def text(formula, rules):
    return ", ".join(names(formula, rules))


def names(formula, rules):
    """The names in order: by weight, then below the line in any order (by weight too), colours last."""
    sums = {}
    for line in formula.lines:
        is_scent = serves(line.material, "fragrance") and not serves(line.material, "preservative")
        for part, share in as_on_label(line.data, line.material):
            if share is None or line.in_product(share).high == 0:
                continue
            is_colour = part["inci"].startswith("CI ")
            name = formula.facts["label_names"][rules].get(part["inci"], part["inci"])
            if is_scent and not is_colour and part["inci"] != WATER:
                name = FRAGRANCE[rules]
            key = (is_colour, name)
            sums[key] = sums.get(key, Range(0, 0, 0)) + line.in_product(share)
    named = allergens(formula, sums) if rules == "eu" else set()

    def place(entry):
        (is_colour, name), share = entry
        is_free = share.typical < 1 if rules == "eu" else share.typical <= 1
        group = COLOUR if is_colour else FREE if is_free else ORDERED
        # Of equal shares the fragrance comes before what is named of it.
        return group, -share.typical, name in named, name

    return [name for (_, name), _ in sorted(sums.items(), key=place)]


def allergens(formula, sums):
    """Puts the allergens above their trigger into the list, and tells their names."""
    use = formula.model.get("product", {}).get("product_use", "leave_on").replace("_", "-")
    trigger = formula.facts["allergens"]["triggers"].get(use)
    named = set()
    if trigger is None:
        return named
    for allergen in formula.facts["allergens"]["substances"]:
        share = total(line.in_product(held(line, allergen)) for line in formula.lines)
        if share.high <= exact(trigger):
            continue
        key = next((key for key in sorted(sums) if key[1].lower() == allergen["name"].lower()), (False, allergen["name"]))
        sums[key] = share
        named.add(key[1])
    return named


def held(line, allergen):
    """All of an allergen in a raw material, as a substance and in its oils, %; no more than the whole."""
    covered = {name.lower() for name in allergen["substances"]}
    share = total(
        one
        for part, one in taken_apart(line.data, line.material)[0]
        if one is not None and part["inci"].lower() in covered
    )
    for part in line.material["constituents"]:
        if part["inci"].lower() in covered:
            share = share + of_oil(part["percent"])
    return Range(*(min(end, Fraction(100)) for end in (share.low, share.typical, share.high)))


def of_oil(fact):
    """A constituent's share of its oil: from nothing where no lowest is known, up to all of it where no highest is."""
    return fact_range(fact) or Range.of(exact(fact.get("min", "0")), exact(fact.get("max", "100")))
