"""How much lye fats take. A saponification value is the mg of potassium hydroxide that a gram of fat takes (ISO 3657)."""

from fractions import Fraction

import figures as fig
from figures import exact, fact_range, range_of, total
from weighing import apportioned

# g/mol, rounded as soap makers' books have them.
MOLAR = {"Sodium Hydroxide": Fraction(40), "Potassium Hydroxide": Fraction("56.11")}
POTASSIUM = MOLAR["Potassium Hydroxide"]


class Fat:
    def __init__(self, data, grams, facts):
        self.name, self.grams = data["name"], grams
        material = facts["names"][data["name"]]
        if "value" in data:
            self.value = range_of(data["value"]["range"])
            if data["value"]["unit"] == "sodium_hydroxide":
                self.value = self.value.times(POTASSIUM / MOLAR["Sodium Hydroxide"])
        else:
            self.value = fact_range(facts["materials"][material]["saponification_value"])
        self.acids = facts["fatty_acids"].get(material)


def grams_of(block):
    """The weights of the fats; one may take the rest of 100 %."""
    batch = exact(block["batch"]["value"]) if "batch" in block else Fraction(0)
    given = sum(exact(fat["amount"]["percent"]["value"]) for fat in block["fats"] if "percent" in fat["amount"])
    for fat in block["fats"]:
        amount = fat["amount"]
        if amount == "rest":
            yield (100 - given) * batch / 100
        elif "mass" in amount:
            yield exact(amount["mass"]["value"])
        else:
            yield exact(amount["percent"]["value"]) * batch / 100


def lyes_of(block, facts):
    """Each hydroxide: [name, molar mass, purity, the part of the fat that it saponifies]."""
    lyes = []
    for lye in block["lyes"]:
        parts = facts["materials"][facts["names"][lye["name"]]]["contains"]
        part = next(part for part in parts if part["inci"] in MOLAR)
        purity = range_of(lye["purity"]) if "purity" in lye else fact_range(part["percent"])
        lyes.append([lye["name"], MOLAR[part["inci"]], purity, Fraction(1)])
    if len(lyes) == 2:
        at = next(at for at, lye in enumerate(block["lyes"]) if "share" in lye)
        share, of = block["lyes"][at]["share"]
        part = exact(share["value"]) / 100
        if of == "alkali":
            own = part / lyes[at][1]
            part = own / (own + (1 - part) / lyes[1 - at][1])
        lyes[at][3], lyes[1 - at][3] = part, 1 - part
    return lyes


def water_for(water, lye, fats):
    """Grams of water, for the lye as it is weighed."""
    ((kind, value),) = water.items()
    value = exact(value["value"] if isinstance(value, dict) else value)
    return {
        "strength": lambda: lye / value * (100 - value),
        "ratio": lambda: lye * value,
        "of_fats": lambda: fats * value / 100,
        "mass": lambda: value,
    }[kind]()


def figures_of(block, collection):
    facts = collection.facts
    balance = block.get("balance", collection.settings["balance"])
    step = exact(balance["readability"]["value"])
    decimals = fig.places(step)
    rounded = lambda grams: round(grams / step) * step
    mass = lambda grams: fig.mass(grams, decimals)
    fats = [Fat(fat, grams, facts) for fat, grams in zip(block["fats"], grams_of(block))]
    whole = sum(fat.grams for fat in fats)
    printed = apportioned([fat.grams for fat in fats], whole, whole, step, None)
    for fat, grams in zip(fats, printed):
        # Weights that were written are printed as such; only those worked out from per cent are made to add up.
        fat.weighed = grams if "batch" in block else rounded(fat.grams)
        fat.percent = fat.grams * 100 / whole
    moles = lambda grams, value: grams * value / 1000 / POTASSIUM
    lyes, superfat = lyes_of(block, facts), exact(block["superfat"]["value"])
    full = sum(moles(fat.grams, fat.value.typical) for fat in fats)
    wanted = full * (100 - superfat) / 100
    weighed = {name: rounded(wanted * part * molar * 100 / purity.typical) for name, molar, purity, part in lyes}
    lye, fat_sum = sum(weighed.values()), sum(fat.weighed for fat in fats)
    water = rounded(water_for(block["water"], lye, whole))

    def taken(end):
        return sum(moles(fat.weighed, getattr(fat.value, end)) for fat in fats)

    def brought(end):
        return sum(weighed[name] * getattr(purity, end) / 100 / molar for name, molar, purity, _ in lyes)

    out = {}
    for fat in fats:
        out[f"{fat.name}/weight"] = mass(fat.weighed)
        out[f"{fat.name}/percent"] = fig.share(fat.percent)
        out[f"{fat.name}/saponification-value"] = fig.number(fat.value.typical, 1, "mg KOH/g")
        pure = sum(moles(fat.grams, fat.value.typical) * part * molar for _, molar, _, part in lyes)
        out[f"{fat.name}/lye"] = mass(rounded(pure))
    out.update({name: mass(grams) for name, grams in weighed.items()})
    out["lye"], out["water"], out["lye-solution"] = mass(lye), mass(water), mass(lye + water)
    out["lye-strength"] = fig.number(lye * 100 / (lye + water), 1, "%")
    out["fats"], out["total"] = mass(fat_sum), mass(fat_sum + lye + water)
    out["superfat"] = fig.share(superfat, block["superfat"]["value"])
    # The worst case: the fats take least and the lye is strongest. And the other way round.
    out["superfat/lowest"] = fig.number((1 - brought("high") / taken("low")) * 100, 1, "%")
    out["superfat/highest"] = fig.number((1 - brought("low") / taken("high")) * 100, 1, "%")
    left = max(brought("high") - taken("low"), Fraction(0)) * MOLAR["Sodium Hydroxide"]
    out["free-alkali"] = fig.number(left * 100 / (fat_sum + lye + water), 2, "%")
    mean = sum(fat.percent * fat.value.typical for fat in fats) / 100
    out["saponification-value"] = fig.number(mean, 1, "mg KOH/g")
    out.update(acids_of(fats))
    return out


def acids_of(fats):
    """The fatty acids of the fats of which they are known."""
    known = [fat for fat in fats if fat.acids]
    percent, sums = sum(fat.percent for fat in known), {}
    for fat in known:
        for acid, share in fat.acids["acids"]:
            sums.setdefault(acid, []).append(range_of(share).times(fat.percent))
    return {
        f"acids/{acid}": fig.share_range(total(parts).over(percent))
        for acid, parts in sums.items()
        if total(parts).high > 0
    }
