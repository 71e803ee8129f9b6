"""Cutting in levels as an integer program for CP-SAT.

Of every bolt, sheet and piece on hand, level slots are opened by a kind of piece, lying one way, as their longest; each slot takes so
many pieces of each kind that are no longer, side by side. That is the assignment formulation of two-stage level packing (Lodi, Martello
and Vigo, Models and bounds for two-dimensional level packing problems, Journal of Combinatorial Optimization 8 (2004) 363-379; from
memory), with counts in place of single pieces, and a choice of the way in which each piece lies.
"""

from dataclasses import dataclass
from fractions import Fraction
from math import gcd, lcm

from ortools.sat.python import cp_model

from .document import TooBig

MOST_PIECES = 60
MOST_VARIABLES = 15_000


@dataclass
class Kind:
    """A kind of piece: sides in nanometres, how many, and the ways in which it may lie (True: first side along)."""

    sides: tuple
    count: int
    ways: tuple


@dataclass
class Stock:
    """Something to cut from. `length` is None of a bolt; `cost` is of a nanometre of a bolt, or of one sheet; `count` of what is there."""

    width: int
    length: int | None
    cost: Fraction
    count: int | None


def bins(kinds, stocks):
    """Every single bolt, sheet and piece on hand that could be of use: (group, stock)."""
    pieces = sum(kind.count for kind in kinds)
    for group, stock in enumerate(stocks):
        copies = 1 if stock.length is None else pieces if stock.count is None else min(stock.count, pieces)
        for _ in range(copies):
            yield group, stock


def lying(kinds):
    """Every kind in every way that it may lie: (kind, along, across)."""
    for index, kind in enumerate(kinds):
        ways = kind.ways[:1] if kind.sides[0] == kind.sides[1] else kind.ways
        for lengthwise in ways:
            along, across = kind.sides if lengthwise else kind.sides[::-1]
            yield index, along, across


def least_cost(kinds, stocks, seconds):
    """(bound, found) of the least cost as fractions; found None where no cutting is known, both None where there is none."""
    if sum(kind.count for kind in kinds) > MOST_PIECES:
        raise TooBig("pieces")
    model = cp_model.CpModel()
    scale = lcm(*(stock.cost.denominator for stock in stocks))
    step = gcd(*(side for kind in kinds for side in kind.sides))
    variables, total = 0, []
    cut = [[] for _ in kinds]
    before = None
    for group, stock in bins(kinds, stocks):
        fits = [
            way for way in lying(kinds) if way[2] <= stock.width and (stock.length is None or way[1] <= stock.length)
        ]
        levels = []
        for opener, length, _ in fits:
            earlier = None
            for _ in range(kinds[opener].count):
                opened = model.new_bool_var("")
                inside, wide = [], []
                for kind, along, across in fits:
                    if along <= length:
                        most = min(kinds[kind].count, stock.width // across)
                        count = model.new_int_var(0, most, "")
                        model.add(count <= most * opened)
                        cut[kind].append(count)
                        inside.append((kind, along, count))
                        wide.append((across, count))
                        variables += 1
                if variables > MOST_VARIABLES:
                    raise TooBig("variables")
                model.add(sum(across * count for across, count in wide) <= stock.width)
                # It is opened by what it is opened by, and those that are alike are opened in order.
                own = [count for kind, along, count in inside if (kind, along) == (opener, length)]
                model.add(sum(own) >= opened)
                if earlier is not None:
                    model.add(opened <= earlier)
                earlier = opened
                levels.append((length // step, opened))
        long = sum(length * opened for length, opened in levels)
        if stock.length is None:
            total.append(int(stock.cost * scale) * step * long)
            continue
        if not levels:
            continue
        model.add(long <= stock.length // step)
        if stock.count is None:
            used = model.new_bool_var("")
            for _, opened in levels:
                model.add(opened <= used)
            total.append(int(stock.cost * scale) * used)
            if before is not None and before[0] == group:
                model.add(used <= before[1])
            before = (group, used)
    for kind, counts in zip(kinds, cut):
        model.add(sum(counts) == kind.count)
    model.minimize(sum(total))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = float(seconds)
    solver.parameters.num_workers = 2
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return None, None
    assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE, cp_model.UNKNOWN), solver.status_name(status)
    found = None if status == cp_model.UNKNOWN else Fraction(round(solver.objective_value), scale)
    if status == cp_model.OPTIMAL:
        return found, found
    # The bound is a floating-point number of a whole one.
    return Fraction(max(0, int(-(-(solver.best_objective_bound - 0.5) // 1))), scale), found
