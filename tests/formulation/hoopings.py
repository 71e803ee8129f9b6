"""Which runs lie together in a hooping. A run is (length, width, margin along, margin across, open ends)."""

import itertools

from .document import TooBig


def room(parts, between):
    """The least room for parts (extent, margin) in a row, doubled, over all their orders."""
    best = None
    for order in set(itertools.permutations(parts)):
        steps = sum(max(a[1] + b[1], 2 * between) for a, b in itertools.pairwise(order))
        total = order[0][1] + 2 * sum(part[0] for part in order) + steps + order[-1][1]
        best = total if best is None else min(best, total)
    return best


def lane_room(lane, between):
    """As `room` for runs of one lane, open ends outward; None where they cannot be."""
    if len(lane) == 1:
        return room([(lane[0][0], lane[0][2])], between)
    opened = [run for run in lane if run[4]]
    if len(opened) > 2 or any(run[4] == 2 for run in lane):
        return None
    best = None
    for order in set(itertools.permutations(lane)):
        if all(run[4] == 0 for run in order[1:-1]):
            steps = sum(max(a[2] + b[2], 2 * between) for a, b in itertools.pairwise(order))
            total = order[0][2] + 2 * sum(run[0] for run in order) + steps + order[-1][2]
            best = total if best is None else min(best, total)
    return best


def together(scenario, runs):
    """Whether some hoop takes these runs at once."""
    runs = tuple(sorted(runs))
    known = scenario.__dict__.setdefault("known", {})
    if runs not in known:
        known[runs] = any(lay(runs, (), along, across, scenario.between) for along, across in scenario.fields)
    return known[runs]


def lay(runs, lanes, along, across, between):
    """Whether the runs can be put, one by one, into these lanes or new ones."""
    if not runs:
        parts = [(max(run[1] for run in lane), max(run[3] for run in lane)) for lane in lanes]
        return room(parts, between) <= 2 * across
    for index in range(len(lanes) + 1):
        grown = (lanes[index] if index < len(lanes) else ()) + (runs[0],)
        extent = lane_room(grown, between)
        if extent is not None and extent <= 2 * along:
            if lay(runs[1:], lanes[:index] + (grown,) + lanes[index + 1 :], along, across, between):
                return True
    return False


def largest_sets(scenario, types, most_of_type, most):
    """The multisets of run types that lie together and that no further run can join, as counts by type."""
    found, stack, steps = set(), [(0,) * len(types)], 0
    seen = set(stack)
    while stack:
        counts = stack.pop()
        grew = False
        for index in range(len(types)):
            steps += 1
            if steps > 40_000 or sum(counts) > 7:
                raise TooBig("sets of runs")
            if counts[index] == most_of_type[index] or sum(counts) == most:
                continue
            more = counts[:index] + (counts[index] + 1,) + counts[index + 1 :]
            runs = [run for run, count in zip(types, more) for _ in range(count)]
            if together(scenario, runs):
                grew = True
                if more not in seen:
                    seen.add(more)
                    stack.append(more)
        if not grew:
            found.add(counts)
    return [counts for counts in found if any(counts)]
