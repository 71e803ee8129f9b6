"""Reads a scenario document: lengths to whole nanometres, the quilt to strips."""

from fractions import Fraction

NANOMETRES = {"in": 25_400_000, "mm": 1_000_000}


class TooBig(Exception):
    """The scenario is beyond this formulation."""


def number(value):
    """The exact number that a JSON value says: a decimal, or a text such as '9 3/4'."""
    if isinstance(value, str):
        return sum(Fraction(part) for part in value.split())
    return Fraction(value)


def half_up(value):
    """The nearest whole number, ties up."""
    return (2 * value.numerator + value.denominator) // (2 * value.denominator)


class Scenario:
    """What the formulation needs of a scenario document."""

    def __init__(self, document):
        def nm(value):
            return half_up(number(value) * NANOMETRES[document["unit"]])

        inch = 25_400_000
        allowances = document.get("allowances", {})
        seam, trim, gap = (
            nm(allowances[name]) if name in allowances else default
            for name, default in (("seam", inch // 4), ("trim", inch // 4), ("gap", inch // 2))
        )
        self.between = 2 * (seam + trim) + gap
        rules = document.get("rules", {})
        self.share = rules.get("share_hoopings", True)
        self.combine = rules.get("combine_sizes", True)
        self.split_short = rules.get("split_short", False)
        self.one_way = rules.get("growth", "either_way") == "one_way"
        self.partial = rules.get("allow_partial", False)
        overhang = rules.get("max_overhang")
        self.max_overhang = None if overhang is None else nm(overhang)
        self.fields = set()
        for hoop in document["hoops"]:
            first, second = (nm(side) for side in hoop["field"])
            self.fields.add((first, second))
            if hoop.get("turn", True):
                self.fields.add((second, first))
        self.designs = {
            design["id"]: [self.size(size, nm) for size in design["sizes"]] for design in document["designs"]
        }
        self.strips = list(self.quilt_strips(document.get("quilt", {}), nm))
        for entry in document.get("quilts", []):
            self.strips += list(self.quilt_strips(entry["quilt"], nm)) * entry.get("count", 1)
        for entry in document.get("strips", []):
            strip = (nm(entry["length"]), nm(entry["width"]), entry["design"])
            self.strips += [strip] * entry.get("count", 1)

    @staticmethod
    def size(size, nm):
        width, repeat, repeats = nm(size["width"]), nm(size["repeat"]), size["repeats"]
        # Rounded once: 30 repeats of 1/3 in are 10 in.
        along = nm(number(size["repeat"]) * repeats)
        field = [nm(side) for side in size["field"]] if "field" in size else [along, width]
        margin = field[0] - repeat * repeats
        # Within a nanometre for each repeat the field and the stitching count as equal.
        if 0 < margin <= repeats:
            margin = 0
        return {
            "width": width,
            "repeat": repeat,
            "repeats": repeats,
            "margins": (margin, field[1] - width),
            "stop_early": size.get("stop_early", False),
            "scale": [number(bound) for bound in size.get("scale", [1, 1])],
        }

    @staticmethod
    def quilt_strips(quilt, nm):
        """(length, width, design) of every stitched sash and border strip."""
        if "centre" in quilt:
            width, height = (nm(side) for side in quilt["centre"])
        elif "blocks" in quilt:
            blocks, sashing = quilt["blocks"], quilt.get("sashing")
            columns, rows = blocks["columns"], blocks["rows"]
            block_width, block_height = (nm(side) for side in blocks["size"])
            width, height = columns * block_width, rows * block_height
            if sashing:
                sash, outer = nm(sashing["width"]), 2 if sashing.get("outer", False) else 0
                width += sash * (columns - 1 + outer)
                height += sash * (rows - 1 + outer)
                if "design" in sashing:
                    upright = (block_height, sash, sashing["design"])
                    yield from [upright] * (rows * (columns - 1 + outer))
                    if sashing.get("cornerstones", False):
                        yield from [(block_width, sash, sashing["design"])] * (columns * (rows - 1 + outer))
                    else:
                        yield from [(width, sash, sashing["design"])] * (rows - 1 + outer)
        for border in quilt.get("borders", []):
            wide = nm(border["width"])
            corner, first = border.get("corner", "butted"), border.get("first", "sides")
            sides_reach = corner == "mitred" or corner == "butted" and first == "ends"
            ends_reach = corner == "mitred" or corner == "butted" and first == "sides"
            computed = {"left": height + 2 * wide * sides_reach, "top": width + 2 * wide * ends_reach}
            computed["right"], computed["bottom"] = computed["left"], computed["top"]
            if "design" in border:
                for side in ("left", "right", "top", "bottom"):
                    measured = border.get("measured", {}).get(side)
                    length = computed[side] if measured is None else nm(measured)
                    yield (length, wide, border["design"])
            ends = nm(border["width_of_ends"]) if "width_of_ends" in border else wide
            width, height = width + 2 * wide, height + 2 * ends
