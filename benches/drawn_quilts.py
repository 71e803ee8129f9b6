"""Draws quilts, plans each, and tells which terms of the goal stay unproven.

Usage: python benches/drawn_quilts.py [--kind ordinary|odd|shop] [--program target/release/sashwright] [--count 100] [--first 0] [--seconds 2]
                                     [--keep FOLDER] [--results FILE] [--before FILE]

Quilts of blocks or of a centre, with one or two borders and up to five sizes a design, some with rules or goals of their own. In ordinary
ones the sizes of a design have one repeat, and all of them or none stop early or stretch; odd ones, which are harder, draw all that for each size by
itself. A shop's work is no quilt but hundreds of strips of many lengths, ordinary else. All of it is invented. The same number draws the
same quilt. Every plan is checked, and one that is refused, or a scenario that the program finds faulty or fails on, makes the exit status 1.
`--keep` leaves the scenarios in a folder, `--results` writes value and bound of each term as JSON, and `--before` compares with such a file: what came to be proven, and where the first
term that differs got better or worse. Needs Python 3.11 and nothing else.
"""

import argparse
import json
import pathlib
import random
import subprocess
import sys
import tempfile
import time
from fractions import Fraction

FIELDS = [(3.9375, 3.9375), (4, 4), (5, 7), (6, 10), (7, 12), (8, 8), (8, 12), (9.5, 14), (10.625, 16)]
# The exit status where no plan has all strips.
CANNOT_BE_STITCHED = 3
TERMS = ["hoopings", "joints", "corner_mismatch", "stabilizer", "overhang", "hoop_changes"]
BLOCKS = [6, 8, 9, 10, 12, 12.5]
SCALES = [[0.97, 1.03], [0.95, 1.05], [0.99, 1.01]]
REPEATS = ["1/2", "3/4", "7/8", 1, "1 1/4", "1 1/2", "1 7/8", 2, "2 1/4", "2 3/4", 3, "3 1/2"]


def drawn(kind, number):
    """The scenario with this number."""
    random_one = random.Random(f"{kind} {number}")
    pick, chance = random_one.choice, random_one.random
    fields = random_one.sample(FIELDS, random_one.randint(1, 4))
    hoops = [
        {"id": f"hoop-{place}", "field": list(field), "frame": [field[0] + 2.5, field[1] + 3], "turn": chance() < 0.85}
        for place, field in enumerate(fields)
    ]
    longest = max(max(field) for field in fields)
    narrowest = min(min(field) for field in fields)
    widths, designs = {}, []

    def features():
        """Repeat, whether it stops early, and scale."""
        stops = chance() < (0.6 if kind == "odd" else 0.4)
        return pick(REPEATS), stops, pick(SCALES) if chance() < 0.3 else None

    def design(name):
        width = pick([w for w in (1, 1.25, 1.5, 2, 2.5, 3) if w <= narrowest - 0.25])
        sizes = []
        family = features()
        for place in range(random_one.randint(1, 5)):
            repeat, stops, scale = features() if kind == "odd" else family
            length = sum(Fraction(part) for part in str(repeat).split())
            most = max(1, int((longest - 0.25) / length))
            size = {"id": f"{name}-{place}", "width": width, "repeat": repeat, "repeats": random_one.randint(max(1, most // 3), most)}
            if stops:
                size["stop_early"] = True
            if scale:
                size["scale"] = scale
            sizes.append(size)
        designs.append({"id": name, "sizes": sizes})
        widths[name] = width

    if kind == "shop":
        work = {"strips": []}
        step = pick([4, 8, 64])
        for place in range(random_one.randint(1, 3)):
            name = f"strip-{place}"
            design(name)
            for number_of_strip in range(random_one.randint(10, 120)):
                length = f"{random_one.randint(4 * step, 48 * step)}/{step}"
                strip = {"id": f"{name}-{number_of_strip}", "length": length, "width": widths[name], "design": name}
                work["strips"].append(strip | {"count": random_one.randint(1, 3)})
    else:
        work = {"quilt": drawn_quilt(random_one, design, widths)}
    scenario = {"format": 1, "name": f"Drawn quilt {kind} {number}", "unit": "in", **work, "hoops": hoops, "designs": designs}
    if chance() < 0.25:
        order = random_one.sample(TERMS, random_one.randint(2, 6))
        scenario["goal"] = {"priorities": order}
    if chance() < 0.3:
        scenario["rules"] = pick(
            [{"combine_sizes": False}, {"growth": "one_way"}, {"align": "start"}, {"max_overhang": 0.5}, {"share_hoopings": False}]
        )
    return scenario


def drawn_quilt(random_one, design, widths):
    """A quilt with sashes or without, and one or two borders, for which designs are drawn."""
    pick, chance = random_one.choice, random_one.random
    quilt = {}
    if chance() < 0.5:
        design("sash")
        quilt["blocks"] = {"columns": random_one.randint(2, 4), "rows": random_one.randint(2, 5), "size": [pick(BLOCKS)] * 2}
        quilt["sashing"] = {"width": widths["sash"], "cornerstones": chance() < 0.6, "outer": chance() < 0.4, "design": "sash"}
    else:
        quilt["centre"] = [random_one.randint(20, 70), random_one.randint(20, 90)]
    borders = []
    for place in range(random_one.randint(1, 2)):
        name = f"border-{place}"
        design(name)
        border = {"width": widths[name], "corner": pick(["butted", "cornerstone", "mitred"]), "design": name}
        if border["corner"] == "butted":
            border["first"] = pick(["sides", "ends"])
        borders.append(border)
    quilt["borders"] = borders
    return quilt


def planned(program, scenario, folder):
    """The exit status, and value, bound and whether proven of each term; and what is wrong with it, if it is no valid plan."""
    name = "-".join(scenario["name"].split()[2:])
    file, plan = pathlib.Path(folder) / f"{name}.json", pathlib.Path(folder) / f"{name}-plan.json"
    file.write_text(json.dumps(scenario))
    begun = time.monotonic()
    result = subprocess.run([program, "plan", file, "--format", "json", "--out", plan], capture_output=True, text=True)
    found = {"status": result.returncode, "seconds": time.monotonic() - begun}
    if result.returncode == CANNOT_BE_STITCHED:
        return found | {"said": result.stderr.split("\n", 2)[1:2]}
    if result.returncode != 0:
        return found | {"wrong": result.stderr}
    check = subprocess.run([program, "check", file, plan], capture_output=True, text=True)
    terms = json.loads(plan.read_text())["objective"]
    plan.unlink()
    found["terms"] = [[term["term"], term["value"], term["bound"], term["proven"]] for term in terms]
    return found | ({"wrong": check.stdout + check.stderr} if check.returncode else {})


def first_difference(old, new):
    """Whether new is better (1), worse (-1) or the same (0) in the first value that differs."""
    for (_, before, *_), (_, after, *_) in zip(old["terms"], new["terms"]):
        if before != after:
            return 1 if after < before else -1
    return 0


def main():
    arguments = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    arguments.add_argument("--kind", choices=["ordinary", "odd", "shop"], default="ordinary")
    arguments.add_argument("--program", default="target/release/sashwright")
    arguments.add_argument("--count", type=int, default=100)
    arguments.add_argument("--first", type=int, default=0)
    arguments.add_argument("--seconds", type=float, default=2)
    arguments.add_argument("--keep")
    arguments.add_argument("--results")
    arguments.add_argument("--before")
    arguments.add_argument("--only", help="numbers, with commas between")
    asked = arguments.parse_args()
    folder = asked.keep or tempfile.mkdtemp()
    pathlib.Path(folder).mkdir(parents=True, exist_ok=True)
    before = json.loads(pathlib.Path(asked.before).read_text()) if asked.before else {}
    numbers = [int(n) for n in asked.only.split(",")] if asked.only else range(asked.first, asked.first + asked.count)
    results, open_ones, none, wrong = {}, 0, 0, 0
    tally = {"proven now": 0, "better": 0, "worse": 0, "no longer proven": 0}
    for number in numbers:
        scenario = drawn(asked.kind, number) | {"limits": {"seconds": asked.seconds}}
        found = results[str(number)] = planned(asked.program, scenario, folder)
        if "wrong" in found:
            wrong += 1
            print(f"{number:5}  WRONG: {found['wrong']}")
            continue
        if found["status"] != 0:
            none += 1
            print(f"{number:5}  cannot be stitched: {' '.join(found['said'])[:150]}")
            continue
        still = [f"{term} {value:g} (bound {bound:g})" for term, value, bound, proven in found["terms"] if not proven]
        open_ones += bool(still)
        remark = ""
        if (old := before.get(str(number))) and old["status"] == 0:
            was_open = not all(term[3] for term in old["terms"])
            better = first_difference(old, found)
            if was_open and not still:
                remark = "proven now"
            elif still and not was_open:
                remark = "no longer proven"
            elif better:
                remark = "better" if better > 0 else "worse"
            if remark:
                tally[remark] += 1
        if still or remark:
            print(f"{number:5}  {found['seconds']:.2f} s  {'; '.join(still)}  {remark}", flush=True)
    print(f"{len(results)} quilts: {open_ones} with a term open, {none} cannot be stitched" + (f"; {tally}" if before else ""))
    if asked.results:
        pathlib.Path(asked.results).write_text(json.dumps(results))
    sys.exit(1 if wrong else 0)


if __name__ == "__main__":
    main()
