"""What a raw material is made of on a line, and what a formula is made of."""

from fractions import Fraction

from figures import Range, fact_range, range_of, total

WATER = "Aqua"
CLASSES = ["anionic", "amphoteric", "nonionic", "cationic"]


def serves(material, function):
    """Whether a raw material is used for something: `emulsifier (o/w)` is an emulsifier, `preservative booster` is no preservative."""
    for known in material["functions"]:
        if known == function or (known.startswith(function) and known[len(function) :].lstrip().startswith("(")):
            return True
    return False


def counts(material, part):
    """Whether a component is what the strength of its material counts."""
    of = material.get("strength", {}).get("of")
    return part["inci"] == of if of and of != "active matter" else "surfactant" in part


def shifted(span, by):
    return Range(*(max(end + by, 0) for end in (span.low, span.typical, span.high)))


def bounded(rest, parts):
    """Water is no more and no less than what the other parts leave of 100."""
    others = [share for part, share in parts if part["inci"] != WATER]
    if any(share is None for share in others):
        return parts
    sum_of_others = total(others) + rest
    out = []
    for part, share in parts:
        if part["inci"] == WATER and share is not None:
            low = min(max(share.low, 100 - sum_of_others.high), share.typical)
            high = max(min(share.high, 100 - sum_of_others.low), share.typical)
            share = Range(low, share.typical, high)
        out.append((part, share))
    return out


def taken_apart(line, material):
    """Each component with its share of the material on this line, and the rest that has no name."""
    parts = [(part, fact_range(part["percent"])) for part in material["contains"]]
    rest = fact_range(material.get("remainder")) or Range(0, 0, 0)
    strength = range_of(line["strength"]) if "strength" in line else None
    counted = [counts(material, part) for part, _ in parts]
    shares = [share for (_, share), is_in in zip(parts, counted) if is_in]
    if strength is None or any(share is None for share in shares):
        return bounded(rest, parts), rest
    usual = sum(share.typical for share in shares)
    if usual <= 0:
        return bounded(rest, parts), rest
    change = strength.typical - usual
    water = sum(share.typical for part, share in parts if part["inci"] == WATER and share is not None)
    by_water = water > 0 and change <= water

    def carrier(span):
        others = 100 - usual

        def scaled(end, strength):
            return max(end * (100 - strength) / others, Fraction(0)) if others else Fraction(0)

        return Range(
            scaled(span.low, strength.high), scaled(span.typical, strength.typical), scaled(span.high, strength.low)
        )

    out = []
    for (part, share), is_in in zip(parts, counted):
        if is_in:
            share = strength.times(share.typical).over(usual)
        elif share is not None and not by_water:
            share = carrier(share)
        elif share is not None and part["inci"] == WATER:
            moved = shifted(share, -change)
            low = max(moved.low - (strength.high - strength.typical), 0)
            share = Range(low, moved.typical, moved.high + (strength.typical - strength.low))
        out.append((part, share))
    if not by_water:
        if usual >= 100:
            rest = Range.of(100 - strength.high, 100 - strength.low, 100 - strength.typical)
        else:
            rest = carrier(rest)
    return bounded(rest, out), rest


def as_on_label(line, material):
    """The ingredients as a label names them: each with the water that is bound to it."""
    parts, rest = taken_apart(line, material)
    out = []
    for part, share in parts:
        if "bound_to" in part:
            continue
        bound = [other for piece, other in parts if piece.get("bound_to") == part["inci"]]
        if bound:
            if share is None or any(one is None for one in bound):
                out.append((part, None))
                continue
            whole = total(bound) + share
            others = [
                other
                for piece, other in parts
                if piece["inci"] != part["inci"] and piece.get("bound_to") != part["inci"]
            ]
            if any(one is None for one in others):
                out.append((part, None))
                continue
            left = total(others) + rest
            share = Range(
                min(max(whole.low, 100 - left.high), whole.typical),
                whole.typical,
                max(min(whole.high, 100 - left.low), whole.typical),
            )
        out.append((part, share))
    return out


def active_parts(line, material):
    """The surfactants of a line by class, % of the material; `None` when their share is not known."""
    parts, _ = taken_apart(line, material)
    surfactants = [(part["surfactant"], share) for part, share in parts if "surfactant" in part]
    if serves(material, "surfactant") and not surfactants:
        return None
    if any(share is None for _, share in surfactants):
        return None
    strength = material.get("strength")
    if "strength" not in line and strength and "min" in strength and "max" in strength:
        if any("surfactant" in part and counts(material, part) for part, _ in parts):
            stated, usual = fact_range(strength), sum(share.typical for _, share in surfactants)
            if usual > 0:
                surfactants = [(kind, stated.times(share.typical).over(usual)) for kind, share in surfactants]
    return surfactants


def counted_share(line, material):
    """The share of the substance that a strength names, where that is no surfactant."""
    of = material.get("strength", {}).get("of")
    if not of or of == "active matter":
        return None
    for part, share in taken_apart(line, material)[0]:
        if part["inci"] == of:
            return share
    return None


def slug(inci):
    """An INCI name as the last part of an address."""
    letters = "".join(letter if letter.isalnum() else " " for letter in inci)
    return "-".join(letters.split()).lower()


def ingredients(material):
    """The INCI names, most first, without what is bound to another."""
    own = [part for part in material["contains"] if "bound_to" not in part]

    def share(part):
        span = fact_range(part["percent"])
        return -span.typical if span else Fraction(1)

    return [part["inci"] for part in sorted(own, key=share)]


def substances_of(lines):
    """Substances, constituents of oils, what is bound and what has no name, % of the product, and lines that are not known in full."""
    none = Range(0, 0, 0)
    substances, constituents, bound, unnamed, unknown = {}, {}, none, none, []
    for line in lines:
        parts, rest = taken_apart(line.data, line.material)
        for part, share in parts:
            if share is None:
                continue
            if "bound_to" in part:
                bound = bound + line.in_product(share)
            else:
                substances[part["inci"]] = substances.get(part["inci"], none) + line.in_product(share)
        for part in line.material["constituents"]:
            share = fact_range(part["percent"])
            if share is not None:
                constituents[part["inci"]] = constituents.get(part["inci"], none) + line.in_product(share)
        if parts and all(share is not None for _, share in parts):
            unnamed = unnamed + line.in_product(rest)
        else:
            unknown.append(line.written)
    return substances, constituents, bound, unnamed, unknown


def active_of(lines):
    """What lines bring of surfactants, (line, class, % of the product), and lines of which it is not known."""
    found, unknown = [], []
    for line in lines:
        parts = active_parts(line.data, line.material)
        if parts is None:
            unknown.append(line.written)
        else:
            found.extend((line, kind, line.in_product(share)) for kind, share in parts)
    return found, unknown


def counted_in_product(line):
    """What a line brings of that which its strength counts, % of the product; `None` where it counts nothing."""
    parts = active_parts(line.data, line.material)
    if parts:
        return line.in_product(total(share for _, share in parts))
    share = counted_share(line.data, line.material)
    return None if share is None else line.in_product(share)
