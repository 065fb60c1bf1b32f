"""What is weighed out for a class: the cups of a table as its weighing sheet has them, and the total of all tables."""

from fractions import Fraction

import figures as fig
from figures import exact, places
from weighing import apportioned


def batch_of(entry, formula):
    """How much of a formula one entry of `make` makes, grams."""
    batch = entry.get("batch")
    if batch is None:
        return formula.batch
    if "mass" in batch:
        return exact(batch["mass"]["value"])
    return exact(batch["volume"]["value"]) * exact(formula.model["density"]["value"])


class Kit:
    """The cups of one table, and what is weighed out of each raw material."""

    def __init__(self, block, collection):
        self.tables = exact(block["tables"])
        self.cups, self.of_material = [], {}
        for entry in block["make"]:
            formula = collection.formulas[entry["id"]]
            taker = next((at for at, line in enumerate(formula.lines) if line.is_balance), None)
            whole = exact(formula.model["whole"])
            amounts = [line.amount for line in formula.lines]
            weights = apportioned(amounts, whole, batch_of(entry, formula), formula.step, taker)
            for line, weight in zip(formula.lines, weights):
                self.cups.append((formula, line, weight))
                cups = self.of_material.setdefault(line.id, {"cup": Fraction(0), "dosed": Fraction(0), "step": formula.step})
                cups["cup"] += weight
                cups["dosed"] += weight if "effect" in line.data else 0
                cups["step"] = min(cups["step"], formula.step)
        self.decimals = max(formula.decimals for formula, _, _ in self.cups)
        reserve, overage = (exact(block[key]["value"]) / 100 for key in ("dose_reserve", "overage"))
        for cups in self.of_material.values():
            wanted = (cups["cup"] + cups["dosed"] * reserve) * self.tables * (1 + overage)
            cups["total"] = round(wanted / cups["step"]) * cups["step"]
            # Never less than what the cups take.
            if cups["total"] < cups["cup"] * self.tables:
                cups["total"] += cups["step"]


def figures_of(block, collection):
    kit = Kit(block, collection)
    count = lambda number: fig.Figure(fig.plain(Fraction(number)), Fraction(number))
    out = {
        "tables": count(kit.tables),
        "cups": count(len(kit.cups)),
        "table": fig.mass(sum(cups["cup"] for cups in kit.of_material.values()), kit.decimals),
        "total": fig.mass(sum(cups["total"] for cups in kit.of_material.values()), kit.decimals),
    }
    for material, cups in kit.of_material.items():
        for part in ("cup", "total"):
            out[f"{material}/{part}"] = fig.mass(cups[part], places(cups["step"]))
    for formula, line, weight in kit.cups:
        # Of two lines of one raw material in a phase the address leads to the first.
        out.setdefault(f"{formula.model['id']}/{line.phase['key']}/{line.id}/cup", fig.mass(weight, formula.decimals))
    return out
