"""The blocks of a document, and which module works out the figures of which kind."""

import acids
import comparison
import costing
import curve
import declaration
import figures
import filling
import formula as formulas
import kit
import method
import record
import saponification
import shopping
import stability
import titration
import trials
import windows
import workings
from formula import Formula


class Collection:
    """A document with its formulas at hand by their ids."""

    def __init__(self, document):
        self.document = document
        self.facts, self.settings = document["facts"], document["settings"]
        self.known = {}
        self.blocks = [block for notebook in document["notebooks"] for block in notebook["blocks"]]
        self.formulas = {
            block["id"]: Formula(block["model"], self.facts, self.settings)
            for block in self.blocks
            if block["kind"] == "formula"
        }

    def figure(self, block_id, path):
        """The figure of a block that has an id; `None` where it has none at that path."""
        if block_id not in self.known:
            block = next(block for block in self.blocks if block.get("id") == block_id)
            self.known[block_id] = self.figures_of(block)
        return self.known[block_id].get(path)

    def block(self, block_id):
        """What a block says, by its id."""
        return next(block["model"] for block in self.blocks if block.get("id") == block_id)

    def watched(self, block_id):
        """What a log is about: when it was made, and the pH that its formula states."""
        block = self.block(block_id)
        if "formula" not in block:
            return {"ph": block["ph"]} if "ph" in block else {}
        formula = self.formulas[block["formula"]].model
        return {"made": block.get("date"), **({"ph": formula["ph"]} if "ph" in formula else {})}

    def figures_of(self, block):
        """The figures of a block by the path below its id; none where the kind is not attempted."""
        if block["kind"] == "formula":
            return formulas.figures_of(self.formulas[block["id"]])
        work_out = KINDS.get(block["kind"])
        return work_out(block["model"], self) if work_out else {}


def window(block, collection):
    """The windows of a formula, and the weak acids that preserve it."""
    formula, out = collection.formulas[block["formula"]], {}
    if block["show"] in ("both", "ph"):
        out.update(windows.ph_figure(formula, "ph"))
        out.update(acids.figures_of(formula))
    if block["show"] in ("both", "temperature"):
        out.update(windows.heat_figure(formula, "temperature"))
    return out


def ingredients(block, collection):
    """The list of a declaration, by its own rules or those of the collection."""
    rules = block.get("rules", declaration.rules_of(collection.settings))
    return {"text": figures.words(declaration.text(collection.formulas[block["formula"]], rules))}


# What is not reckoned again, and why. None of it stands in the demo collection.
LEFT_OUT = {
    "buffer": "the pH of a solution needs the ions of all its solutes and their activities",
    "curve": "how far repeated readings leave open where a value is reached",
    "dilution": "stocks of several strengths that share a vessel",
    "saponification": "what mends a batch with too much or too little lye",
    "workings": "readings of temperature, and units that workings.py does not list",
}

# What works out which kind of block, from its model and the collection.
KINDS = {
    "batch-record": record.figures_of,
    "comparison": comparison.figures_of,
    "costing": costing.figures_of,
    "curve": curve.figures_of,
    "declaration": ingredients,
    "expect": lambda block, collection: {},
    "filling": filling.figures_of,
    "kit": kit.figures_of,
    "label": filling.label_figures,
    "method": method.figures_of,
    "saponification": saponification.figures_of,
    "shopping-list": shopping.figures_of,
    "stability": stability.figures_of,
    "titration": titration.figures_of,
    "trial-series": trials.figures_of,
    "window": window,
    "workings": workings.figures_of,
}
