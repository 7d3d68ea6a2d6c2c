"""Thousands of requests to the service, held to an oracle that shares nothing with it.

    python tests/bench/oracle.py [--cases 3000] [--seed 1] [--show 3] [--only usual,plans,...]

Prints for each part how many cases agree, and by check how many do not, with the first of each.
Parts: `grid` (even yards, everything left out), `usual` (uneven yards, limits stated or not by
chance), `various` (the same, read any way, with any start, outlet or crossing), `plans` (every
ground, start, outlet, crossing and shape, all stated), `ends` and `ends_stated` (flat yards, where
the end decides), `covers` and `covers_usual` (stretches with a cover of their own), `levels` (start
and end told as levels), `rising` (starts that may rise), `unlisted` (single changes that truly mend
a "no" and that no fix names),
`chance`, `chance_ways` (something may be passed either way), `trees`.
"""

from __future__ import annotations

import argparse
import collections
import itertools
import json
import random
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "oracle"))

import chance
import changes
import ends
import plans
import runner
import stretches
import trees
import yards
from truth import job
from truth.hand_rule import Rule
from yards import Body

from yardfall.app import Settings, create_app

Found = dict[str, list[str]]
Judge = Callable[[Body, Any, dict[str, Any]], Found]


def grid(rng: random.Random, count: int) -> Iterator[Body]:
    every = [body for units in ("us", "si") for _, body in yards.even_grid(units)]
    yield from rng.sample(every, min(count, len(every)))


def by(make: Callable[..., Body]) -> Callable[[random.Random, int], Iterator[Body]]:
    return lambda rng, count: (make(rng, rng.choice(("us", "si"))) for _ in range(count))


def usual(body: Body, service: Any, pipes: dict[str, Any]) -> Found:
    found: Found = collections.defaultdict(list)
    for one in runner.differences(body, service, pipes):
        found[one.split()[0]].append(one)
    return found


def unlisted(body: Body, service: Any, pipes: dict[str, Any]) -> Found:
    rule = Rule(job.read(body, pipes))
    if rule.feasible(rule.first):
        return {}
    answered = service(body)
    missing = changes.unlisted(body, answered, pipes)
    return {one.split()[0]: [one] for one in missing}


def stated(body: Body, service: Any, pipes: dict[str, Any]) -> Found:
    return plans.faults(body, service, pipes) | unlisted(body, service, pipes)


PARTS: dict[str, tuple[Callable[[random.Random, int], Iterator[Body]], Judge, float]] = {
    "grid": (grid, usual, 0.25),
    "usual": (by(yards.uneven), usual, 0.1),
    "various": (by(yards.various), usual, 0.15),
    "plans": (by(yards.plan), plans.faults, 0.25),
    "ends": (by(ends.flat), usual, 0.05),
    "ends_stated": (by(ends.flat_stated), stated, 0.05),
    "covers": (by(stretches.stated), stated, 0.05),
    "covers_usual": (by(stretches.usual), usual, 0.05),
    "levels": (by(ends.levels), stated, 0.05),
    "rising": (by(yards.rising), plans.faults, 0.05),
    "unlisted": (by(yards.plan), unlisted, 0.05),
    "chance": (by(yards.doubtful), chance.chance_faults, 0.05),
    "chance_ways": (by(yards.doubtful_ways), chance.chance_faults, 0.02),
    "trees": (by(yards.tree), trees.faults, 0.05),
}


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--cases", type=int, default=3000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--show", type=int, default=1, help="of each difference, so many whole")
    parser.add_argument("--only", default=",".join(PARTS))
    asked = parser.parse_args()
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        service = runner.Service(create_app(Settings(Path(folder))).test_client())
        pipes = service.pipes()
        for name in asked.only.split(","):
            make, judge, share = PARTS[name]
            rng, begun = random.Random(asked.seed), time.perf_counter()
            counts: collections.Counter[str] = collections.Counter()
            first: dict[str, list[str]] = collections.defaultdict(list)
            total = agree = 0
            for body in itertools.islice(make(rng, 10**6), round(asked.cases * share)):
                found = judge(body, service, pipes)
                total += 1
                agree += not found
                for check, faults in found.items():
                    counts[check] += 1
                    if len(first[check]) < asked.show:
                        first[check].append(f"      {faults[0]}\n      {json.dumps(body)}")
            print(
                f"{name:12} {total:6} cases, {agree:6} agree, {time.perf_counter() - begun:5.0f} s"
            )
            for check, count in counts.most_common():
                print(f"   {count:5}  {check}", *first[check], sep="\n")
            wrong += total - agree
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
