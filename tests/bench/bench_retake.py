"""The reading named first to take again, against brute force (`tests/oracle/retakes.py`).

    python tests/bench/bench_retake.py [--problems 200] [--first 0]

By kind of reading: how many problems that the readings do not settle, in how many the first named
settles the answer as often as the best would, within a point, and the most that it loses. Ends with
1 where fewer than 95 in 100 are best, or one loses over 5 points.
"""

from __future__ import annotations

import argparse
import itertools
import sys
import time
from pathlib import Path

import numpy as np
from threadpoolctl import threadpool_limits

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "oracle"))

import retakes

BEST, MOST_LOST = 0.01, 0.05
SHARE = 0.95


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--problems", type=int, default=200)
    parser.add_argument("--first", type=int, default=0)
    args = parser.parse_args()
    lost: dict[str, list[float]] = {kind: [] for kind in retakes.KINDS}
    seeds: dict[float, int] = {}
    began = time.perf_counter()
    for seed in itertools.count(args.first):
        one = retakes.lost(seed)
        if one is not None:
            lost[retakes.KINDS[seed % len(retakes.KINDS)]].append(one)
            seeds[one] = seed
        if sum(map(len, lost.values())) >= args.problems:
            break
    print("problems, the first named best within a point, most lost")
    for kind, its in [*lost.items(), ("all", [one for some in lost.values() for one in some])]:
        best = np.mean(np.array(its) <= BEST) if its else np.nan
        print(f"{kind:10} {len(its):5}  {best:.3f}  {max(its, default=0):.3f}")
    worst = sorted(seeds, reverse=True)[:5]
    print("worst:", ", ".join(f"{one:.3f} (seed {seeds[one]})" for one in worst))
    print(f"{time.perf_counter() - began:.0f} s")
    whole = np.array([one for some in lost.values() for one in some])
    return int(np.mean(whole <= BEST) < SHARE or whole.max() > MOST_LOST)


if __name__ == "__main__":
    with threadpool_limits(1):
        sys.exit(main())
