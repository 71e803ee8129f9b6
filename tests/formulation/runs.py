"""For each strip, the sequences of runs that it may be stitched in.

A run is (length, width, margin along, margin across, open ends), in nanometres.
"""

import itertools
from fractions import Fraction
from functools import lru_cache

from .document import TooBig, half_up
from .hoopings import together

MOST_CHOICES = 400  # of one strip: beyond this the program is not written


def stretched(segments, length, overhang_limit):
    """What Σ is stretched by so that the covering is valid, as (L, Σ) or (1, 1); None where it is not valid."""
    total = sum(size["repeat"] * k for size, k in segments)
    repeats = sum(k for _, k in segments)
    if abs(total - length) <= repeats:
        return length, total
    ratio = Fraction(length, total)
    if all(size["scale"][0] <= ratio <= size["scale"][1] for size, _ in segments):
        return length, total
    spare, spare_repeats = total - length, repeats
    for size, k in segments:
        drops = [k] + ([1] if size["stop_early"] and k > 1 else [])
        if any(spare - size["repeat"] * drop >= -(spare_repeats - drop) for drop in drops):
            return None
    if spare < 0 or overhang_limit is not None and spare > overhang_limit:
        return None
    return 1, 1


def bags(scenario, sizes, length):
    """Every valid covering as a multiset of segments, with its stretch."""
    options = []
    for size in sizes:
        options += [(size, k) for k in range(1 if size["stop_early"] else size["repeats"], size["repeats"] + 1)]
    least = min((size["scale"][0] for size in sizes), default=1)
    stack = [((), 0)]
    steps = 0
    while stack:
        bag, first = stack.pop()
        for index in range(first, len(options)):
            steps += 1
            if steps > 20_000:
                raise TooBig("coverings")
            longer = bag + (options[index],)
            stretch = stretched(longer, length, scenario.max_overhang)
            if stretch:
                yield longer, stretch
            if sum(size["repeat"] * k for size, k in longer) * least < length:
                stack.append((longer, index))


def run_sequences(scenario, strip):
    """The sequences of runs that the strip may be stitched in; no sequence that another is as good as run by run."""
    length, width, design = strip
    sizes = [size for size in scenario.designs[design] if size["width"] == width]
    found = set()
    for bag, (upper, lower) in bags(scenario, sizes, length):
        labels = [id(size) * 1000 + k for size, k in bag]
        parts = dict(zip(labels, bag))
        for groups in groupings(tuple(sorted(labels)), scenario.combine):
            shapes = []
            for group in groups:
                members = [parts[label] for label in group]
                own = sum(size["repeat"] * k for size, k in members)
                along, across = (max(size["margins"][axis] for size, _ in members) for axis in (0, 1))
                stitched = half_up(Fraction(upper * own, lower))
                if abs(upper - lower) <= sum(k for _, k in bag):
                    # Rounding alone makes no run longer than its own segments.
                    stitched = min(stitched, own)
                shapes.append((stitched, width, along, across))
            if len(shapes) > 7:
                raise TooBig("runs of one strip")
            for order in set(itertools.permutations(shapes)):
                last = len(order) - 1
                runs = tuple(shape + ((i > 0) + (i < last),) for i, shape in enumerate(order))
                if all(together(scenario, (run,)) for run in runs):
                    found.add(min(runs, runs[::-1]))
                if len(found) > 20_000:
                    raise TooBig("sequences of runs")
    if not scenario.split_short and any(len(runs) == 1 for runs in found):
        found = {runs for runs in found if len(runs) == 1}
    kept = []
    for runs in sorted(found):
        if not any(as_good(other, runs) for other in kept):
            kept = [other for other in kept if not as_good(runs, other)] + [runs]
    if len(kept) > MOST_CHOICES:
        raise TooBig("sequences of runs")
    return kept


def as_good(one, other):
    """Whether `one` fits wherever `other` does, read from either end."""
    if len(one) != len(other):
        return False
    return any(
        all(all(x <= y for x, y in zip(a, b)) for a, b in zip(way, other)) for way in (one, one[::-1])
    )


@lru_cache(maxsize=None)
def groupings(labels, combine):
    """Every way to put the segments of a multiset into runs, without regard to any order."""
    if not combine:
        return frozenset([tuple((label,) for label in labels)])
    if not labels:
        return frozenset([()])
    if len(labels) > 9:
        raise TooBig("segments of one strip")
    found = set()
    rest = labels[1:]
    for count in range(len(rest) + 1):
        for chosen in set(itertools.combinations(range(len(rest)), count)):
            group = (labels[0],) + tuple(rest[i] for i in chosen)
            others = tuple(label for i, label in enumerate(rest) if i not in chosen)
            found |= {tuple(sorted(more + (group,))) for more in groupings(others, combine)}
    return frozenset(found)
