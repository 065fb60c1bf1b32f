"""What a batch costs: weights as they are, with what is wasted, times what the packs cost with their postage."""

from fractions import Fraction

import figures as fig
from figures import exact, fact_range

# Decimals of the minor unit (ISO 4217); two for all others.
MINOR = {"JPY": 0, "KRW": 0, "ISK": 0, "CLP": 0, "VND": 0, "KWD": 3, "BHD": 3, "OMR": 3, "JOD": 3, "TND": 3}


def amount_of(measured, density):
    """Grams of a weight or volume; `None` for a volume without a density."""
    if "mass" in measured:
        return exact(measured["mass"]["value"])
    return None if density is None else exact(measured["volume"]["value"]) * density


def converted(money, currency, settings):
    """An amount in the currency of the costing; `None` without a rate."""
    value = exact(money["value"])
    if money["unit"] == currency:
        return value
    rate = settings.get("rates", {}).get(money["unit"])
    return value * exact(rate["is"]["value"]) if rate and rate["is"]["unit"] == currency else None


def total_of(price):
    """What a pack cost with its postage."""
    return exact(price["price"]["value"]) + (exact(price["postage"]["value"]) if "postage" in price else 0)


def price_of(material, day, currency, settings):
    """The price to reckon with, (what the pack cost, grams in it, its date): the latest by then, of one day the cheapest."""
    span = fact_range(material.get("density"))
    density = span.typical if span else None
    known = [price for price in material["prices"] if day is None or price["date"] <= day]
    if not known:
        return None
    known = [price for price in known if price["date"] == max(one["date"] for one in known)]

    def per_gram(price):
        grams = amount_of(price["pack"], density)
        return total_of(price) / grams if grams else Fraction(10**12)

    comparable = [price for price in known if price["price"]["unit"] == known[0]["price"]["unit"]]
    price = min(comparable, key=per_gram)
    grams = amount_of(price["pack"], density)
    whole = converted({"value": str(total_of(price)), "unit": price["price"]["unit"]}, currency, settings)
    return None if grams is None or whole is None else (whole, grams, price["date"])


def cost_lines(formula, batch, used, day, currency):
    """Each raw material once: (grams, price, cost)."""
    lines = {}
    for line in formula.lines:
        grams = line.amount * batch * used / exact(formula.model["whole"])
        lines[line.id] = lines.get(line.id, 0) + grams
    out = {}
    for material, grams in lines.items():
        price = price_of(formula.facts["materials"][material], day, currency, formula.settings)
        out[material] = grams, price, price and price[0] * grams / price[1]
    return out


def units_of(block, formula, batch):
    """How many units the batch gives; full ones only, where their content is said."""
    if "units" in block:
        return exact(block["units"])
    fill = formula.model["batch"]["given"]
    fill = fill.get("fill") if isinstance(fill, dict) else None
    content = block.get("content")
    if content is None and fill:
        if "batch" not in block:
            return exact(fill["units"])
        pack = fill["content"]
        content = pack if "mass" in pack else {"volume": pack["volume"][0]}
    if content is None:
        return None
    density = formula.model.get("density")
    unit = amount_of(content, exact(density["value"]) if density else None)
    # What a formula makes on top of its packs is made with every one of them.
    if "content" not in block:
        unit *= 1 + exact(fill["overfill"]["value"]) / 100
    return Fraction(batch // unit)


def figures_of(block, collection):
    formula = collection.formulas[block["formula"]]
    settings, currency = formula.settings, formula.settings["currency"]
    batch = exact(block["batch"]["value"]) if "batch" in block else formula.batch
    units = units_of(block, formula, batch)
    used = 1 + exact(block["waste"]["value"]) / 100
    lines = cost_lines(formula, batch, used, block.get("date"), currency)
    money = lambda value: fig.number(value, MINOR.get(currency, 2), currency)
    out = {}
    costs = [cost for _, _, cost in lines.values()]
    extras = {"packaging": [], "labour": [], "overheads": []}
    for item in block["packaging"]:
        one = converted(item["price"], currency, settings)
        extras["packaging"].append(None if one is None else one * exact(item["per_unit"]) * units)
    if "labour" in block:
        hours, rate = block["labour"]
        one = converted(rate, currency, settings)
        extras["labour"].append(None if one is None else one * exact(hours))
    if "overheads" in block:
        extras["overheads"].append(converted(block["overheads"], currency, settings))
    everything = costs + [cost for sort in extras.values() for cost in sort]
    # A sum in which something is missing is no figure: only what it is at least is one.
    if None not in everything:
        out["per-batch"] = money(sum(everything))
        if units is not None:
            out["per-unit"] = money(sum(everything) / units)
    else:
        out["at-least"] = money(sum(cost for cost in everything if cost is not None))
    if None not in costs:
        out["materials"] = money(sum(costs))
        out["per-100-g"] = money(sum(costs) * 100 / batch)
    else:
        out["materials/at-least"] = money(sum(cost for cost in costs if cost is not None))
    if units is not None:
        out["units"] = fig.Figure(fig.plain(units), units)
    for sort, all_of_it in extras.items():
        if all_of_it and None not in all_of_it:
            out[sort] = money(sum(all_of_it))
    dates = [price[2] for _, price, _ in lines.values() if price]
    if dates:
        out["oldest-price"] = fig.words(min(dates))
    for material, (grams, price, cost) in lines.items():
        out[f"{material}/weight"] = fig.mass(grams, formula.decimals)
        if cost is None:
            continue
        out[f"{material}/cost"] = money(cost)
        out[f"{material}/price"] = fig.read(price[0] * 1000 / price[1], None, MINOR.get(currency, 2), f"{currency}/kg")
        if None not in costs:
            out[f"{material}/share"] = fig.number(cost * 100 / sum(costs), 1, "%")
    return out
