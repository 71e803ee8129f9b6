"""Reads the cloths of a scenario document, and draws scenarios whose cloths are cut."""

import random
from fractions import Fraction

from .document import NANOMETRES, half_up, number
from .levels import Kind, Stock

INCH = 25_400_000
YARD = {"in": 914_400_000, "mm": 1_000_000_000}
USUAL = {"fabric": 40 * INCH, "batting": 90 * INCH, "backing": 20 * INCH}
WAYS = {"either": (True, False), "lengthwise": (True,), "crosswise": (False,)}


def cloth_of(document, material, name):
    """What the scenario says of a cloth; nothing of the fabric that there is where none is told of."""
    materials = document.get("materials", {})
    if material == "fabric":
        return next((fabric for fabric in materials.get("fabrics", []) if fabric["id"] == name), {})
    return materials.get(material, {})


def stocks_of(document, material, name):
    """(stocks, whether prices count) of a cloth."""
    unit = document["unit"]

    def nm(value):
        return half_up(number(value) * NANOMETRES[unit])

    cloth = cloth_of(document, material, name)
    sheets, bolts = cloth.get("sheets", []), cloth.get("bolts", [])
    if not bolts:
        told = cloth.get("roll_width" if material == "stabilizer" else "width")
        if told is not None:
            bolts = [{"width": nm(told), "price": cloth.get("price")}]
        elif material in USUAL and not sheets:
            bolts = [{"width": USUAL[material], "price": cloth.get("price")}]
    else:
        bolts = [{**bolt, "width": nm(bolt["width"])} for bolt in bolts]
    prices = [None if item.get("price") is None else number(item["price"]) for item in bolts + sheets]
    priced = all(price is not None and price > 0 for price in prices)
    stocks = []
    for bolt in bolts:
        cost = number(bolt["price"]) / YARD[unit] if priced else Fraction(1)
        stocks.append(Stock(bolt["width"], None, cost, None))
    for sheet in sheets:
        length, width = (nm(side) for side in sheet["size"])
        stocks.append(Stock(width, length, number(sheet["price"]) if priced else Fraction(length), None))
    for piece in cloth.get("on_hand", []):
        length, width = (nm(side) for side in piece["size"])
        stocks.append(Stock(width, length, Fraction(0), piece.get("count", 1)))
    return stocks, priced


def kinds_of(document, cuts):
    """The kinds of pieces that a plan lists of a cloth."""
    nanometres = NANOMETRES[document["unit"]]
    lay = cloth_of(document, cuts["material"], cuts["cloth"]).get("lay", "either")
    kinds = []
    for piece in cuts["pieces"]:
        sides = tuple(half_up(Fraction(side) * nanometres) for side in piece["size"])
        # Parts of a strip that is sewn together lie across the bolt.
        part = ", part " in piece["uses"][0]
        kinds.append(Kind(sides, piece["count"], WAYS["crosswise" if part else lay]))
    return kinds


def drawn_cloths(seed):
    """A scenario of loose strips that are cut as they are stitched: without seams, in whole units."""
    rng = random.Random(seed)
    unit = rng.choice(["in", "mm"])
    widths = rng.sample(range(1, 9), rng.randint(1, 3))
    strips = []
    for index in range(rng.randint(2, 6)):
        strip = {"id": f"s{index}", "length": rng.randint(2, 30), "width": rng.choice(widths), "count": rng.randint(1, 5)}
        strips.append({**strip, "design": "dots"})
    sizes = [
        {"id": f"d{width}", "width": width, "repeat": 1, "repeats": 40, "stop_early": True} for width in widths
    ]

    def cloth(least):
        told = {"lay": rng.choice(["either", "either", "lengthwise", "crosswise"])}
        kind = rng.randrange(4)
        if kind == 0:
            told["width"] = rng.randint(least, least + 20)
        if kind in (1, 3):
            told["bolts"] = [
                {"id": f"b{index}", "width": rng.randint(least, least + 25), "price": rng.choice([3, "4.5", "7.99"])}
                for index in range(rng.randint(1, 2))
            ]
        if kind in (2, 3):
            told["sheets"] = [
                {"id": f"t{index}", "size": [rng.randint(30, 45), rng.randint(8, 40)], "price": rng.choice([0.25, 1, 2])}
                for index in range(rng.randint(1, 2))
            ]
        if rng.random() < 0.5:
            told["on_hand"] = [
                {"size": [rng.randint(5, 30), rng.randint(3, 20)], "count": rng.randint(1, 2)}
                for _ in range(rng.randint(1, 2))
            ]
        return told

    return {
        "format": 1, "name": f"cloths {seed}", "unit": unit, "strips": strips,
        "hoops": [{"id": "table", "field": [40, 40]}], "designs": [{"id": "dots", "sizes": sizes}],
        "allowances": {"seam": 0, "trim": 0, "gap": 0}, "goal": {"priorities": ["joints"]},
        "materials": {
            "stabilizer": {"margin": 0},
            "fabrics": [{"id": "some", "for": ["s0", "s1"], **cloth(8)}, {"id": "others", **cloth(8)}],
            "batting": {"reach": 0, **cloth(10)}, "backing": cloth(8),
        },
        "limits": {"seconds": 4},
    }
