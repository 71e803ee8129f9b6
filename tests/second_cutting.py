"""Compares how the running service cuts cloths with a second formulation.

Usage: python second_cutting.py --url http://127.0.0.1:PORT [SCENARIO.json ...]

A real HTTP client of POST /v1/plans?materials=true. For each cloth of each scenario, from the files and drawn from a seed, the least
length or price is found again by CP-SAT as an assignment of pieces to levels (`formulation/levels.py`). Where both have a proof the
values have to be equal; where not, no bound may lie above what the other one found. What is too big is named as not compared. The
first value that is proven is compared once more with a wrong number in its place, which has to be found. Needs Python 3.11 and ortools.
"""

import argparse
import json
import sys
import time
import urllib.error
import urllib.request
from fractions import Fraction

from formulation.cloths import drawn_cloths, kinds_of, stocks_of
from formulation.document import NANOMETRES, TooBig
from formulation.levels import least_cost

PRINTED = Fraction(1, 10**7)  # prices are printed to 8 decimals


def ask(url, document):
    """Posts the scenario; the plan, with exact numbers, or None where it cannot be stitched."""
    body = json.dumps(document).encode()
    headers = {"Content-Type": "application/json", "Accept": "application/json"}
    request = urllib.request.Request(url.rstrip("/") + "/v1/plans?materials=true", body, headers)
    try:
        with urllib.request.urlopen(request, timeout=120) as response:
            return json.load(response, parse_float=Fraction)
    except urllib.error.HTTPError as error:
        assert error.code == 422, f"status {error.code}: {error.read().decode()}"
        return None


def compare(document, cuts, truth):
    """'compared', or why not; raises AssertionError where the two disagree. `truth` is (bound, found) of the second formulation."""
    _, priced = stocks_of(document, cuts["material"], cuts["cloth"])
    assert cuts["counts"] == ("price" if priced else "length"), cuts["counts"]
    unit = 1 if priced else NANOMETRES[document["unit"]]
    value, bound = Fraction(cuts["value"]) * unit, Fraction(cuts["bound"]) * unit
    rounding = PRINTED if priced else Fraction(1)
    least, found = truth
    assert least is not None, "cut, though it cannot be"
    assert least <= value + rounding, f"a value of {float(value)}, but {float(least)} at least is needed"
    if found is None:
        return "no answer in time"
    assert bound <= found + rounding, f"a bound of {float(bound)}, but {float(found)} is enough"
    if least == found and cuts["proven"]:
        assert abs(value - found) <= rounding, f"{float(value)} said to be proven, but the least is {float(found)}"
        return "compared"
    return "no proof here" if least < found else "no proof there"


def finds_what_is_wrong(document, cuts, truth):
    """Whether a value, or a bound, that is a thousandth off is found."""
    more, less = (Fraction(cuts["value"]) * Fraction(factor, 1000) for factor in (1001, 999))
    for wrong in ({"value": more, "bound": more}, {"value": less, "bound": less}):
        try:
            compare(document, {**cuts, **wrong}, truth)
            return False
        except AssertionError:
            pass
    return True


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--url", required=True, help="where the service listens, such as http://127.0.0.1:8080")
    parser.add_argument("--drawn", type=int, default=60, help="how many scenarios to draw (60)")
    parser.add_argument("--seconds", type=float, default=1.5, help="how long the second formulation may take for a cloth (1.5)")
    parser.add_argument("--in-all", type=float, default=28, help="no scenario is begun after so many seconds (28)")
    parser.add_argument("files", nargs="*", help="scenario files")
    arguments = parser.parse_args()
    began = time.monotonic()
    cases = []
    for path in arguments.files:
        with open(path, encoding="utf-8") as file:
            cases.append((path, {**json.load(file), "limits": {"seconds": 4}}))
    cases += [(f"drawn {seed}", drawn_cloths(seed)) for seed in range(arguments.drawn)]
    results, wrong, cloths, tried = {}, 0, 0, False
    for name, document in cases:
        if time.monotonic() - began > arguments.in_all:
            results["no time left"] = results.get("no time left", 0) + 1
            continue
        plan = ask(arguments.url, document)
        exact = json.loads(json.dumps(document), parse_float=Fraction)
        for cuts in plan["cutting"] if plan else []:
            cloths += 1
            try:
                stocks, _ = stocks_of(exact, cuts["material"], cuts["cloth"])
                truth = least_cost(kinds_of(exact, cuts), stocks, arguments.seconds)
                result = compare(exact, cuts, truth)
                if result == "compared" and cuts["value"] > 0 and not tried:
                    tried = True
                    assert finds_what_is_wrong(exact, cuts, truth), "a wrong number was not found"
            except TooBig as reason:
                result = f"too big: {reason}"
            except AssertionError as difference:
                wrong += 1
                shown = json.dumps([document, cuts], default=float)
                print(f"{name}, {cuts['cloth']}: {difference}\n{shown}", file=sys.stderr)
                continue
            results[result] = results.get(result, 0) + 1
    compared = results.pop("compared", 0)
    took = time.monotonic() - began
    print(f"{compared} cloths compared and equal, {wrong} different; {results} in {took:.0f} s")
    if wrong or not tried or compared < arguments.drawn:
        sys.exit(1)


if __name__ == "__main__":
    main()
