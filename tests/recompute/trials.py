"""Trials of a formula: what was measured of each, and by how much its raw materials differ from what it was made from."""

import comparison
import figures as fig
from figures import Range, exact


def measured_of(trial, record):
    """What was measured, [(name, low, high, unit)]: by the trial itself, and what it does not say by its record."""
    found = [(one["name"], one["low"], one["high"], one.get("unit", "")) for one in trial["measured"]]
    names = {name for name, *_ in found}
    if record and record["viscosity"] and "viscosity" not in names:
        value, _, unit = record["viscosity"][-1]["value"].partition(" ")
        found.append(("viscosity", value, value, unit))
    if record and record["ph"] and "ph" not in names:
        day = lambda at: (record["ph"][at].get("date", record.get("date", "")), at)
        ph = record["ph"][max(range(len(record["ph"])), key=day)]["ph"]
        found.append(("ph", ph, ph, ""))
    return found


def made_from(name, block, collection):
    """The formula that a trial is a variant of; without one the base, and without that the first trial. `None` for the base itself."""
    base = block.get("base")
    if name == base:
        return None
    parent = collection.formulas[name].model.get("variant", {}).get("id")
    first = parent or base or block["trials"][0]["formula"]
    return None if first == name else first


def figures_of(block, collection):
    out = {"trials": fig.Figure(str(len(block["trials"])), exact(str(len(block["trials"]))))}
    if "choice" in block:
        out["chosen"] = fig.words(block["choice"]["trial"])
    for trial in block["trials"]:
        name = trial["formula"]
        record = collection.block(trial["record"]) if "record" in trial else None
        date = trial.get("date", record.get("date") if record else None)
        if date:
            out[f"{name}/date"] = fig.words(date)
        for what, low, high, unit in measured_of(trial, record):
            span = Range.of(exact(low), exact(high))
            decimals = max(fig.scale(low), fig.scale(high))
            out[f"{name}/measured/{what}"] = fig.ranged(span, decimals, unit)
        first = made_from(name, block, collection)
        if first:
            for path, figure in comparison.figures_of({"formulas": [first, name]}, collection).items():
                # What hangs on the size of a batch is not told of trials.
                if not path.endswith(("weight-difference", "per-batch-difference")):
                    out[f"{name}/{path}"] = figure
    return out
