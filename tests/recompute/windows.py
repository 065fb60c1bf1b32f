"""The pH and the heat in which all raw materials of a formula work and keep."""

import figures as fig
from figures import Unknown, exact


def shared(one, other):
    """What lies in both spans; an end that is open is `None`. The ends stay as they are written."""
    low = other[0] if one[0] is None or (other[0] is not None and exact(other[0]) >= exact(one[0])) else one[0]
    high = other[1] if one[1] is None or (other[1] is not None and exact(other[1]) < exact(one[1])) else one[1]
    return low, high


def is_empty(span):
    return None not in span and exact(span[1]) < exact(span[0])


def ph_of(material):
    """Where a raw material works and keeps; where the two do not meet, where it works. `None` where nothing is known."""
    spans = []
    for key in ("ph_works", "ph_stable"):
        fact = material.get(key, {})
        span = fact.get("min"), fact.get("max")
        if span != (None, None):
            spans.append(span)
    if len(spans) == 2:
        both = shared(*spans)
        return spans[0] if is_empty(both) else both
    return spans[0] if spans else None


def ph_figure(formula, path):
    """The pH that lies in all windows, under its path; nothing where no line says any."""
    spans = [span for span in (ph_of(line.material) for line in formula.lines) if span]
    if not spans:
        return {}
    meets = (None, None)
    for span in spans:
        meets = shared(meets, span)
    if is_empty(meets):
        return {path: Unknown()}
    low, high = meets
    if low is None or high is None:
        return {path: fig.words(f"at most {high}" if low is None else f"at least {low}")}
    return {path: fig.ph(low, high)}


def heat_figure(formula, path):
    """The highest temperature that all known raw materials bear."""
    highest = []
    for line in formula.lines:
        for key in ("temperature_limit", "add_below"):
            fact = line.material.get(key, {})
            end = fact.get("max", fact.get("typical"))
            if end is not None:
                highest.append(exact(end))
    if not highest:
        return {}
    shown = fig.plain(fig.half_even(min(highest), 1))
    return {path: fig.words(f"at most {shown}{fig.NBSP}°C")}
