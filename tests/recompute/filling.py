"""What goes into a pack, how many packs there are, how short a pack may be, and what a label says of content and days.

The tolerable negative error is that of Council Directive 76/211/EEC, Annex I, 2.4; the US units are those of NIST Handbook 44.
"""

import datetime
import math
from fractions import Fraction

import figures as fig
from figures import decimals_for, exact, places

# From this nominal quantity on, g or ml: a percentage of it, or so much.
TOLERABLE = [(5, "9 %"), (50, "4.5"), (100, "4.5 %"), (200, "9"), (300, "3 %"), (500, "15"), (1000, "1.5 %")]
# Up to so many square inches of the front panel, letters of so many inches.
LETTERS = [(5, Fraction(1, 16)), (25, Fraction(1, 8)), (100, Fraction(3, 16)), (400, Fraction(1, 4))]
FLUID_OUNCE, OUNCE = Fraction("29.5735295625"), Fraction("28.349523125")


def up_to(value, step):
    return math.ceil(value / step) * step


def tolerable_error(nominal):
    if nominal < 5 or nominal > 10000:
        return None
    row = [error for start, error in TOLERABLE if start <= nominal][-1]
    if row.endswith("%"):
        return up_to(nominal * exact(row[:-2]) / 100, Fraction(1, 10))
    return exact(row)


def content_of(block, formula):
    """What a pack holds: g or ml, whether by volume, and as it was typed."""
    if "content" in block:
        measured, text = block["content"]
        is_volume = "volume" in measured
        return exact(measured["volume" if is_volume else "mass"]["value"]), is_volume, text
    content = formula.model["batch"]["given"]["fill"]["content"]
    if "mass" in content:
        value = content["mass"]["value"]
        return exact(value), False, f"{value} g"
    return exact(content["volume"][0]["value"]), True, content["volume"][1]


def metric_label(value, is_volume, text):
    """As it was typed where that is metric; else converted and rounded down, so that it does not promise more."""
    number, _, unit = text.replace(fig.NBSP, " ").partition(" ")
    if unit in ("ml", "mL", "l", "L", "g", "kg", "mg"):
        return fig.with_unit(number, unit)
    decimals = decimals_for(value, 4)
    return fig.quantity(Fraction(math.floor(value * 10**decimals), 10**decimals), decimals, "ml" if is_volume else "g")


def us_label(value, is_volume, text):
    """US units with three digits, rounded down; then metric."""
    converted = value / (FLUID_OUNCE if is_volume else OUNCE)
    decimals = 0 if converted >= 100 else 1 if converted >= 10 else 2 if converted >= 1 else 3
    down = Fraction(math.floor(converted * 10**decimals), 10**decimals)
    unit = "fl oz" if is_volume else "oz"
    return f"{fig.with_unit(fig.plain(down), unit)} ({metric_label(value, is_volume, text)})"


def letters(panel):
    """How high the letters of a net content are at least, 21 CFR 701.13(i): up to so many square inches, so many sixteenths of an inch."""
    area = exact(panel["width"]) * exact(panel["height"]) / Fraction("25.4") ** 2
    height = next((height for up_to, height in LETTERS if area <= up_to), Fraction(1, 2))
    return f"{fig.with_unit(str(height), 'in')} ({fig.with_unit(fig.plain(height * Fraction('25.4')), 'mm')})"


def label_figures(block, collection):
    """The net content on a label, nothing where the formula names no packs; its last day, and how high its letters are."""
    formula = collection.formulas[block["formula"]]
    given = formula.model["batch"]["given"]
    out = {}
    if "content" in block or isinstance(given, dict) and "fill" in given:
        content = content_of(block, formula)
        out |= {"content/metric": fig.words(metric_label(*content)), "content/us": fig.words(us_label(*content))}
    if "durability" in block and "made" in block:
        made = datetime.date.fromisoformat(block["made"])
        out["best-before"] = fig.words(fig.months_after(made, block["durability"]).isoformat())
    if "front_panel" in block:
        out["letters"] = fig.words(letters(block["front_panel"]))
    return out


def figures_of(block, collection):
    formula = collection.formulas.get(block.get("formula"))
    nominal, is_volume, text = content_of(block, formula)
    density = block.get("density") or (formula.model.get("density") if formula else None)
    density = exact(density["value"]) if density else None
    balance = block.get("balance") or (formula.model if formula else collection.settings)["balance"]
    step = exact(balance["readability"]["value"])
    decimals = min(places(step), 4)

    def both(value):
        """An amount in the unit of the content, as (g, ml)."""
        mass = value if not is_volume else None if density is None else value * density
        volume = value if is_volume else None if density is None else value / density
        return mass, volume

    def shown(value, by_volume, more=0):
        mass, volume = both(value)
        if by_volume:
            return None if volume is None else fig.number(volume, decimals_for(volume, 4), "ml")
        return None if mass is None else fig.mass(mass, decimals + more)

    out = {}

    def put(name, figure):
        if figure is not None:
            out[name] = figure

    def put_amount(name, value, more=0, with_volume=True):
        put(name, shown(value, is_volume, more))
        put(f"{name}/weight", shown(value, False, more))
        if with_volume:
            put(f"{name}/volume", shown(value, True, more))

    put_amount("content", nominal)
    fill = nominal * (1 + exact(block.get("overfill", {"value": "0"})["value"]) / 100)
    mass, volume = both(fill)
    # Rounded up to what the balance shows, so that no pack is short by it.
    weighed = None if mass is None else up_to(mass, step)
    weight = None if weighed is None else fig.mass(weighed, decimals)
    put("fill", weight or shown(fill, True))
    put("fill/weight", weight)
    put("fill/volume", shown(fill, True))
    if "tare" in block and weighed is not None:
        tare = exact(block["tare"]["value"])
        out["gross"] = fig.mass(tare + weighed, max(places(step), min(places(tare), 4)))
    bulk = formula.batch if formula and "bulk" not in block else exact(next(iter(block["bulk"].values()))["value"])
    is_bulk_volume = "bulk" in block and "volume" in block["bulk"]
    if is_bulk_volume != is_volume:
        bulk = bulk / density if is_volume else bulk * density
    to_fill = bulk * (1 - exact(block["left_behind"]["value"]) / 100)
    taken = fill if weighed is None else weighed / density if is_volume else weighed
    packs = Fraction(math.floor(to_fill / taken))
    out["packs"] = fig.Figure(fig.plain(packs), packs)
    put_amount("left-over", to_fill - packs * taken)
    error = tolerable_error(nominal)
    if error is not None:
        out["tolerable-error"] = fig.number(error, decimals_for(error, 4), "ml" if is_volume else "g")
        put_amount("least", nominal - error, 1, with_volume=False)
        put_amount("lowest", nominal - 2 * error, 1, with_volume=False)
    if "capacity" in block:
        capacity = exact(block["capacity"]["value"])
        out["headspace"] = fig.share(fig.half_even((capacity - volume) * 100 / capacity, 1))
    out["label/metric"] = fig.words(metric_label(nominal, is_volume, text))
    out["label/us"] = fig.words(us_label(nominal, is_volume, text))
    return out
