"""Blocks of tiles far away: from the disk where they were read before, else over the web, in time.

A host that failed is not asked again for a while: only the first caller waits for it.
"""

from __future__ import annotations

import time
from collections.abc import Collection, Iterator
from typing import Final
from urllib.parse import urlsplit

from yardfall.core import deadline
from yardfall.geo.sources.block_cache import BlockCache
from yardfall.geo.sources.surface import Fetch
from yardfall.geo.sources.tiff_part import Directory
from yardfall.geo.sources.tiles import Tile
from yardfall.geo.sources.web_file import WebFault, WebFiles
from yardfall.geo.tiff import MAX_BLOCK_BYTES

WAIT_S: Final = 8.0
"""How long one route or lot waits for all its blocks."""
PAUSE_S: Final = 30.0
"""How long a host that failed is left alone."""
MOST_BYTES: Final = 256 << 20
"""Of all blocks under one route or lot, as they are sent."""
GAP_BYTES: Final = 4096
"""Blocks that lie so near in their file are asked for at once."""
FAILED: Final = ("slow", "dead", "busy")


class FarBlocks:
    """What one process reads of sources far away."""

    def __init__(self, cache: BlockCache, wait_s: float = WAIT_S) -> None:
        self.web = WebFiles()
        self._cache = cache
        self._wait_s = wait_s
        self._failed: dict[str, tuple[float, str]] = {}

    def within_time(self) -> Fetch:
        """What fetches the blocks under one route or lot, for so long in all from the first on."""
        until_s: list[float] = []
        taken = [0]

        def fetch(tile: Tile, directory: Directory, numbers: Collection[int]) -> dict[int, bytes]:
            found, lacking = {}, []
            for number in numbers:
                at, size = int(directory.at[number]), int(directory.size[number])
                taken[0] += size
                if size > MAX_BLOCK_BYTES or taken[0] > MOST_BYTES:
                    raise WebFault("refused", f"{tile.place}: too many bytes of blocks.")
                if not size:  # a block that was never written
                    continue
                held = self._cache.get(tile.place, tile.tag, at)
                if held is None or len(held) != size:
                    lacking.append((at, size, number))
                else:
                    found[number] = held
            if lacking and not until_s:
                until_s.append(time.monotonic() + self._wait_s)
            for run in _runs(sorted(lacking)):
                deadline.check()
                start, stop = run[0][0], run[-1][0] + run[-1][1]
                content = self._asked(tile, start, stop, until_s[0])
                for at, size, number in run:
                    found[number] = content[at - start : at - start + size]
                    self._cache.keep(tile.place, tile.tag, at, found[number])
            return found

        return fetch

    def _asked(self, tile: Tile, start: int, stop: int, until_s: float) -> bytes:
        host = urlsplit(tile.place).netloc
        left_alone_s, why = self._failed.get(host, (0.0, ""))
        if time.monotonic() < left_alone_s:
            raise WebFault(why, f"{host} failed a moment ago.")
        try:
            content = self.web.read(tile.place, start, stop, tile.tag, until_s).content
        except WebFault as fault:
            if fault.why in FAILED:
                self._failed[host] = (time.monotonic() + PAUSE_S, fault.why)
            raise
        if len(content) != stop - start:
            raise WebFault("changed", f"{tile.place} is shorter than it says.")
        return content


def _runs(blocks: list[tuple[int, int, int]]) -> Iterator[list[tuple[int, int, int]]]:
    """Blocks (where, size, number) that lie next to each other, together."""
    run: list[tuple[int, int, int]] = []
    for one in blocks:
        if run and not 0 <= one[0] - (run[-1][0] + run[-1][1]) <= GAP_BYTES:
            yield run
            run = []
        run.append(one)
    if run:
        yield run
