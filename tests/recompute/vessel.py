"""The vessel while it is filled: what went in, what left it, and what the balance showed.

Steam takes of one raw material, water as a rule; a spill or a sample takes some of everything. What is missing before a top-up has
left as steam of what is put back. Within a phase its lines go in, losses leave, the vessel is weighed, top-ups go in; at the end it
is weighed last.
"""

from fractions import Fraction

from composition import WATER, ingredients
from figures import exact


def called(plan, name):
    """The lines that a name means: a raw material, by itself or with its phase before it."""
    phase, _, material = name.rpartition("/")
    phase, material = phase.strip(), material.strip()
    found = []
    for at, line in enumerate(plan.lines):
        names = [line.written, line.id] + line.material.get("also", [])
        if material in names and (not phase or line.phase["key"] == phase):
            found.append(at)
    return found


def water_line(plan):
    """The first line that is nothing but water."""
    return next((at for at, line in enumerate(plan.lines) if ingredients(line.material) == [WATER]), None)


def phase_of(entry):
    after = entry.get("after")
    return after if after is None else after.strip().removeprefix("phase ").strip()


class Vessel:
    """What happened in the vessel; amounts times scale are grams."""

    def __init__(self, record):
        self.record, self.plan, block = record, record.plan, record.block
        self.amounts = [Fraction(0)] * len(self.plan.lines)
        self.scale, self.unexplained, self.open = Fraction(1), Fraction(0), Fraction(0)
        self.foreign, self.stages = [], []
        self.sums = dict.fromkeys(("evaporation", "spill", "sample", "top-up"), Fraction(0))
        tare = exact(block["tare"]["value"]) if "tare" in block else None
        for key in [phase["key"] for phase, _ in self.plan.phases] + [None]:
            for at, line in enumerate(self.plan.lines):
                if line.phase["key"] == key:
                    self.amounts[at] += record.weighed[at] / self.scale
            here = lambda entries: [entry for entry in entries if phase_of(entry) == key]
            for loss in here(block["losses"]):
                self.lose(loss)
            top_ups = here(block["top_ups"])
            steam = self.target(top_ups[0], is_steam=True) if top_ups and key else None
            weighings = [exact(entry["weight"]["value"]) for entry in here(block["gross"])] if tare is not None else []
            if key:
                self.weigh(key, weighings, tare, steam)
            for entry in top_ups:
                self.top_up(entry)
            if not key:
                self.weigh(key, weighings, tare, None)

    def whole(self):
        return sum(self.amounts) + sum(amount for _, amount, _ in self.foreign)

    def content(self):
        return self.whole() * self.scale

    def lose(self, loss):
        weight = exact(loss["weight"]["value"])
        self.sums[loss["what"]] += weight
        if loss["what"] == "evaporation":
            line = called(self.plan, loss["of"])[0] if "of" in loss else water_line(self.plan)
            self.amounts[line] -= weight / self.scale
            self.open += weight
        else:
            self.scale *= (self.content() - weight) / self.content()

    def target(self, entry, is_steam=False):
        """The line that a top-up goes to; `None` for what the formula does not hold, whose steam is water's."""
        lines = called(self.plan, entry["with"])
        return lines[0] if lines else water_line(self.plan) if is_steam else None

    def weigh(self, key, weighings, tare, steam):
        for gross in weighings:
            content = gross - tare
            missing = self.content() - self.unexplained - content
            self.stages.append((key, content, missing, max(missing + self.open, Fraction(0))))
            if steam is not None and 0 < missing <= self.amounts[steam] * self.scale:
                self.amounts[steam] -= missing / self.scale
                self.open += missing
                self.sums["evaporation"] += missing
            else:
                self.unexplained += missing

    def top_up(self, entry):
        weight, line = exact(entry["weight"]["value"]), self.target(entry)
        if line is not None:
            self.amounts[line] += weight / self.scale
        else:
            material = self.plan.facts["names"][entry["with"].strip()]
            self.foreign.append((material, weight / self.scale, entry.get("lot")))
        self.open = max(self.open - weight, Fraction(0))
        self.sums["top-up"] += weight
