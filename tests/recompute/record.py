"""Batch records: what was weighed beside what was planned, the vessel from phase to phase, and the product as it came out."""

import copy
from fractions import Fraction

import declaration
import figures as fig
import formula as formulas
from figures import exact, fact_range, places, plain, range_of
from formula import Formula
from vessel import Vessel, called


def masses(decimals):
    """Prints grams with the digits of the balance, or more where more were written."""

    def mass(grams):
        own = places(grams)
        return fig.mass(grams, max(own, decimals) if own is not None and own <= 6 else decimals)

    return mass


class Record:
    """A batch record with its lines, worked out."""

    def __init__(self, block, collection):
        self.block = block
        of = collection.formulas[block["formula"]]
        model = copy.deepcopy(of.model)
        if "batch" in block:
            model["batch"] = {"given": "mass", "mass": block["batch"]}
        self.plan = Formula(model, of.facts, of.settings)
        lines = self.plan.lines
        another = "version" in block and block["version"] != model.get("version")
        as_planned = block["rest_as_planned"] and not block["is_blank"] and not another
        self.weighed = [weight if as_planned else None for weight in self.plan.weights]
        self.is_as_planned = [as_planned] * len(lines)
        usual = [line.data.get("lot") for line in lines]
        for name, lot in block["lots"]:
            for at in called(self.plan, name):
                usual[at] = lot
        # The lots of each line with what was weighed of each, in grams.
        self.lots = [{} for _ in lines]
        for one in block["weighed"]:
            at = called(self.plan, one["material"])[0]
            if one["portions"]:
                self.weighed[at] = sum(exact(portion["value"]) for portion in one["portions"])
                self.is_as_planned[at] = False
            usual[at] = one.get("lot", usual[at])
            for portion, lot in zip(one["portions"], one["lots"]):
                lot = usual[at] if lot is None else lot
                self.lots[at][lot] = self.lots[at].get(lot, 0) + exact(portion["value"])
        for at, lots in enumerate(self.lots):
            if not lots and usual[at] is not None:
                lots[usual[at]] = self.weighed[at]
        self.total = None if None in self.weighed else sum(self.weighed)
        self.vessel = None if self.total is None else Vessel(self)

    def key_of(self, line):
        several = sum(other.written == line.written for other in self.plan.lines) > 1
        return f"{line.phase['key']}/{line.written}" if several else line.written

    def actual(self):
        """The formula of what is in the vessel at the end."""
        vessel = self.vessel
        if vessel is None or self.block["is_blank"] or vessel.whole() <= 0:
            return None
        model = copy.deepcopy(self.plan.model)
        rest = zip(vessel.amounts, self.lots)
        for phase in model["phases"]:
            for line in phase["lines"]:
                amount, lots = next(rest)
                line.update(amount=str(amount), is_balance=False)
                name = ", ".join(lot for lot in lots if lot is not None) or None
                if name != line.get("lot"):
                    strength = self.mixed(line, lots)
                    line.pop("strength", None)
                    self.put_lot(line, name)
                    if strength:
                        line["strength"] = strength
        for material, amount, lot in vessel.foreign:
            line = {"written": material, "material": material, "amount": str(amount)}
            self.put_lot(line, lot)
            model["phases"][-1]["lines"].append(line)
        model["basis"], model["whole"] = "weights", str(vessel.whole())
        model["batch"] = {"given": "mass", "mass": {"value": str(vessel.content()), "unit": "g"}}
        return Formula(model, self.plan.facts, self.plan.settings)

    def mixed(self, line, lots):
        """The strength of several lots as they were weighed; one that is not known is as strong as the raw material usually is."""
        if len(lots) < 2:
            return None
        material = self.plan.facts["materials"][line["material"]]
        listed = {known["number"]: known.get("strength") for known in material["lots"]}
        own = {lot: line.get("strength") if lot == line.get("lot") else listed.get(lot) for lot in lots}
        usual = fact_range(material["strength"]) if "strength" in material else None
        weighed = sum(lots.values())
        if not any(own.values()) or not (all(own.values()) or usual) or not weighed:
            return None
        parts = [(range_of(own[lot]) if own[lot] else usual).times(grams) for lot, grams in lots.items()]
        ends = {end: round(sum(getattr(part, end) for part in parts) / weighed, 6) for end in ("low", "typical", "high")}
        return {end: plain(value) for end, value in ends.items()}

    def put_lot(self, line, lot):
        """A lot of a raw material with the strength that the collection knows of it."""
        line.pop("lot", None)
        if lot is None:
            return
        line["lot"] = lot
        for known in self.plan.facts["materials"][line["material"]]["lots"]:
            if known["number"] == lot and "strength" in known:
                line["strength"] = known["strength"]


def figures_of(block, collection):
    record = Record(block, collection)
    mass = masses(record.plan.decimals)
    out = {"batch": mass(record.plan.batch_printed)}
    if "date" in block:
        out["date"] = fig.words(block["date"])
    for at, line in enumerate(record.plan.lines):
        out.update(of_line(record, at, line, mass))
    if record.total is not None and not block["is_blank"]:
        out["total"] = mass(record.total)
    if record.vessel:
        out.update(of_vessel(record.vessel, mass))
    if "filled" in block:
        filled = exact(block["filled"]["value"])
        out["yield"] = mass(filled)
        out["yield/percent"] = fig.share(filled * 100 / record.plan.batch_printed)
    if "batch_number" in block:
        out["batch-number"] = fig.words(block["batch_number"])
    if "release" in block:
        out["release"] = fig.words(block["release"]["decision"])
        if "date" in block["release"]:
            out["release/date"] = fig.words(block["release"]["date"])
    if "packs" in block and "filled" in block and exact(block["packs"]):
        out["yield/per-pack"] = mass(exact(block["filled"]["value"]) / exact(block["packs"]))
    if "packs" in block:
        out["packs"] = fig.Figure(plain(exact(block["packs"])), exact(block["packs"]))
    out.update(of_ph(block))
    actual = record.actual()
    if actual:
        out["declaration"] = fig.words(declaration.text(actual, declaration.rules_of(actual.settings)))
        for path, figure in formulas.figures_of(actual, with_rules=False).items():
            # The specification is no property of what was made.
            if path != "ph":
                out[f"actual/{path}"] = figure
    return out


def of_line(record, at, line, mass):
    key, planned, weighed = record.key_of(line), record.plan.weights[at], record.weighed[at]
    out = {f"{key}/planned": mass(planned)}
    if weighed is None:
        return out
    out[f"{key}/weighed"] = mass(weighed)
    if "effect" not in line.data:
        out[f"{key}/deviation"] = mass(weighed - planned)
        if planned:
            out[f"{key}/deviation/percent"] = fig.share((weighed - planned) * 100 / planned)
    elif not record.is_as_planned[at] and record.total is not None and record.total != weighed:
        ratio = weighed * 100 / (record.total - weighed)
        out[f"{key}/per-100g"] = fig.number(ratio, fig.decimals_for(ratio, 3), "g to 100 g")
    return out


def of_vessel(vessel, mass):
    out = {"content": mass(vessel.content())}
    for after, content, missing, restores in vessel.stages:
        base = f"after/{after}" if after else "end"
        out.update(
            {f"{base}/content": mass(content), f"{base}/missing": mass(missing), f"{base}/top-up": mass(restores)}
        )
    for what, grams in vessel.sums.items():
        out[what] = mass(grams)
    return out


def step_of(reading):
    """The step of a reading: as stated, or the last digit that was written; of a strip nothing follows from its digits."""
    if "resolution" in reading:
        return exact(reading["resolution"])
    if "strip" in reading.get("with", "").lower():
        return None
    return Fraction(1, 10 ** fig.scale(reading["ph"]))


def of_ph(block):
    out, readings = {}, block["ph"]
    if not readings:
        return out
    shown = lambda reading: fig.read(exact(reading["ph"]), None, fig.scale(reading["ph"]), "")
    # The last of the last day counts.
    day = lambda at: (readings[at].get("date", block.get("date", "")), at)
    last = readings[max(range(len(readings)), key=day)]
    out["ph"] = shown(last)
    step = step_of(last)
    if step is not None:
        for name, end in (("low", exact(last["ph"]) - step / 2), ("high", exact(last["ph"]) + step / 2)):
            out[f"ph/{name}"] = fig.read(end, None, places(end), "")
    for at, reading in enumerate(readings, 1):
        out[f"ph/{at}"] = shown(reading)
    return out
