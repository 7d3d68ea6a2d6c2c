"""What the water does in the pipe, in the caller's units."""

from __future__ import annotations

from typing import Any

from yardfall.core.decision import Remark
from yardfall.core.flow import FlowState
from yardfall.core.units import UnitSystem, plain_number
from yardfall.core.water import Carried, Water
from yardfall.web.verdict import rounded


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
    """Whether the pipe carries the water, in one plain sentence."""
    worst = max(water.runs, key=lambda run: run.ruling.state.share or 0.0)
    state = worst.ruling.state
    flow, capacity = flow_text(state.flow_m3s, units), flow_text(state.capacity_full_m3s, units)
    parts = ""
    if water.rain_m3s and water.pumped_m3s:
        parts = (
            f" ({flow_text(water.rain_m3s, units)} of rain and "
            f"{flow_text(water.pumped_m3s, units)} pumped, both at once)"
        )
    if water.carries:
        said = f"The pipe carries the water: {flow}{parts} of {capacity} when full."
    else:
        served = worst.serves
        needed = f"{served.name} would serve." if served else "No pipe of the list would serve."
        said = f"The pipe is too small: {flow}{parts}, but it carries {capacity} full. {needed}"
    if not state.self_cleaning:
        said += " At this grade it does not keep itself clean."
    return said


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
