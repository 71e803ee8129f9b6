"""The mixed integer program: slots in the order of work, runs assigned to slots, each slot one of the largest sets."""

import itertools

import highspy

from .document import TooBig
from .hoopings import largest_sets
from .runs import run_sequences

SECONDS_EACH = 20
MOST_COLUMNS = 6000


class Rows:
    """A program under construction: columns with bounds and cost, rows as dictionaries of coefficients."""

    def __init__(self, seconds=SECONDS_EACH, most_columns=MOST_COLUMNS, threads=0):
        self.highs = highspy.Highs()
        self.highs.setOptionValue("output_flag", False)
        self.highs.setOptionValue("time_limit", float(seconds))
        self.highs.setOptionValue("threads", threads)
        self.highs.setOptionValue("mip_abs_gap", 0.0)
        self.highs.setOptionValue("mip_rel_gap", 0.0)
        self.most_columns = most_columns
        self.columns = 0

    def binary(self, cost=0):
        if self.columns == self.most_columns:
            raise TooBig("columns")
        self.highs.addVar(0.0, 1.0)
        self.highs.changeColIntegrality(self.columns, highspy.HighsVarType.kInteger)
        self.highs.changeColCost(self.columns, cost)
        self.columns += 1
        return self.columns - 1

    def row(self, least, most, terms):
        coefficients = {}
        for column, value in terms:
            coefficients[column] = coefficients.get(column, 0.0) + value
        least = -highspy.kHighsInf if least is None else least
        most = highspy.kHighsInf if most is None else most
        self.highs.addRow(least, most, len(coefficients), list(coefficients), list(coefficients.values()))

    def solve(self):
        """(bound, found) of the least cost, in whole numbers; bound None where there is no point, found None where none is known."""
        self.highs.run()
        status, info = self.highs.getModelStatus(), self.highs.getInfo()
        if status == highspy.HighsModelStatus.kInfeasible:
            return None, None
        if status == highspy.HighsModelStatus.kOptimal:
            value = round(info.objective_function_value)
            return value, value
        bound = max(0, int(-(-(info.mip_dual_bound - 1e-6) // 1)))
        known = info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible
        return bound, round(info.objective_function_value) if known else None


def fewest_hoopings(scenario, slots, rows=None):
    """(bound, found): bounds on the fewest hoopings, `found` None where no plan of at most `slots` exists. `rows` is the
    program to build, one of HiGHS where none is given.

    Raises TooBig where the program would be too large.
    """
    choices = [run_sequences(scenario, strip) for strip in scenario.strips]
    choices = [sequences for sequences in choices if sequences]
    types = sorted({run for sequences in choices for runs in sequences for run in runs})
    most_of_type = [sum(any(run in runs for runs in sequences) for sequences in choices) for run in types]
    sets = largest_sets(scenario, types, most_of_type, len(choices) if scenario.share else 1)
    rows = rows or Rows()
    numbers = range(slots)
    used = [rows.binary(1) for _ in numbers]
    holds = [[rows.binary() for _ in sets] for _ in numbers]
    stitched = {(run, h): [] for run in types for h in numbers}
    for h in numbers:
        rows.row(0, 0, [(column, 1) for column in holds[h]] + [(used[h], -1)])
        if h:
            rows.row(0, None, [(used[h - 1], 1), (used[h], -1)])
    for sequences in choices:
        in_slot = [[] for _ in numbers]
        chosen = [rows.binary() for _ in sequences]
        rows.row(1, 1, [(column, 1) for column in chosen])
        for choice, runs in zip(chosen, sequences):
            place = [[rows.binary() for _ in numbers] for _ in runs]
            for run, columns in zip(runs, place):
                rows.row(0, 0, [(column, 1) for column in columns] + [(choice, -1)])
                for h in numbers:
                    in_slot[h].append((columns[h], 1))
                    stitched[run, h].append((columns[h], 1))
            add_order(rows, scenario.one_way, choice, place)
        for terms in in_slot:
            rows.row(None, 1, terms)  # two runs of a strip are never in one hooping
    for (run, h), terms in stitched.items():
        index = types.index(run)
        room_for = [(column, -counts[index]) for column, counts in zip(holds[h], sets) if counts[index]]
        rows.row(None, 0, terms + room_for)
    bound, found = rows.solve()
    return (slots + 1, None) if bound is None else (bound, found)


def add_order(rows, one_way, choice, place):
    """The stitched part stays one stretch: with D(r, h) = 1 where run r is done by slot h, D is rising along the strip, falling
    along it, or, either way, never 0 between two that are 1."""
    if len(place) == 1:
        return
    done = [[[(column, 1) for column in columns[: h + 1]] for h in range(len(columns))] for columns in place]

    def minus(terms):
        return [(column, -value) for column, value in terms]

    if one_way:
        forward = rows.binary()
        for before, after in itertools.pairwise(done):
            for earlier, later in zip(before, after):
                rows.row(None, 1, later + minus(earlier) + [(forward, 1)])
                rows.row(None, 0, earlier + minus(later) + [(forward, -1)])
    else:
        for left, middle, right in zip(done, done[1:], done[2:]):
            for a, b, c in zip(left, middle, right):
                rows.row(None, 0, a + c + minus(b) + [(choice, -1)])
