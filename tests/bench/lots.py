"""Random lots searched end to end: no refusal, and nothing told of one contradicts itself.

    python tests/bench/lots.py [--lots 2000] [--seed 1] [--first 0] [--show 1]

The map, its places, its routes, and the plans of the same lines; `tests/oracle/lots.py` says how.
Each lot has a number and is drawn by it alone: `--first 812 --lots 1` makes that one again.
"""

from __future__ import annotations

import argparse
import collections
import json
import random
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "oracle"))

import lots
import runner

from yardfall.app import Settings, create_app


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--lots", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--show", type=int, default=1, help="of each sort, so many whole")
    asked = parser.parse_args()
    counts = collections.Counter[str]()
    shown: dict[str, list[str]] = collections.defaultdict(list)
    begun, wrong = time.perf_counter(), 0
    with tempfile.TemporaryDirectory() as folder:
        service = runner.Service(create_app(Settings(Path(folder))).test_client())
        for number in range(asked.first, asked.first + asked.lots):
            body = lots.lot(random.Random(f"{asked.seed}/{number}"), service)
            found = lots.faults(body, service)
            wrong += bool(found)
            for sort, some in found.items():
                counts[sort] += 1
                if len(shown[sort]) < asked.show:
                    shown[sort].append(
                        f"      lot {number}: {'; '.join(some)}\n      {json.dumps(body)[:600]}"
                    )
    print(f"{asked.lots} lots, {asked.lots - wrong} agree, {time.perf_counter() - begun:.0f} s")
    for sort, count in counts.most_common():
        print(f"   {count:5}  {sort}", *shown[sort], sep="\n")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
