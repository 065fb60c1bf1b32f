"""A method weighed out: what each step adds, and what its vessel then holds. Weights are those of the formula's sheet."""

from fractions import Fraction

import figures as fig
from figures import exact
from weighing import apportioned

MAIN = None


def share_of(addition):
    """`whole`, `rest`, or a part of the line, as (kind, value)."""
    share = addition["share"]
    if isinstance(share, str):
        return share, None
    ((kind, value),) = share.items()
    return kind, exact(value["value"])


def claims(formula, steps):
    """What each step adds, [(line, share)] for each, in order. A phase takes what its steps did not name."""
    named, added = {}, []
    for number, step in enumerate(steps):
        for rank, addition in enumerate(step["add"]):
            if "line" not in addition:
                continue
            one = addition["line"]
            for at, line in enumerate(formula.lines):
                right_phase = "phase" not in one or one["phase"] == line.phase["key"]
                if one["material"] in (line.written, line.id) and right_phase:
                    named.setdefault(at, []).append(share_of(one))
                    added.append((number, rank, at, share_of(one)))
    for number, step in enumerate(steps):
        for rank, addition in enumerate(step["add"]):
            for at, line in enumerate(formula.lines):
                if addition.get("phase") != line.phase["key"]:
                    continue
                kinds = {kind for kind, _ in named.get(at, [])}
                if not kinds & {"whole", "rest"}:
                    added.append((number, rank, at, ("rest" if kinds else "whole", None)))
    added.sort(key=lambda claim: claim[:2])
    return added


def weights_of(formula, added):
    """The weight of each addition: parts are rounded to the balance, and the rest of the line takes the rounding."""
    out = [Fraction(0)] * len(added)
    for at in range(len(formula.lines)):
        mine = [place for place, claim in enumerate(added) if claim[2] == at]
        whole = formula.weights[at]
        shares = []
        for place in mine:
            kind, value = added[place][3]
            part = {"percent": lambda: value * whole / 100, "weight": lambda: value, "whole": lambda: whole}
            shares.append(part.get(kind, lambda: Fraction(0))())
        if sum(shares) == whole:
            parts = apportioned(shares, whole, whole, formula.step, None) if whole else shares
        else:
            parts = [round(share / formula.step) * formula.step for share in shares]
            rest = whole - sum(parts)
            parts = [rest if added[place][3][0] == "rest" else part for place, part in zip(mine, parts)]
        for place, part in zip(mine, parts):
            out[place] = part
    return out


def figures_of(block, collection):
    formula = collection.formulas[block["formula"]]
    added = claims(formula, block["steps"])
    weights = weights_of(formula, added)
    held, out = {}, {}
    tares = {MAIN: block["tare"]["value"]} if "tare" in block else {}
    for step in block["steps"]:
        if "tare" in step:
            tares.setdefault(step.get("vessel", MAIN), step["tare"]["value"])
    for number, step in enumerate(block["steps"]):
        vessel = step.get("vessel", MAIN)
        holds = held.get(vessel, Fraction(0))
        for poured in step["pour"]:
            holds += held.pop(poured, Fraction(0))
        sums = {}
        for claim, weight in zip(added, weights):
            if claim[0] == number:
                name = formula.lines[claim[2]].written
                sums[name] = sums.get(name, 0) + weight
        held[vessel] = holds + sum(sums.values())
        base = f"step/{number + 1}"
        out[f"{base}/vessel"] = fig.mass(held[vessel], formula.decimals)
        if vessel in tares:
            # A sum is not known more finely than its coarser part.
            tare = tares[vessel]
            decimals = min(fig.scale(tare), formula.decimals)
            out[f"{base}/with-tare"] = fig.mass(exact(tare) + held[vessel], decimals)
        for name, weight in sums.items():
            out[f"{base}/{name}/weight"] = fig.mass(weight, formula.decimals)
    return out
