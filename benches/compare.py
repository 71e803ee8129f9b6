"""Puts the same question to the planner and to two general-purpose solvers, side by side: what is the least number of hoopings?

Usage: python benches/compare.py [--program target/release/sashwright] [--seconds 20] [SCENARIO.json ...]

Each scenario, from the files and drawn, goes to the running service over HTTP, and as a program of slots and runs (the second
formulation of `tests/formulation`) to HiGHS and to CP-SAT. What is measured is the time to a proven answer, for the service with the
request and the check of its plan, for the others with the building of their program; everything runs on two threads at most.
A request that asks nothing (`GET /v1/health/live`) is measured too: the factors are told with that time and without it, since the two
solvers run in this process and pay none. A solver that has no proof in time counts with the limit, as "more than". Needs Python 3.11,
highspy and ortools.
"""

import argparse
import json
import pathlib
import re
import statistics
import subprocess
import sys
import threading
import time
import urllib.request
from fractions import Fraction

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "tests"))

from formulation.document import Scenario, TooBig  # noqa: E402
from formulation.drawn import drawn  # noqa: E402
from formulation.program import Rows, fewest_hoopings  # noqa: E402
from ortools.sat.python import cp_model  # noqa: E402

MOST_COLUMNS = 100_000
THREADS = 2
# How often the service is asked; the median counts.
TIMES = 9
# How often nothing is asked of it.
EMPTY_TIMES = 99


class CpSatRows:
    """The same program for CP-SAT."""

    def __init__(self, seconds):
        self.model, self.variables, self.costs = cp_model.CpModel(), [], []
        self.seconds = seconds

    def binary(self, cost=0):
        if len(self.variables) == MOST_COLUMNS:
            raise TooBig("columns")
        self.variables.append(self.model.new_bool_var(""))
        self.costs.append(cost)
        return len(self.variables) - 1

    def row(self, least, most, terms):
        total = sum(value * self.variables[column] for column, value in terms)
        if isinstance(total, int):
            return
        if least is not None:
            self.model.add(total >= least)
        if most is not None:
            self.model.add(total <= most)

    def solve(self):
        self.model.minimize(sum(cost * variable for cost, variable in zip(self.costs, self.variables) if cost))
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = float(self.seconds)
        solver.parameters.num_workers = THREADS
        status = solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return None, None
        found = round(solver.objective_value) if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) else None
        return round(solver.best_objective_bound), found


def bin_packing(seed):
    """Triplets, whose optimum is known by construction (Falkenauer, A hybrid grouping genetic algorithm for bin packing, Journal of
    Heuristics 2 (1996) 5-30, from memory): 20 bins of 1000 mm, each filled by three strips."""
    state, strips = seed, []

    def below(bound):
        nonlocal state
        state = (state * 6364136223846793005 + 1442695040888963407) % 2**64
        return (state >> 33) % bound

    for _ in range(20):
        first = 380 + below(111)
        second = 250 + below((1000 - first) // 2 - 249)
        strips += [first, second, 1000 - first - second]
    return {
        "format": 1, "name": f"triplets {seed}", "unit": "mm",
        "strips": [{"id": f"strip-{n}", "length": length, "width": 10, "design": "line"} for n, length in enumerate(strips)],
        "hoops": [{"id": "hoop", "field": [1000, 10], "turn": False}],
        "designs": [{"id": "line", "sizes": [
            {"id": "line-1000", "width": 10, "repeat": 1, "repeats": 1000, "field": [1000, 10], "stop_early": True}]}],
        "allowances": {"seam": 0, "trim": 0, "gap": 0},
    }


def fewest_bins(document, bins, rows):
    """(bound, found) of bin packing by the textbook program: each item in one bin, no bin too full, bins in use counted (Martello and
    Toth, Knapsack problems (1990), chapter 8, from memory)."""
    capacity, items = document["hoops"][0]["field"][0], [strip["length"] for strip in document["strips"]]
    used = [rows.binary(1) for _ in range(bins)]
    inside = [[rows.binary() for _ in range(bins)] for _ in items]
    for columns in inside:
        rows.row(1, 1, [(column, 1) for column in columns])
    for number, bin_used in enumerate(used):
        load = [(columns[number], length) for columns, length in zip(inside, items)]
        rows.row(None, 0, [*load, (bin_used, -capacity)])
        if number:
            rows.row(0, None, [(used[number - 1], 1), (bin_used, -1)])
    return rows.solve()


class Service:
    """The planner's service on a free port."""

    def __init__(self, program):
        self.process = subprocess.Popen([program, "serve", "--listen", "127.0.0.1:0"], stderr=subprocess.PIPE, text=True)
        self.url = None
        for line in self.process.stderr:
            found = re.search(r"http://127\.0\.0\.1:\d+", line)
            if found:
                self.url = found.group(0)
                break
        if self.url is None:
            raise SystemExit("the service did not start")
        # A log that nobody reads would fill its pipe, and then the service would wait.
        threading.Thread(target=self.process.stderr.read, daemon=True).start()

    def plan(self, document):
        headers = {"Content-Type": "application/json"}
        request = urllib.request.Request(self.url + "/v1/plans", json.dumps(document).encode(), headers)
        with urllib.request.urlopen(request, timeout=300) as response:
            return json.load(response)

    def empty_request(self):
        """Seconds that a request takes which asks nothing."""
        def ask():
            with urllib.request.urlopen(self.url + "/v1/health/live", timeout=300) as response:
                response.read()

        return statistics.median(timed(ask)[0] for _ in range(EMPTY_TIMES))


def timed(work):
    """(seconds, result)"""
    begun = time.perf_counter()
    result = work()
    return time.perf_counter() - begun, result


def compare(service, name, document, seconds, empty):
    """One line of the table; for each of the two solvers by which factors it is slower, with and without the time of an
    empty request, None where nothing can be said."""
    document = {**document, "goal": {"priorities": ["hoopings"]}, "limits": {"seconds": seconds}}
    # Each time under another name: a scenario that was asked before is answered with the plan that is kept of it.
    runs = [timed(lambda: service.plan({**document, "name": f"{name}, {number}"})) for number in range(TIMES)]
    own, plan = sorted(runs, key=lambda run: run[0])[TIMES // 2]
    term = plan["objective"][0]
    cells = [f"{term['value']}{'' if term['proven'] else ' ?'}", f"{own * 1000:.1f} ms"]
    factors = []
    exact = Scenario(json.loads(json.dumps(document), parse_float=Fraction))

    def ask(rows):
        # One bin more than is needed, so that the solvers have something to prove.
        if name.startswith("triplets"):
            return fewest_bins(document, term["value"] + 1, rows)
        return fewest_hoopings(exact, term["value"], rows)

    for rows in (lambda: Rows(seconds, MOST_COLUMNS, THREADS), lambda: CpSatRows(seconds)):
        try:
            took, (bound, found) = timed(lambda: ask(rows()))
        except TooBig as reason:
            cells.append(f"too big: {reason}")
            factors.append(None)
            continue
        proven = found is not None and bound == found
        if proven and term["proven"] and found != term["value"]:
            raise SystemExit(f"{name}: {term['value']} hoopings said to be proven, but the fewest are {found}")
        cells.append(f"{took:.2f} s" if proven else f"no proof in {took:.0f} s")
        factors.append((took / own, took / max(own - empty, 1e-6)) if term["proven"] else None)
    print("| " + " | ".join([name, *cells]) + " |", flush=True)
    return factors


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--program", default="target/release/sashwright", help="the planner (target/release/sashwright)")
    parser.add_argument("--seconds", type=int, default=20, help="the limit of each solver (20)")
    parser.add_argument("--drawn", type=int, default=12, help="how many scenarios to draw (12)")
    parser.add_argument("files", nargs="*", help="scenario files")
    arguments = parser.parse_args()
    cases = [(pathlib.Path(path).stem, json.loads(pathlib.Path(path).read_text(encoding="utf-8"))) for path in arguments.files]
    cases += [(f"drawn {seed}", drawn(seed)) for seed in range(arguments.drawn)]
    cases += [(f"triplets {seed}", bin_packing(seed)) for seed in (1, 2)]
    service = Service(arguments.program)
    empty = service.empty_request()
    print("| scenario | fewest hoopings | sashwright | HiGHS | CP-SAT |\n| --- | --- | --- | --- | --- |")
    factors = []
    try:
        for name, document in cases:
            try:
                factors.append(compare(service, name, document, arguments.seconds, empty))
            except urllib.error.HTTPError as error:
                print(f"| {name} | refused: status {error.code} | | | |")
    finally:
        service.process.terminate()
    print(f"A request that asks nothing takes {empty * 1000:.2f} ms.")
    for solver, of_solver in zip(("HiGHS", "CP-SAT"), zip(*factors)):
        known = [factor for factor in of_solver if factor is not None]
        if known:
            for which, slower in zip(("as measured", "without an empty request"), zip(*known)):
                slower = sorted(slower)
                few = sum(factor < 10 for factor in slower)
                print(f"{solver}, {which}: at least {slower[0]:.0f} times slower, median {statistics.median(slower):.0f} times, "
                      f"less than 10 times in {few} of {len(slower)} scenarios")


if __name__ == "__main__":
    main()
