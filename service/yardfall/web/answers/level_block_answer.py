"""A grade for a crew with a level, a block and a straight board, in the caller's units."""

from __future__ import annotations

from typing import Any, Final

from yardfall.core.grade_runs import GradeRun
from yardfall.core.stakeout.level_blocks import FINE_M, Board, LevelBlock, board_gap, level_blocks
from yardfall.core.units import UnitSystem
from yardfall.sentences import say
from yardfall.web.openapi.numbers import rounded

SIXTEENTHS: Final = 16


def run_answer(run: GradeRun, units: UnitSystem) -> dict[str, Any]:
    """One run of grade, and how to set it without a laser."""
    return {
        "from": rounded(run.from_m / units.length_m),
        "to": rounded(run.to_m / units.length_m),
        "percent": rounded(run.grade * 100),
        "fall": rounded(run.fall_m / units.depth_m),
        **blocks_answer(run.grade, units),
    }


def blocks_answer(grade: float, units: UnitSystem) -> dict[str, Any]:
    """The block under each level, and the gap under a board, for one run of grade."""
    board = board_gap(grade, units.name)
    return {
        "level_blocks": [_level_block(one, units) for one in level_blocks(grade, units.name)],
        "board": None if board is None else _board(board, units),
    }


def _level_block(one: LevelBlock, units: UnitSystem) -> dict[str, Any]:
    tool, mark = tool_text(one.level_m, units), mark_text(one.cut_m, units)
    return {
        "level": rounded(one.level_m / units.depth_m),
        "tool": tool,
        "block": rounded(one.block_m / units.depth_m),
        "mark": mark,
        "text": say("level_blocks.level_block", level=tool, block=mark),
    }


def _board(board: Board, units: UnitSystem) -> dict[str, Any]:
    tool, mark = tool_text(board.length_m, units), mark_text(board.read_m, units)
    return {
        "length": rounded(board.length_m / units.depth_m),
        "tool": tool,
        "gap": rounded(board.gap_m / units.depth_m),
        "mark": mark,
        "text": say("level_blocks.board_gap", board=tool, gap=mark),
    }


def tool_text(length_m: float, units: UnitSystem) -> str:
    """A level or a board as it is sold: `"4 ft"`, `"1200 mm"`."""
    unit_m, name = (units.length_m, "ft") if units.name == "us" else (units.depth_m, "mm")
    return f"{round(length_m / unit_m)} {name}"


def mark_text(size_m: float, units: UnitSystem) -> str:
    """A small measure to 1/16 in or half a millimetre: `"5/8 in"`, `"7.5 mm"`."""
    steps = round(size_m / FINE_M[units.name])
    if units.name == "si":
        return f"{steps / 2:g} mm"
    whole, part = divmod(steps, SIXTEENTHS)
    below = SIXTEENTHS
    while part and part % 2 == 0:
        part, below = part // 2, below // 2
    shown = [str(whole)] if whole or not part else []
    return f"{' '.join([*shown, *([f'{part}/{below}'] if part else [])])} in"
