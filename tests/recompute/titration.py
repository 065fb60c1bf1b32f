"""How much acid or base takes a batch to a pH, read off the titration of a sample."""

from fractions import Fraction

import figures as fig
from composition import counts
from figures import Range, exact, fact_range, places, total
from interpolation import Curve, read_off


def readings_of(block):
    """Grams to a hundred grams of the product that is still there, to twelve digits, and the pH read then."""
    product = exact(block["sample"]["value"])
    diluted = block.get("reading", {})
    portion = Fraction(0)
    if isinstance(diluted, dict) and "diluted" in diluted:
        taken = exact(diluted["diluted"]["product"]["value"])
        portion = taken if taken != product else portion
    so_far, ratio = Fraction(0), Fraction(0)
    for point in block["points"]:
        stated = exact(point["amount"]["value"])
        added = stated if block["basis"] == "each" else stated - so_far
        so_far += added
        ratio += added / product
        yield fig.significant(ratio * 100, 12), exact(point["ph"])
        # The portion for a reading takes product and what was added, in the proportion of the whole.
        product -= portion / (1 + ratio)


def strength_of(block, material):
    """How much of the raw material the substance is that its strength counts, %."""
    strength = material.get("strength", {})
    if "of" not in strength:
        return None
    if "strength" in block:
        return Range.exactly(exact(block["strength"]["value"]))
    usual = fact_range(strength)
    counted = [fact_range(part["percent"]) for part in material["contains"] if counts(material, part)]
    return usual or (None if None in counted else total(counted))


def figures_of(block, collection):
    material = collection.facts["names"][block["with"]]
    formula = collection.formulas[block["formula"]] if "formula" in block else None
    readings = list(readings_of(block))
    curve = Curve(readings)
    target = block.get("target") or formula.model["ph"]
    low, high = exact(target["low"]), exact(target["high"])
    middle = (low + high) / 2
    if "batch" in block:
        batch = exact(block["batch"]["value"])
    else:
        batch = formula.batch * (100 - sum(line.percent for line in formula.lines if line.id == material)) / 100
    # The dose is weighed on the balance of the batch; the one of the block is for the sample.
    balance = formula.model["balance"] if formula else collection.settings["balance"]
    decimals = places(exact(balance["readability"]["value"]))
    mass = lambda grams: fig.mass(grams, decimals)

    def per_hundred(ph):
        """What first reaches a pH."""
        found = curve.crossings(ph)
        return read_off(found[0][0]) if found else None

    ratio = per_hundred(middle)
    dose = ratio * batch / 100
    out = {"dose": mass(dose), "dose/half": mass(dose / 2)}
    if "resolution" in block:
        half = exact(block["resolution"]) / 2
        ends = [per_hundred(middle - half), per_hundred(middle + half)]
        if None not in ends:
            out["dose/least"] = mass(min(ends) * batch / 100)
            out["dose/most"] = mass(max(ends) * batch / 100)
    for end in (target["high"], target["low"]) if low != high else ():
        there = per_hundred(exact(end))
        if there is not None:
            out[f"dose/ph/{end}"] = mass(there * batch / 100)
    strength = strength_of(block, collection.facts["materials"][material])
    if strength:
        neat = strength.times(dose).over(100)
        digits = fig.decimals_for(neat.typical, 3)
        if neat.is_exact():
            out["dose-neat"] = fig.mass(neat.typical, digits)
        else:
            out["dose-neat"] = fig.read(neat.typical, (neat.low, neat.high), digits, "g")
    out["percent"] = fig.share(ratio * 100 / (100 + ratio))
    out["per-100g"] = fig.number(ratio, fig.decimals_for(ratio, 3), "g to 100 g")
    out["batch"] = mass(batch)
    out["target"] = fig.ph(target["low"], target["high"])
    ph_decimals = max(1, *(places(ph) for _, ph in readings))
    if readings[0][0] == 0:
        out["ph-start"] = fig.read(readings[0][1], None, ph_decimals, "")
    at_half = curve.at(ratio / 2)
    if at_half is not None:
        out["ph-half"] = fig.read(read_off(at_half), None, ph_decimals, "")
    return out
