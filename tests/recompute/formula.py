"""The figures of a formula: weights, shares, phases, what it is made of, and what rests on facts of its raw materials.

`figures_of` works from a model as the document has it; batch records and comparisons make such models of what was really weighed.
"""

from fractions import Fraction

import acids
import check
import composition as parts_of
import declaration
import emulsion
import figures as fig
import windows
from figures import Range, Unknown, exact, places, total
from weighing import apportioned

MILLILITRES = {"ml": 1, "cl": 10, "dl": 100, "l": 1000}


class Line:
    """A line of a formula with its raw material."""

    def __init__(self, data, phase, formula, facts):
        self.data, self.phase = data, phase
        self.written, self.id = data["written"], data["material"]
        self.material = facts["materials"][self.id]
        self.amount = exact(data["amount"])
        is_percent = formula["basis"] == "percent"
        whole = exact(formula["whole"])
        self.percent = self.amount if is_percent else self.amount * 100 / whole if whole else Fraction(0)
        # A typed share keeps its digits; a divided one has none of its own.
        self.digits = data["amount"] if is_percent else None
        self.is_balance = data.get("is_balance", False)

    def in_product(self, span):
        """A share of the raw material as a share of the product."""
        return span.times(self.percent).over(100)


def batch_of(model):
    """How much is made, grams."""
    given = model["batch"]["given"]
    if given == "default":
        return exact(model["whole"]) if model["basis"] == "weights" else Fraction(100)
    if given == "mass":
        return exact(model["batch"]["mass"]["value"])
    if "volume" in given:
        number, unit = given["volume"]["text"].split()
        return exact(number) * MILLILITRES[unit] * exact(given["volume"]["density"]["value"])
    fill = given["fill"]
    content = fill["content"]
    if "mass" in content:
        pack = exact(content["mass"]["value"])
    else:
        pack = exact(content["volume"][0]["value"]) * exact(fill["density"]["value"])
    return pack * exact(fill["units"]) * (1 + exact(fill["overfill"]["value"]) / 100)


class Formula:
    """A formula with its lines, its sheet and its substances."""

    def __init__(self, model, facts, settings):
        self.model, self.facts, self.settings = model, facts, settings
        self.phases = [
            (phase, [Line(line, phase, model, facts) for line in phase["lines"]]) for phase in model["phases"]
        ]
        self.lines = [line for _, lines in self.phases for line in lines]
        self.batch = batch_of(model)
        step = model["balance"]["readability"]["value"]
        self.step = exact(step)
        self.decimals = places(self.step)
        self.weights = apportioned(
            [line.amount for line in self.lines],
            exact(model["whole"]),
            self.batch,
            self.step,
            next((at for at, line in enumerate(self.lines) if line.is_balance), None),
        )
        self.batch_printed = round(self.batch / self.step) * self.step
        self.substances, self.constituents, self.bound, self.unnamed, self.unknown = parts_of.substances_of(self.lines)
        self.active, self.active_unknown = parts_of.active_of(self.lines)

    def weight_of(self, wanted):
        return sum(weight for line, weight in zip(self.lines, self.weights) if wanted(line))

    def water(self):
        return self.substances.get(parts_of.WATER, Range(0, 0, 0))

    def watery(self):
        """Water, and plant waters and juices, which are nearly all water."""
        return total(
            share
            for inci, share in self.substances.items()
            if inci == parts_of.WATER or inci.endswith((" Water", " Juice"))
        )


def sum_of_shares(lines):
    """Shares added: with as many decimals as the longest of them, where all were typed."""
    value = sum(line.percent for line in lines)
    if any(line.digits is None for line in lines) or not lines:
        return fig.share(value)
    return fig.share(value, fig.fixed(value, max(fig.scale(line.digits) for line in lines)))


def figures_of(formula, with_rules=True):
    """Every figure of a formula by the path below its id."""
    model, out = formula.model, {}
    mass = lambda grams: fig.mass(grams, formula.decimals)
    out["batch"] = fig.exact_mass(formula.batch)
    out["total/percent"] = fig.share(sum(line.percent for line in formula.lines))
    out["total/weight"] = mass(sum(formula.weights))
    out["water"] = Unknown() if formula.unknown else fig.share_range(formula.water())
    out["check-value"] = fig.words(check.check_value(formula))
    out["balance"] = fig.mass(formula.step, formula.decimals)
    for part in ("version", "title", "date"):
        if part in model:
            out[part] = fig.words(model[part])
    if "product" in model:
        out["product"] = fig.words(model["product"]["name"])
    if "ph" in model:
        out["ph"] = fig.ph(model["ph"]["low"], model["ph"]["high"])
    if "density" in model:
        density = model["density"]["value"]
        out["density"] = fig.Figure(fig.with_unit(density, "g/ml"), exact(density), unit="g/ml")
    if "fill" in model["batch"]["given"]:
        out.update(of_packs(model["batch"]["given"]["fill"]))
    out.update(windows.ph_figure(formula, "window/ph"))
    out.update(windows.heat_figure(formula, "window/temperature"))
    out.update(emulsion.figures_of(formula))
    out.update(of_active(formula))
    out.update(of_phases(formula, mass))
    out.update(of_lines(formula, mass))
    for inci, share in formula.substances.items():
        out[f"substance/{parts_of.slug(inci)}"] = fig.share_range(share)
    if with_rules:
        out.update(declaration.figures_of(formula))
        out.update(acids.figures_of(formula))
    return out


def of_packs(fill):
    out = {"units": fig.Figure(fig.plain(exact(fill["units"])), exact(fill["units"]))}
    if "mass" in fill["content"]:
        out["fill"] = fig.exact_mass(exact(fill["content"]["mass"]["value"]))
    else:
        volume, text = fill["content"]["volume"]
        out["fill"] = fig.Figure(text.replace(" ", fig.NBSP), exact(volume["value"]), unit="ml")
    return out


def of_active(formula):
    out = {}
    if not formula.active and not formula.active_unknown:
        return out
    paths = ["active-matter"] + [f"active-matter/{kind}" for kind in parts_of.CLASSES]
    if formula.active_unknown:
        return {path: Unknown() for path in paths}
    out["active-matter"] = fig.share_range(total(share for _, _, share in formula.active))
    for kind in parts_of.CLASSES:
        out[f"active-matter/{kind}"] = fig.share_range(
            total(share for _, known, share in formula.active if known == kind)
        )
    return out


def of_phases(formula, mass):
    out, so_far = {}, 0
    for phase, lines in formula.phases:
        base = f"phase/{phase['key']}"
        weights = formula.weights[so_far : so_far + len(lines)]
        out[f"{base}/percent"] = sum_of_shares(lines)
        out[f"{base}/weight"] = mass(sum(weights))
        so_far += len(lines)
        out[f"{base}/vessel"] = mass(sum(formula.weights[:so_far]))
        if "title" in phase:
            out[f"{base}/title"] = fig.words(phase["title"])
        if "hold" in phase:
            hold = exact(phase["hold"]["value"])
            out[f"{base}/hold"] = fig.number(hold, places(hold), "°C")
        # In a phase an address means the first line of its name.
        for line, weight in reversed(list(zip(lines, weights))):
            out[f"{base}/{line.written}/percent"] = fig.share(line.percent, line.digits)
            out[f"{base}/{line.written}/weight"] = mass(weight)
    return out


def of_lines(formula, mass):
    """The figures of each name, with all lines of that name added up."""
    out = {}
    for name in dict.fromkeys(line.written for line in formula.lines):
        lines = [line for line in formula.lines if name in (line.written, line.id)]
        first = lines[0]
        out[f"{name}/percent"] = sum_of_shares(lines)
        out[f"{name}/weight"] = mass(formula.weight_of(lambda line: line in lines))
        counted = [parts_of.counted_in_product(line) for line in lines]
        if any(share is not None for share in counted):
            out[f"{name}/active"] = fig.share_range(total(share for share in counted if share is not None))
        out[f"{name}/name"] = fig.words(first.material["name"])
        out[f"{name}/inci"] = fig.words(", ".join(parts_of.ingredients(first.material)))
        lots = [line.data["lot"] for line in lines if "lot" in line.data]
        if lots:
            out[f"{name}/lot"] = fig.words(lots[0])
        strengths = [fig.range_of(line.data["strength"]) for line in lines if "strength" in line.data]
        if strengths:
            out[f"{name}/strength"] = fig.share_range(total(strengths))
    return out
