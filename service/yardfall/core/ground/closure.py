"""Whether levelling notes close on a known point, and what to say where they do not or cannot."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from difflib import get_close_matches

from yardfall.core.ground.level_book import Shot
from yardfall.core.ground.profile import Closure
from yardfall.core.remarks import Remark


def closing_remarks(
    benchmark: str, known: Collection[str], shots: Sequence[Shot], closure: Closure | None
) -> list[Remark]:
    """One remark at most: a run that misses too far, or one that nothing shows the closing of."""
    if closure is not None:
        values: dict[str, float | str] = {
            "misclosure_m": abs(closure.misclosure_m),
            "limit_m": closure.limit_m,
        }
        return [] if closure.within else [Remark("does_not_close", "/ground/shots", values)]
    last = shots[-1]
    if last.sight == "FS" and last.on is not None:
        meant = get_close_matches(last.on, [benchmark, *known], 1)
        if meant or last.at_m is None:
            values = {"on": last.on, "meant": meant[0] if meant else benchmark}
            return [Remark("ends_on_unknown", f"/ground/shots/{len(shots) - 1}/on", values)]
    return [Remark("not_closed", "/ground/shots", {"benchmark": benchmark})]
