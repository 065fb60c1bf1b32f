"""What has to be bought: all that is made, less what is in the cupboard, in the whole packs that cost least."""

import math
from fractions import Fraction

import figures as fig
from costing import MINOR, amount_of, converted, total_of
from figures import exact, fact_range
from kit import Kit, batch_of


def needs(block, collection):
    """Grams of each raw material, and the decimals of the finest balance."""
    used, reserve = (1 + exact(block["overage"]["value"]) / 100, exact(block["dose_reserve"]["value"]) / 100)
    out, decimals = {}, 0
    for entry in block["make"]:
        if entry["is_kit"]:
            kit = Kit(collection.block(entry["id"]), collection)
            decimals = max(decimals, kit.decimals)
            for material, cups in kit.of_material.items():
                out[material] = out.get(material, 0) + cups["total"]
            continue
        formula = collection.formulas[entry["id"]]
        decimals = max(decimals, formula.decimals)
        share = batch_of(entry, formula) * used / exact(formula.model["whole"])
        for line in formula.lines:
            # A line written as a volume counts with its upper end, a dose to effect with the reserve.
            amount = line.amount + exact(line.data.get("uncertainty", "0"))
            amount += line.amount * reserve if "effect" in line.data else 0
            out[line.id] = out.get(line.id, 0) + amount * share
    return out, decimals


def counts(stock, material, day):
    """Whether stock is taken off: counted by the day, and its lot not past its date."""
    if day is None:
        return True
    lot = next((lot for lot in material["lots"] if lot["number"] == stock.get("lot")), {})
    return stock["date"] <= day <= lot.get("expires", day)


def purchase(material, missing, day, density, settings):
    """The cheapest packs of one or two sizes, [(how many, price, grams)]; of equal ones the fewest, then the first listed."""
    known = [price for price in material["prices"] if day is None or price["date"] <= day]
    latest = max((price["date"] for price in known), default=None)
    sizes = [(price, amount_of(price["pack"], density)) for price in known if price["date"] == latest]
    sizes = [(price, grams) for price, grams in sizes if grams is not None]
    offers = []
    for at, (price, grams) in enumerate(sizes):
        offers.append([(math.ceil(missing / grams), price, grams)])
        for other, content in sizes[at + 1 :]:
            if other["price"]["unit"] != price["price"]["unit"]:
                continue
            large, small = sorted([(grams, price), (content, other)], key=lambda size: -size[0])
            for number in range(1, math.ceil(missing / large[0])):
                rest = math.ceil((missing - number * large[0]) / small[0])
                offers.append([(number, large[1], large[0]), (rest, small[1], small[0])])

    def worth(offer):
        money = {"value": str(cost_of(offer)), "unit": offer[0][1]["price"]["unit"]}
        value = converted(money, settings.get("currency", money["unit"]), settings)
        return value is None, value or 0, sum(number for number, _, _ in offer)

    return min(offers, key=worth, default=None)


def cost_of(packs):
    return sum(number * total_of(price) for number, price, _ in packs)


def figures_of(block, collection):
    settings, day, out = collection.settings, block.get("date"), {}
    needed, decimals = needs(block, collection)
    money = lambda value, currency: fig.number(value, MINOR.get(currency, 2), currency)
    mass = lambda grams: fig.mass(grams, decimals)
    paid, all_known = {}, True
    for name, grams in needed.items():
        material = collection.facts["materials"][name]
        span = fact_range(material.get("density"))
        density = span.typical if span else None
        out[f"{name}/needed"] = mass(grams)
        if any(other == name or other in material.get("also", []) for other in block["not_bought"]):
            continue
        stock = Fraction(0)
        if block["stock"]:
            amounts = [amount_of(one["amount"], density) for one in material["stocks"] if counts(one, material, day)]
            stock = sum((amount for amount in amounts if amount is not None), stock)
            out[f"{name}/in-stock"] = mass(stock)
        missing = max(grams - stock, Fraction(0))
        out[f"{name}/to-buy"] = mass(missing)
        packs = purchase(material, missing, day, density, settings) if missing else []
        if packs is None:
            all_known = False
            continue
        bought = sum(number * content for number, _, content in packs)
        out[f"{name}/left-over"] = mass(stock + bought - grams)
        if packs:
            currency = packs[0][1]["price"]["unit"]
            words = [
                f"{number}{fig.NBSP}×{fig.NBSP}{price['pack_text'].replace(' ', fig.NBSP)}"
                for number, price, _ in packs
                if number
            ]
            out[f"{name}/packs"] = fig.words(" and ".join(words))
            out[f"{name}/bought"] = mass(bought)
            out[f"{name}/cost"] = money(cost_of(packs), currency)
            paid[currency] = paid.get(currency, 0) + cost_of(packs)
    for currency, sum_of_it in paid.items():
        out[f"cost/{currency}"] = money(sum_of_it, currency)
    own = settings.get("currency") or (next(iter(paid)) if len(paid) == 1 else None)
    if own:
        sums = [converted({"value": str(value), "unit": unit}, own, settings) for unit, value in paid.items()]
        is_whole = all_known and None not in sums
        out["cost" if is_whole else "at-least"] = money(sum(value for value in sums if value is not None), own)
    return out
