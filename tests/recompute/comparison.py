"""Formulas and batches side by side: by how much they differ from the first, weighed for its batch."""

import copy
import re

import costing
import figures as fig
import record
from composition import active_parts
from figures import Range, exact, total
from formula import Formula
from workings import UNITS, VOLUME


def side_of(name, collection):
    """A formula, or what was really made by a record."""
    if name in collection.formulas:
        return collection.formulas[name]
    block = next(block for block in collection.blocks if block.get("id") == name)
    return record.Record(block["model"], collection).actual()


def batch_of(text, first):
    """A batch as it was typed, grams: `2 kg`, or `2 l` with the density of the first formula."""
    number, symbol = re.fullmatch(r"([0-9.]+)\s*(\S+)", text.strip()).groups()
    kind, factor = UNITS[symbol]
    density = exact(first.model["density"]["value"]) if kind == VOLUME else 1
    return exact(number) * factor * density


def sheet_for(formula, batch):
    model = copy.deepcopy(formula.model)
    model["batch"] = {"given": "mass", "mass": {"value": str(batch), "unit": "g"}}
    return Formula(model, formula.facts, formula.settings)


def figures_of(block, collection):
    names = block["formulas"]
    sides = [side_of(name, collection) for name in names]
    batch = batch_of(block["batch"], sides[0]) if "batch" in block else sides[0].batch
    sides = [sheet_for(side, batch) for side in sides]
    decimals = max(side.decimals for side in sides)
    out, first = {}, sides[0]
    for name, other in zip(names[1:], sides[1:]):
        before = f"{name}/" if len(names) > 2 else ""
        for material in dict.fromkeys(line.id for line in first.lines):
            if not any(line.id == material for line in other.lines):
                continue
            share = lambda side: sum(line.percent for line in side.lines if line.id == material)
            weight = lambda side: side.weight_of(lambda line: line.id == material)
            out[f"{before}{material}/percent-difference"] = fig.share(share(other) - share(first))
            out[f"{before}{material}/weight-difference"] = fig.mass(weight(other) - weight(first), decimals)
        active = active_difference(first, other)
        if active:
            out[f"{before}active-matter/percent-difference"] = fig.share_range(active)
        out.update(cost_difference(first, other, batch, before))
    return out


def active_difference(first, other):
    """Σ (other % − first %) × active matter: a raw material that stays adds nothing, whatever its range."""
    if first.active_unknown or other.active_unknown:
        return None
    changes = {}
    for side, sign in ((first, -1), (other, 1)):
        for line in side.lines:
            share = total(share for _, share in active_parts(line.data, line.material))
            key = line.id, share.low, share.typical, share.high
            changes[key] = changes.get(key, 0) + sign * line.percent
    ranges = []
    for (_, low, typical, high), change in changes.items():
        if change < 0:
            low, high = high, low
        ranges.append(Range(low * change / 100, typical * change / 100, high * change / 100))
    return total(ranges)


def cost_difference(first, other, batch, before):
    """By how much more the raw materials cost, at the latest prices and without waste; nothing while a price is not known."""
    currency = first.settings.get("currency")
    if not currency:
        return {}
    sums = []
    for side in (first, other):
        costs = [cost for _, _, cost in costing.cost_lines(side, batch, 1, None, currency).values()]
        if None in costs:
            return {}
        sums.append(sum(costs))
    money = lambda value: fig.number(value, costing.MINOR.get(currency, 2), currency)
    return {
        f"{before}cost/per-batch-difference": money(sums[1] - sums[0]),
        f"{before}cost/per-100-g-difference": money((sums[1] - sums[0]) * 100 / batch),
    }
