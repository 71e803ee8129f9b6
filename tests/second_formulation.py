"""Compares the running service with a second formulation of the least number of hoopings.

Usage: python second_formulation.py --url http://127.0.0.1:PORT [SCENARIO.json ...]

A real HTTP client of POST /v1/plans. Each scenario, from the files and drawn from a seed, is asked for the fewest hoopings
alone. The same question is put as a mixed integer program of another kind than the planner's and solved by HiGHS: hoopings are
numbered slots in the order of work, each run is assigned to a slot, and each slot holds one of the largest sets of runs
that lie together in a hoop. What is too big for it is named as not compared. Lengths are whole nanometres from exact
fractions. Needs Python 3.11 and highspy.
"""

import argparse
import json
import sys
import urllib.error
import urllib.request
from fractions import Fraction

from formulation.document import Scenario, TooBig
from formulation.drawn import drawn
from formulation.program import fewest_hoopings
from formulation.runs import run_sequences


def ask(url, document):
    """Posts the scenario; (HTTP status, answer)."""
    body = json.dumps(document, default=str).encode()
    headers = {"Content-Type": "application/json", "Accept": "application/json"}
    request = urllib.request.Request(url.rstrip("/") + "/v1/plans", body, headers)
    try:
        with urllib.request.urlopen(request, timeout=120) as response:
            return response.status, json.load(response)
    except urllib.error.HTTPError as error:
        return error.code, json.load(error)


def compare(url, document, ask=ask):
    """'compared', or why not; raises AssertionError with the details where the two disagree."""
    document = {**document, "goal": {"priorities": ["hoopings"]}, "limits": {"seconds": 10}}
    exact = json.loads(json.dumps(document), parse_float=Fraction)
    scenario = Scenario(exact)
    try:
        stitchable = [bool(run_sequences(scenario, strip)) for strip in scenario.strips]
        status, plan = ask(url, document)
        if not any(stitchable) or not all(stitchable) and not scenario.partial:
            assert status == 422, f"status {status} though a strip cannot be stitched: {plan}"
            return "compared"
        assert status == 200, f"status {status}: {plan}"
        term = plan["objective"][0]
        value, bound = term["value"], term["bound"]
        assert stitchable.count(False) == len(plan["unplanned"]), f"left out: {plan['unplanned']}"
        least, found = fewest_hoopings(scenario, value)
    except TooBig as reason:
        return f"too big: {reason}"
    assert least <= value, f"{value} hoopings, but {least} at least are needed"
    if found is None:
        return "no answer in time"
    assert bound <= found, f"bound {bound}, but {found} hoopings are enough"
    if least == found and term["proven"]:
        assert value == found, f"{value} hoopings said to be proven, but the fewest are {found}"
    return "compared" if least == found else "no proof in time"


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--url", required=True, help="where the service listens, such as http://127.0.0.1:8080")
    parser.add_argument("--drawn", type=int, default=150, help="how many scenarios to draw (150)")
    parser.add_argument("files", nargs="*", help="scenario files")
    arguments = parser.parse_args()
    cases = [(f"drawn {seed}", drawn(seed)) for seed in range(arguments.drawn)]
    for path in arguments.files:
        with open(path, encoding="utf-8") as file:
            cases.append((path, json.load(file)))
    results, wrong = {}, 0
    for name, document in cases:
        try:
            result = compare(arguments.url, document)
        except AssertionError as difference:
            wrong += 1
            print(f"{name}: {difference}\n{json.dumps(document)}", file=sys.stderr)
            continue
        if result != "compared":
            print(f"{name}: {result}")
        results[result] = results.get(result, 0) + 1
    compared = results.get("compared", 0)
    print(f"{compared} compared and equal, {wrong} different, {len(cases) - compared - wrong} not compared")
    if wrong or compared < arguments.drawn // 2:
        sys.exit(1)


if __name__ == "__main__":
    main()
