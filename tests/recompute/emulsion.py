"""HLB: weight averages of what the oils need and the emulsifiers bring (Griffin, J. Soc. Cosmet. Chem. 1, 1949, 311)."""

import figures as fig
from composition import serves
from figures import Range, exact, fact_range, total

# From so much water on a formula is looked at as an emulsion, and from so much active matter on as a wash, % of the product.
WATERY, WASH = 10, 3
FATTY = ["emollient", "wax", "soap-making acid", "pearliser"]


def is_emulsifier(material):
    return serves(material, "emulsifier")


def is_oil(material):
    if is_emulsifier(material) or serves(material, "vitamin"):
        return False
    in_oil = material.get("dissolves", {}).get("value") == "oil"
    fatty = any(serves(material, function) for function in FATTY)
    return "required_hlb" in material or (in_oil and fatty and "cationic" not in classes(material))


def classes(material):
    return {part.get("surfactant") for part in material["contains"]}


def charge(material):
    """The charge that a raw material carries, as its classes of surfactant tell it."""
    if "charge" in material:
        return material["charge"]["value"]
    found = classes(material)
    if {"anionic", "cationic"} <= found:
        return None
    return next((kind for kind in ("anionic", "cationic", "amphoteric", "nonionic") if kind in found), None)


def no_guide(formula):
    """Why HLB says nothing of a formula: soap made in it, charged or polymeric emulsifiers, or a wash."""
    materials = [line.material for line in formula.lines]
    some = lambda function: any(serves(material, function) for material in materials)
    if some("emulsifier when neutralised") and some("base"):
        return "held otherwise"
    if some("emulsifier with beeswax") and any(material["id"] == "beeswax" for material in materials):
        return "held otherwise"
    if any(is_emulsifier(one) and charge(one) not in (None, "nonionic") for one in materials):
        return "charged"
    if some("polymeric emulsifier"):
        return "held otherwise"
    return "wash" if total(share for _, _, share in formula.active).typical >= WASH else None


def average(parts):
    """The weight average; `None` while that of one part is not known."""
    spans = [fact_range(hlb) for _, hlb in parts]
    if any(span is None for span in spans):
        return None
    return total(span.times(line.percent) for (line, _), span in zip(parts, spans)).over(
        sum(line.percent for line, _ in parts)
    )


def figures_of(formula):
    there = [line for line in formula.lines if line.percent > 0]
    oils = [(line, line.material.get("required_hlb")) for line in there if is_oil(line.material)]
    holders = [(line, line.material.get("hlb")) for line in there if is_emulsifier(line.material)]
    why = no_guide(formula)
    if not oils or not (holders or why == "held otherwise") or formula.watery().typical < WATERY:
        return {}
    out, shown = {}, lambda span: fig.ranged(span, 1, "")
    required = average(oils)
    if required:
        out["hlb/required"] = shown(required)
    blend = average(holders) if holders and not why else None
    if blend:
        out["hlb/emulsifiers"] = shown(blend)
    if required and blend:
        out["hlb/mismatch"] = shown(
            Range(blend.low - required.high, blend.typical - required.typical, blend.high - required.low)
        )
        if len(holders) == 2:
            out.update(split(holders, required))
    return out


def split(holders, required):
    """The split of two emulsifiers that meets what is required: the higher takes (R − L) ÷ (H − L)."""
    (one, of_one), (other, of_other) = holders
    high, low = fact_range(of_one), fact_range(of_other)
    names = [one.written, other.written]
    if high.typical < low.typical:
        high, low, names = low, high, names[::-1]
    if high.typical == low.typical or not low.typical <= required.typical <= high.typical:
        return {}
    if high.high <= low.high or high.low <= low.low:
        return {}
    within = lambda share: min(max(share, exact("0")), exact("1"))
    take = Range.of(
        within((required.low - low.high) / (high.high - low.high)),
        within((required.high - low.low) / (high.low - low.low)),
        (required.typical - low.typical) / (high.typical - low.typical),
    )
    rest = Range(1 - take.high, 1 - take.typical, 1 - take.low)
    together = one.percent + other.percent
    return {f"hlb/split/{name}": fig.share_range(share.times(together)) for name, share in zip(names, (take, rest))}
