"""What is told of the chance against what is truly so, on grounds that are known.

    python tests/bench/bench_chance.py [--cases 1000] [--kinds string,raster] [--shape straight]
    python tests/bench/bench_chance.py --each 2000 --kinds raster,reach

For each kind of reading, the lawn stated and not: in each fifth of the chance told, how many plans,
the mean told and the share truly yes; then how often a yes and a no were right, and milliseconds a
plan. A third of the cases each on a graded, an ordinary and a rough lawn; where the lawn is not
stated they are as often as the planner takes them to be. `--each`: cases until every fifth holds so
many. Ends with 1 where a fifth is off by more than the bar.
"""

from __future__ import annotations

import argparse
import sys
import time
from pathlib import Path

import numpy as np
from threadpoolctl import threadpool_limits

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "oracle"))

import lawns
from lawns import Told

from yardfall.core.uncertainty.lawns import LAWNS

AIM = 0.05
BATCH = 1000


def cases(kind: str, count: int, shape: str, *, stated: bool, first: int) -> list[Told]:
    names = list(LAWNS)
    shares = np.array([1 / 3 if stated else LAWNS[name].share for name in names])
    which = np.random.default_rng(first).choice(len(names), count, p=shares / shares.sum())
    if kind == "reach":
        lots = [
            lawns.told_on_a_lot(first + i, names[k], stated=stated)
            for i, k in enumerate(which[: count // lawns.LOT_PLACES])
        ]
        return [one for lot in lots for one in lot]
    return [
        lawns.told(first + i, kind, names[k], stated=stated, shape=shape)
        for i, k in enumerate(which)
    ]


def each(kind: str, least: int, shape: str, *, stated: bool, first: int) -> list[Told]:
    """Cases until each fifth holds so many."""
    found: list[Told] = []
    while min(count for count, *_ in lawns.fifths(found)) < least:
        found += cases(kind, BATCH, shape, stated=stated, first=first)
        first += BATCH
    return found


def show(name: str, found: list[Told], took_ms: float) -> float:
    """Print a row, and return by how much its worst fifth is off; a fifth of so few that chance
    alone would miss the bar counts for nothing."""
    cells, worst = [], 0.0
    for count, said, truly in lawns.fifths(found):
        cells.append(f"{said:.2f}/{truly:.2f} ({count})")
        spread = (max(said * (1 - said), 1e-3) / count) ** 0.5 if count else np.inf
        if count and spread < AIM:
            worst = max(worst, abs(said - truly))
    yes = [t.truly for t in found if t.verdict == "yes"]
    no = [t.truly for t in found if t.verdict == "no"]
    right = f"yes {np.mean(yes):.3f} ({len(yes)})" if yes else "no yes"
    wrong = f"no {np.mean(no):.3f} ({len(no)})" if no else "no no"
    print(f"{name:22}", "  ".join(cells), f" {right}  {wrong}  worst {worst:.3f}  {took_ms:.1f} ms")
    return worst


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--cases", type=int, default=1000)
    parser.add_argument("--each", type=int, help="so many in every fifth")
    parser.add_argument("--kinds", default=",".join([*lawns.KINDS, "reach"]))
    parser.add_argument("--shape", default="straight")
    parser.add_argument("--seed", type=int, default=1)
    args = parser.parse_args()
    print("told/truly (plans) by fifths of what was told; truly yes where it said yes, and no")
    worst = 0.0
    for kind in args.kinds.split(","):
        for stated in (True, False):
            began, first = time.process_time(), args.seed * 1_000_000
            how_many, make = (args.each, each) if args.each else (args.cases, cases)
            found = make(kind, how_many, args.shape, stated=stated, first=first)
            took_ms = (time.process_time() - began) * 1000 / len(found)
            name = f"{kind}, {'stated' if stated else 'not stated'}"
            worst = max(worst, show(name, found, took_ms))
    return 1 if worst > AIM else 0


if __name__ == "__main__":
    with threadpool_limits(1):
        sys.exit(main())
