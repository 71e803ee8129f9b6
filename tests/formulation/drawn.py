"""Scenarios drawn from a seed."""

import random


def drawn(seed):
    """A small scenario, in millimetres or inches."""
    rng = random.Random(seed)
    width, unit = rng.randint(1, 2), rng.choice(["in", "mm"])
    zero = rng.random() < 0.5
    between = 0 if zero else 2
    document = {"format": 1, "name": f"drawn {seed}", "unit": unit}
    document["allowances"] = {"seam": 0, "trim": 0 if zero else 0.5, "gap": 0 if zero else 1}
    woven = rng.random() < 0.5
    sizes = []
    for index in range(1 if woven else rng.randint(1, 2)):
        stop_early = not woven and rng.random() < 0.4
        size = {"id": f"v{index}", "width": width, "repeat": rng.randint(2, 5), "stop_early": stop_early}
        size["repeats"] = rng.randint(2, 3) if stop_early else rng.randint(1, 2)
        if rng.random() < 0.4:
            along = size["repeat"] * size["repeats"] + rng.randint(0, 1)
            size["field"] = [along, f"{2 * width + rng.randint(0, 2)}/2"]
        if rng.random() < 0.3:
            size["scale"] = rng.choice([[0.9, 1.1], ["4/5", 1], [1, 1.25]])
        sizes.append(size)
    document["designs"] = [{"id": "vine", "sizes": sizes}]
    long = max(size["repeat"] * size["repeats"] for size in sizes)
    document["hoops"] = []
    for index in range(rng.randint(1, 2)):
        lanes = rng.choice([1, 2, 2, 3])
        along = (2 * long + between if woven or rng.random() < 0.3 else long) + rng.choice([0, 0, 1])
        across = lanes * width + (lanes - 1) * between + rng.choice([0, 1])
        hoop = {"id": f"h{index}", "field": [along, across], "turn": rng.random() < 0.3}
        document["hoops"].append(hoop)
    document["strips"] = []
    for index in range(rng.randint(2, 3 if woven else 4)):
        runs = rng.choice([3, 3, 3, 2, 4]) if woven else rng.choice([1, 1, 2, 3])
        length = sum(rng.choice(sizes)["repeat"] * rng.choice(sizes)["repeats"] for _ in range(runs))
        if woven:
            length = runs * long
        length = max(1, length - rng.choice([0, 0, 1]))
        strip = {"id": f"s{index}", "length": length, "width": width, "design": "vine"}
        document["strips"].append(strip)
    document["rules"] = {
        "combine_sizes": not woven and rng.random() < 0.7,
        "split_short": rng.random() < 0.5,
        "share_hoopings": rng.random() < 0.9,
        "growth": rng.choice(["either_way", "one_way"]),
        "allow_partial": rng.random() < 0.5,
    }
    if seed % 4 == 0:
        # The last strip as the sash of one or two quilts.
        strip = document["strips"].pop()
        blocks = {"columns": 2, "rows": 1, "size": [width, strip["length"]]}
        quilt = {"blocks": blocks, "sashing": {"width": width, "design": "vine"}}
        document["quilts"] = [{"id": "q", "count": rng.randint(1, 2), "quilt": quilt}]
    return document
