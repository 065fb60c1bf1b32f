"""The check value: seven letters made of the figures of a sheet (FNV-1a, 64 bits: IETF draft-eastlake-fnv)."""

from figures import plain, total

LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


def fnv_1a(data):
    """The hash of some bytes."""
    value = 0xCBF29CE484222325
    for byte in data:
        value = (value ^ byte) * 0x100000001B3 % 2**64
    return value


def written(formula):
    """What the value is made of, line by line."""
    model = formula.model
    yield model["id"]
    yield model.get("version", "")
    yield plain(formula.batch_printed)
    if "ph" in model:
        yield f"{trimmed(model['ph']['low'])}..{trimmed(model['ph']['high'])}"
    weights = iter(formula.weights)
    for phase, lines in formula.phases:
        if "hold" in phase:
            yield f"{phase['key']} held at {trimmed(phase['hold']['value'])}"
        for line in lines:
            strength = line.data.get("strength")
            span = f"{trimmed(strength['low'])}..{trimmed(strength['high'])}" if strength else ""
            cells = [phase["key"], line.id, plain(line.percent), plain(next(weights)), span]
            yield "\t".join(cells + [line.data.get("lot", ""), line.data.get("effect", "")])
    active = total(share for _, _, share in formula.active)
    yield f"active {plain(active.low)}..{plain(active.high)}"


def trimmed(text):
    """A decimal without the zeros at its end."""
    return text.rstrip("0").rstrip(".") if "." in text else text


def check_value(formula):
    bits = fnv_1a("".join(line + "\n" for line in written(formula)).encode())
    letters = [LETTERS[bits // 32**place % 32] for place in range(7)]
    return "".join(letters[:3]) + "-" + "".join(letters[3:])
