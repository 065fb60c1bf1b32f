"""Recomputes every figure of an exported collection from its models, settings and facts, and compares.

    python3 tests/recompute/recompute.py COLLECTION.json

No value, text or working of a figure is put into any sum; they are only compared with. The exit status is 0 when every figure was
recomputed and is the same: the exact value, both ends, and the text as it is printed.
"""

import json
import sys
from collections import Counter
from fractions import Fraction

import figures as fig
from collection import LEFT_OUT, Collection
from figures import Unknown


def same_number(written, own):
    """What was divided on the way is written with 28 digits or so, of which 20 are compared. All else has to be the same."""
    if own is None or written is None:
        return own is written
    if isinstance(own, str):
        return written == own
    try:
        number = Fraction(written)
    except ValueError:
        return False
    was_divided = fig.places(own) is None or len(written.strip("-0.").replace(".", "")) > 25
    return number == own or (was_divided and abs(number - own) * 10**20 <= abs(own))


def differences(figure, own):
    """What is different between a figure of the file and our own, as (key, there, here)."""
    if isinstance(own, Unknown):
        if "unknown" not in figure or "value" in figure or "text" in figure:
            yield "value", figure.get("text"), "not known"
        return
    for key in ("value", "low", "high"):
        number = getattr(own, key)
        # An exact range is written with its ends; a plain number has none.
        if not same_number(figure.get(key), number):
            yield key, figure.get(key), number if isinstance(number, str) or number is None else fig.plain(number)
    if figure.get("unit", "") != own.unit:
        yield "unit", figure.get("unit", ""), own.unit
    if figure.get("digits") != own.digits:
        yield "digits", figure.get("digits"), own.digits
    if figure.get("text") != own.text:
        yield "text", figure.get("text"), own.text


def compared(document):
    """Every figure of the document with what is different, or `None` where it was not attempted."""
    collection = Collection(document)
    for block in collection.blocks:
        own = collection.figures_of(block)
        there = set()
        for figure in block["figures"]:
            path = figure["address"]
            if "id" in block and path.startswith(block["id"] + "/"):
                path = path[len(block["id"]) + 1 :]
            there.add(path)
            yield block, figure["address"], list(differences(figure, own[path])) if path in own else None
        for path in sorted(set(own) - there):
            yield block, f"{block.get('id', '')}/{path}", [("address", "missing", own[path].text)]


def main(path):
    with open(path, encoding="utf-8") as file:
        document = json.load(file)
    if document.get("schema") != "tarebook collection 1":
        sys.exit(f"{path}: not a collection of schema 1")
    counts = Counter()
    for block, address, found in compared(document):
        counts["figures"] += 1
        if found is None:
            counts["left"] += 1
            print(f"{address} ({block['kind']}): not attempted, {LEFT_OUT.get(block['kind'], 'and nothing says why')}")
        elif found:
            counts["differ"] += 1
            for key, there, here in found:
                print(f"{address} ({block['kind']}): {key} is {there!r} in the file and {here!r} when recomputed")
        else:
            counts["same"] += 1
    print(
        f"{counts['same'] + counts['differ']} of {counts['figures']} figures recomputed, "
        f"{counts['differ']} differ, {counts['left']} not attempted"
    )
    return 0 if counts["same"] == counts["figures"] else 1


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: python3 recompute.py COLLECTION.json")
    sys.exit(main(sys.argv[1]))
