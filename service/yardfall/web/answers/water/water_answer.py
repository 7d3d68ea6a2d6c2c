"""What the water does in the pipe, in the caller's units."""

from __future__ import annotations

from typing import Any, Final

from yardfall.core.hydraulics.capacity import Carried, Water
from yardfall.core.hydraulics.dry_well import HALF_EMPTY_S, DryWell
from yardfall.core.hydraulics.manning import FlowState
from yardfall.core.hydraulics.pump_leg import PumpCheck
from yardfall.core.remarks import Remark
from yardfall.core.units import UnitSystem, plain_number
from yardfall.sentences import say
from yardfall.web.openapi.numbers import rounded

WELL_HOURS: Final = 48
"""A dry well is commonly asked to empty in 24 to 48 hours (common practice, no source)."""
HALF_HOURS: Final = round(HALF_EMPTY_S / 3600)


def flow_text(flow_m3s: float, units: UnitSystem) -> str:
    """A flow in words: `"78 gpm"`."""
    value = flow_m3s / units.flow_m3s
    return f"{plain_number(value, 0 if units.name == 'us' else 2)} {units.flow_name}"


def _state(state: FlowState, units: UnitSystem) -> dict[str, Any]:
    return {
        "capacity_full": rounded(state.capacity_full_m3s / units.flow_m3s),
        "share_of_capacity": None if state.share is None else rounded(state.share),
        "depth": None if state.depth_m is None else rounded(state.depth_m / units.depth_m),
        "velocity": rounded(state.velocity_m_s / units.velocity_m_s),
    }


def carried_answer(run: Carried, units: UnitSystem) -> dict[str, Any]:
    """One stretch: by the pipe's own roughness, by every basis, and what would serve."""
    own, ruling = run.bases[0].state, run.ruling.state
    return {
        "flow": rounded(own.flow_m3s / units.flow_m3s),
        **_state(own, units),
        "velocity_full": rounded(own.velocity_full_m_s / units.velocity_m_s),
        "self_cleaning": ruling.self_cleaning,
        "self_cleaning_velocity": rounded(own.self_cleaning_m_s / units.velocity_m_s),
        "carries": run.carries,
        "cautious_capacity": rounded(ruling.capacity_full_m3s / units.flow_m3s),
        "cautious_share": None if ruling.share is None else rounded(ruling.share),
        "bases": [
            {"n": basis.n, "source": basis.source, **_state(basis.state, units)}
            for basis in run.bases
        ],
        "smallest_pipe": None if run.serves is None else run.serves.code,
        "largest_roof": None if run.roof_m2 is None else rounded(run.roof_m2 / units.area_m2),
    }


def water_answer(water: Water, units: UnitSystem) -> dict[str, Any]:
    """The `water` part of a plan."""
    return {
        "carries": water.carries,
        "sentence": water_sentence(water, units),
        "rain_alone": rounded(water.rain_m3s / units.flow_m3s),
        "pumped_alone": rounded(water.pumped_m3s / units.flow_m3s),
        "stretches": [
            {
                "from": rounded(run.from_m / units.length_m),
                "to": rounded(run.to_m / units.length_m),
                "percent": rounded(run.grade * 100),
                **carried_answer(run, units),
            }
            for run in water.runs
        ],
    }


def water_sentence(water: Water, units: UnitSystem) -> str:
    """Whether the pipe carries the water, what would, and whether it keeps itself clean."""
    worst = max(water.runs, key=lambda run: run.ruling.state.share or 0.0)
    state = worst.ruling.state
    parts = {
        "flow": flow_text(state.flow_m3s, units),
        "capacity": flow_text(state.capacity_full_m3s, units),
        "rain": flow_text(water.rain_m3s, units),
        "pumped": flow_text(water.pumped_m3s, units),
    }
    both = "_both" if water.rain_m3s and water.pumped_m3s else ""
    if water.carries:
        said = [say(f"water.carries{both}", **parts)]
    else:
        said = [say(f"water.too_small{both}", **parts)]
        if worst.serves:
            said.append(say("water.would_serve", pipe=worst.serves.name))
        else:
            said.append(say("water.none_would_serve"))
    if not state.self_cleaning:
        said.append(say("water.not_self_cleaning"))
    return " ".join(said)


def water_warnings(water: Water) -> tuple[Remark, ...]:
    """A rain rate that hides its bursts, a pipe over full, a grade that leaves silt."""
    found = []
    if water.long_rain:
        found.append(Remark("rain_hides_bursts", "/inflows"))
    if not water.carries:
        found.append(Remark("over_capacity", "/pipe"))
    if not all(run.ruling.state.self_cleaning for run in water.runs):
        found.append(Remark("not_self_cleaning", "/grade"))
    return tuple(found)


def well_warnings(well: DryWell | None) -> tuple[Remark, ...]:
    """A pit that empties too late or never; one sized by one storm alone, of whose duration nobody
    knows that it is the worst."""
    if well is None:
        return ()
    found = []
    if well.never_empties:
        found.append(Remark("well_never_empties", "/dry_well/soak_rate"))
    elif well.too_slow:
        found.append(Remark("well_empties_late", "/dry_well/stone_depth"))
    if len(well.tried) == 1:
        found.append(Remark("one_storm_tried", "/dry_well/storms"))
    return tuple(found)


def pump_answer(pump: PumpCheck, units: UnitSystem) -> dict[str, Any]:
    """What the pump must do; heads in distance units."""
    left = "left" if pump.left_m >= 0 else "short"
    return {
        "friction": rounded(pump.friction_m / units.length_m),
        "head_needed": rounded(pump.needed_m / units.length_m),
        "head_left": rounded(pump.left_m / units.length_m),
        "sentence": say(
            f"water.head_{left}",
            needed=units.length_text(pump.needed_m),
            amount=units.length_text(abs(pump.left_m)),
        ),
    }


def well_answer(well: DryWell, units: UnitSystem) -> dict[str, Any]:
    """Size of the dry well, and how long it takes to empty."""
    hours = None if well.empties_s is None else well.empties_s / 3600
    half = None if well.half_s is None else well.half_s / 3600
    if hours is None or half is None:
        empties = say("water.pit_never_empties")
    else:
        late = "_late" if well.too_slow else ""
        empties = say(
            f"water.pit_empties{late}",
            half=hours_text(half),
            hours=hours_text(hours),
            limit=str(HALF_HOURS),
            most=str(WELL_HOURS),
        )
    across = f"{plain_number(well.diameter_m / units.length_m, 1)} {units.length_name}"
    rain = well.governs
    if len(well.tried) == 1:
        holds = say("water.pit_holds", across=across)
    else:
        count, time = str(len(well.tried)), _time(rain.duration_s)
        worst = units.depth_text(rain.rain_m)
        holds = say("water.pit_holds_worst", across=across, count=count, rain=worst, time=time)
    return {
        "storms": [
            {
                "duration": rounded(one.rain.duration_s / 60),
                "rain_depth": rounded(one.rain.rain_m / units.depth_m),
                "storm_volume": rounded(one.storm_m3 / units.volume_m3),
                "storage": rounded(one.storage_m3 / units.volume_m3),
                "bottom_area": rounded(one.bottom_m2 / units.area_m2),
                "governs": k == well.worst,
            }
            for k, one in enumerate(well.tried)
        ],
        "safety_factor": rounded(well.storm.safety_factor),
        "soak_rate": rounded(well.soak_m_s / units.rain_m_s),
        "hours_to_half": None if half is None else rounded(half),
        "storm_volume": rounded(well.storm_m3 / units.volume_m3),
        "storage": rounded(well.storage_m3 / units.volume_m3),
        "bottom_area": rounded(well.bottom_m2 / units.area_m2),
        "stone_volume": rounded(well.stone_m3 / units.volume_m3),
        "diameter": rounded(well.diameter_m / units.length_m),
        "hours_to_empty": None if hours is None else rounded(hours),
        "sentence": f"{holds} {empties}",
        "basis": say(
            "water.pit_soaks_less_by_sides"
            if well.soaks_less_by_sides
            else "water.pit_soaks_more_by_sides"
        ),
        "source": "Storms of several durations, half empty within 24 hours: BRE Digest 365; "
        "soaking through the bottom alone: Toronto and Region Conservation Authority (from "
        "memory); safety factor: Minnesota Stormwater Manual; voids 40 %: common practice, no "
        "source",
    }


def _time(duration_s: float) -> str:
    """How long it rains, in minutes up to an hour and a half."""
    minutes = duration_s / 60
    return f"{plain_number(minutes, 0)} min" if minutes < 90 else f"{hours_text(minutes / 60)} h"


def hours_text(hours: float) -> str:
    """Hours as a soaking test can tell them: to a half below 10, else whole."""
    return plain_number(round(hours * 2) / 2 if hours < 10 else hours, 1 if hours < 10 else 0)
