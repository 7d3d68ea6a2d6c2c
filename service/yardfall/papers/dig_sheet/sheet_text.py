"""What a dig sheet says, as texts and tables that the HTML and the PDF only lay out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from yardfall.core.units import UnitSystem
from yardfall.papers import figures
from yardfall.papers.dig_sheet.station_table import station_table
from yardfall.papers.drawing.drawing import shortened
from yardfall.papers.drawing.outlines import trespasses
from yardfall.papers.drawing.table import Column, Table
from yardfall.papers.model import DrainLine, Job
from yardfall.papers.quantities import Item, bill_items
from yardfall.sentences import say

LASER_OFF_IN: Final = 0.125
"""A laser set to a hundredth of a percent that misses the far end by more than this is told."""
DIGGABLE: Final = ("yes", "conditional")


@dataclass(frozen=True)
class LineSheet:
    """One line's part of the sheet. `running` is what is repeated on every page of its table."""

    name: str
    running: str
    joins: str
    sentence: str
    grades: Table
    stations: Table
    end: str
    covers: Table | None
    fills: Table | None
    crossings: Table | None
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class Sheet:
    """The whole sheet. `facts` are label and text of the title block, `conditions` what the yes
    rests on, `quantities` those of each line that has a bill."""

    name: str
    facts: tuple[tuple[str, str], ...]
    overall: str
    sentence: str
    conditions: tuple[str, ...]
    pipe: str
    ground: str
    lines: tuple[LineSheet, ...]
    quantities: tuple[tuple[str, tuple[Item, ...]], ...]
    cautions: tuple[str, ...]

    @property
    def sign(self) -> str:
        """What it all comes to, in a word or two."""
        return say(f"papers.sign.{self.overall}")

    @property
    def stop(self) -> bool:
        """Whether the crew must not start."""
        return self.overall not in DIGGABLE


def write_sheet(job: Job) -> Sheet:
    """The sheet of a job."""
    title, whole = job.title, job.answer["whole"]
    facts = (
        ("Place", title.place),
        ("For", title.prepared_for),
        ("By", title.prepared_by),
        ("Date", title.date),
    )
    return Sheet(
        name=job.name,
        facts=facts,
        overall=overall_of(whole),
        sentence=whole["sentence"],
        conditions=tuple(text for line in job.lines for text in _conditions(job, line)),
        pipe=_pipe(job),
        ground=job.ground_said,
        lines=tuple(_line(job, line) for line in job.lines),
        quantities=tuple(
            (line.name, bill_items(line.answer["quantities"], job.units))
            for line in job.lines
            if line.answer.get("quantities")
        ),
        cautions=tuple(_cautions(job)),
    )


def overall_of(part: Any) -> str:
    """What a part of an answer comes to; one kept before there were conditions has its verdict."""
    return str(part.get("overall", part["verdict"]))


def _conditions(job: Job, line: DrainLine) -> list[str]:
    """What a line's yes rests on; a branch's by its name."""
    name = "" if line is job.main else f"{line.name}: "
    return [f"{name}{c['text']}" for c in line.answer["answer"].get("conditions", ())]


def _pipe(job: Job) -> str:
    pipe, units = job.answer["pipe"], job.units
    name = pipe["name"] or "Pipe"
    length = figures.length(job.answer["length"], units)
    trench = job.answer["trench"]
    widest = trench.get("dug_width", trench["width"])  # not in a plan kept from before
    return say(
        "papers.pipe_in_wide_trench" if widest > trench["width"] else "papers.pipe",
        widest=figures.depth_text(widest, units),
        pipe=name,
        outside=figures.depth_text(pipe["outside"], units),
        length=length,
        width=figures.depth_text(trench["width"], units),
    )


def _cautions(job: Job) -> list[str]:
    """Each caution once, the main's first."""
    return list(dict.fromkeys(c["text"] for line in job.lines for c in line.answer["cautions"]))


def _line(job: Job, line: DrainLine) -> LineSheet:
    answer, units = line.answer, job.units
    joins = ""
    if "joins_label" in answer:
        over = answer["drop"]
        drop = figures.depth_text(abs(over), units)
        name = "papers.joins" if over >= 0 else "papers.joins_too_low"
        joins = say(name, at=answer["joins_label"], drop=drop)
        step = answer.get("steps_down")  # not in a plan kept from before
        joins = f"{joins} {step['sentence']}" if step else joins
    return LineSheet(
        name=line.name,
        running=_running(job, line),
        joins=joins,
        sentence=answer["answer"]["sentence"],
        grades=_grades(answer, units),
        stations=station_table(job, line),
        end=_end(answer, units),
        covers=_covers(answer, units) if answer.get("covers") else None,
        fills=_fills(answer, units) if answer.get("fills") else None,
        crossings=_crossings(answer, units) if answer["crossings"] else None,
        warnings=(
            *trespasses(job, line),
            *_out_of_ground(line, units),
            *(w["text"] for w in answer["warnings"]),
            *_to_measure(answer),
        ),
    )


def _out_of_ground(line: DrainLine, units: UnitSystem) -> list[str]:
    """Where the pipe would lie above the ground, trench bottom and all: the worst station."""
    out = [s for s in line.stations if figures.is_above(s["dig_depth"], units)]
    if not out:
        return []
    worst = min(out, key=lambda s: float(s["cover"]))
    amount = figures.depth_text(-worst["cover"], units)
    return [say("trench.out_of_ground", amount=amount, label=worst["label"])]


def _to_measure(answer: Any) -> list[str]:
    """Where ground that nobody measured is to be measured, and what is nearest to spoiling it."""
    places = answer.get("to_measure", [])  # not in a plan kept from before
    if not places:
        return []
    told = say("even_slope.measure.paper", stations=", ".join(place["label"] for place in places))
    return [told, *(place["text"] for place in places if place["first"])]


def _running(job: Job, line: DrainLine) -> str:
    name = shortened(job.name, 50)
    if len(job.lines) > 1:
        return say("papers.running_of_line", job=name, line=shortened(line.name, 40))
    return say("papers.running", job=name)


def _grades(answer: Any, units: UnitSystem) -> Table:
    rows = []
    levels, board = _tools(answer)
    notes = [say("level_blocks.grade_tools" if levels else "level_blocks.grade_laser")]
    for run in answer["grade_runs"]:
        ends = [figures.label_at(run[end], units) for end in ("from", "to")]
        dial = figures.percent(run["percent"])
        fall = "falls" if run["percent"] >= 0 else "rises"
        amount = figures.depth_text(abs(run["fall"]), units)
        rows.append(
            (
                say("papers.stretch", from_=ends[0], to=ends[1]),
                say(f"papers.{fall}", amount=amount),
                figures.grade(run["percent"], units),
                f"{dial} %",
                *(_set_by(run, levels) if levels else ()),
            )
        )
        off_m = (float(dial) - run["percent"]) / 100 * (run["to"] - run["from"]) * units.length_m
        if abs(off_m) > LASER_OFF_IN * 0.0254:
            where = "low" if off_m > 0 else "high"
            off = figures.depth_text(abs(off_m) / units.depth_m, units)
            notes.append(say(f"papers.laser_{where}", dial=dial, off=off, at=ends[1]))
    columns = [
        Column("Run", kind="word"),
        Column("Fall", kind="word"),
        Column("Grade", kind="word"),
        Column("Set the laser's grade to", kind="mark"),
    ]
    if levels:
        columns.append(Column(f"Level {', '.join(levels)}", kind="word"))
        columns.append(Column(f"Board {board}", kind="word"))
    return Table("Grade", tuple(columns), tuple(rows), tuple(notes))


def _tools(answer: Any) -> tuple[list[str], str]:
    """The levels and the board that runs are told for; none in a plan kept from before."""
    runs = answer["grade_runs"]
    levels = max(([b["tool"] for b in run.get("level_blocks", [])] for run in runs), key=len)
    return levels, next((run["board"]["tool"] for run in runs if run.get("board")), "")


def _set_by(run: Any, levels: list[str]) -> tuple[str, str]:
    """The block under each level and the gap under the board, for one run."""
    blocks = {one["tool"]: one["mark"] for one in run["level_blocks"]}
    gap = run["board"]["mark"] if run["board"] else "none"
    return ", ".join(blocks.get(level, "none") for level in levels), gap


def _end(answer: Any, units: UnitSystem) -> str:
    """How the line ends; what an answer kept from before does not tell is left out."""
    out = answer["outlet"]
    more = [answer.get("dry_well"), out.get("water")]
    levels = say(
        "papers.end_levels",
        deep=figures.deep(out["dig_depth"], units),
        cover=figures.cover(out["cover"], units),
        level=figures.level(out["invert"], answer, units),
    )
    said = [say(f"papers.end.{out['kind']}", at=figures.label_at(out["at"], units)), levels]
    wet = out.get("left_wet")
    if wet:
        length = units.along_text(wet["length"] * units.length_m)
        volume = units.water_text(wet["volume"] * units.water_m3)
        said.append(say("papers.stays_wet", length=length, volume=volume))
    return " ".join([*said, *(part["sentence"] for part in more if part)])


def _covers(answer: Any, units: UnitSystem) -> Table:
    rows = tuple(
        (
            cover["what"],
            say(
                "papers.stretch",
                from_=figures.label_at(cover["from"], units),
                to=figures.label_at(cover["to"], units),
            ),
            figures.depth_text(cover["cover"], units),
            "not known" if cover["least"] is None else figures.depth_text(cover["least"], units),
        )
        for cover in answer["covers"]
    )
    columns = (
        Column("Under", kind="word"),
        Column("From and to", kind="word"),
        Column("Soil asked for over the pipe", kind="word"),
        Column("Least there is", kind="mark"),
    )
    return Table("What bears on the ground above", columns, rows, ())


def _fills(answer: Any, units: UnitSystem) -> Table:
    """What to lay once the trench is closed, stretch by stretch."""
    rows = tuple(
        (fill["text"], figures.depth_text(fill["depth"], units)) for fill in answer["fills"]
    )
    columns = (Column("What to lay", kind="word"), Column("Deepest", kind="mark"))
    return Table("Soil to lay once the trench is closed", columns, rows, (say("papers.fills"),))


def _crossings(answer: Any, units: UnitSystem) -> Table:
    rows = []
    for crossing in answer["crossings"]:
        zone = figures.hand_dig_zone(crossing, answer["length"], units)
        ends = [figures.label_at(at, units) for at in zone]
        rows.append(
            (
                crossing["what"],
                crossing["label"],
                say("papers.stretch", from_=ends[0], to=ends[1]),
                say(
                    f"papers.top.{'measured' if crossing.get('exposed') else 'given'}",
                    depth=figures.depth_text(crossing["top_depth"], units),
                ),
                say(
                    f"papers.passes.{crossing['pass']}",
                    clearance=figures.depth_text(crossing["clearance"], units),
                ),
            )
        )
    columns = (
        Column("Crossing", kind="word"),
        Column("At", kind="word"),
        Column("Dig by hand", kind="mark"),
        Column("Its top is", kind="word"),
        Column("The pipe passes", kind="word"),
    )
    reach = figures.depth_text(figures.HAND_DIG_M / units.depth_m, units)
    return Table("Crossings", columns, tuple(rows), (say("papers.hand_dig", reach=reach),))
