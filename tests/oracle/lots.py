"""Random lots searched end to end, and every way in which what is told of one contradicts itself.

The map, its places, its routes and what `POST /plan` says of the same lines are held together: the
service against itself, by its answers alone.
"""

from __future__ import annotations

import random
from typing import Any

import numpy as np
from rasters import raster

Body = dict[str, Any]
SAME_MM = 1.0
OUT = ("outlet", "conditional")


def lot(rng: random.Random, service: Any) -> Body:
    """A lot of spot heights or cells, 12 to 40 m wide, with limits and shape stated by chance."""
    seed = rng.randrange(10**9)
    draw = np.random.default_rng(seed)
    fall = rng.uniform(0.0, 0.07)
    rough = rng.choice((0.0, 0.02, 0.05, 0.1))
    body: Body = {
        "units": "si",
        "pipe": {"code": rng.choice(("pvc-sdr35-4", "corrugated-single-4"))},
        "accuracy": {"sigma": 0, "common": 0},
        "draws": 0,
    }
    if rng.random() < 0.6:
        cell = rng.choice((0.5, 1.0, 1.0, 2.0, 3.2))
        count = int(rng.uniform(14, 40) / cell) + 3
        down, across = np.mgrid[:count, :count] * cell
        levels = 100 - fall * across + rng.uniform(-0.02, 0.02) * down
        levels = levels + rough * draw.standard_normal((count, count))
        if rng.random() < 0.3:
            clear = max(count * 2 // 5, count * 3 // 10 + 2)  # of the start, with cells about it
            row, column = draw.integers(0, count - 2), draw.integers(clear, count - 2)
            levels[row : row + 2, column : column + 3] = -9999
        wide = count * cell
        rim = [(int(draw.integers(0, count)), (0, count - 1)[int(draw.integers(0, 2))])
               for _ in range(2)]  # fmt: skip
        hole = np.argwhere(levels == -9999)
        if len(hole):
            rim += [(hole[0, 0] - 1, hole[0, 1]), (hole[-1, 0], hole[-1, 1] + 1)]
        rim_places = [
            [500000.0 + (c + 0.5) * cell, 5000000.0 - (r + 0.5) * cell]
            for r, c in rim
            if 0 <= r < count and 0 <= c < count
        ]
        body["ground"] = {
            "kind": "raster", "raster": raster(service, levels, cell), "vertical_unit": "m"
        }  # fmt: skip
        body["crs"] = "EPSG:26915"
        west, north = 500000.0, 5000000.0
        body["radius"] = wide
    else:
        count = rng.randint(4, 9)
        step = rng.choice((2.0, 3.0, 4.0))
        spots = [
            [step * i, step * j, round(10 - fall * step * i + rough * float(z), 3)]
            for i in range(count)
            for j in range(count)
            for z in draw.standard_normal(1)
        ]
        wide = step * (count - 1)
        body["ground"] = {"kind": "spots", "points": spots}
        body["crs"] = "local"
        west, north = 0.0, wide
        rim_places = [[0.0 + wide, wide * float(draw.random())], [wide * float(draw.random()), 0.0]]
    place = [west + wide * rng.uniform(0.1, 0.3), north - wide * rng.uniform(0.2, 0.8)]
    body["start"] = {"point": [round(v, 3) for v in place], "cover": rng.choice((100, 150, 200))}
    kind = rng.choice(("daylight", "pop_up"))
    body["outlet"] = {"kind": kind}
    if rng.random() < 0.3:
        body["outlet"]["depth"] = {"min": 0, "max": rng.choice((150, 240, 350))}
    if rng.random() < 0.3:
        body["limits"] = {"min_cover": rng.choice((50, 100))}
    if rng.random() < 0.3:
        body.setdefault("limits", {})["outlet_taper"] = rng.choice((1, 3, 6))
    if rng.random() < 0.2:
        body.setdefault("limits", {})["max_depth"] = rng.choice((450, 600))
    shape = rng.random()
    if shape < 0.25:
        body["grade"] = {"shape": "straight"}
    elif shape < 0.4:
        body["grade"] = {"shape": "least_dig", "max_breaks": rng.randint(0, 3)}
    places = [
        [round(west + wide * rng.uniform(0.25, 0.95), 3), round(north - wide * rng.random(), 3)]
        for _ in range(3)
    ]
    if draw.random() < 0.25:  # a lot line, and places just inside it
        far = [west + 0.93 * wide, north - 0.93 * wide]
        near = [west + 0.05 * wide, north - 0.06 * wide]
        line = [near, [far[0], near[1]], far, [near[0], far[1]], near]
        body["within"] = {"type": "Polygon", "coordinates": [line]}
        beside = float(draw.uniform(far[1], near[1]))
        rim_places += [[far[0] - 0.02, beside], [near[0] + 0.02, beside]]
    body["ask"] = [place for place in places + rim_places if not _is_outside(body, place)]
    if rng.random() < 0.3:
        body["targets"] = {"type": "MultiPoint", "coordinates": places[:2]}
        if rng.random() < 0.5:
            body["targets"] = {"type": "LineString", "coordinates": places[:2]}
    return body


def _search(service: Any, body: Body) -> Any:
    return service.client.post("/api/v1/reach", json=body)


def faults(body: Body, service: Any) -> dict[str, list[str]]:
    """By sort: each contradiction in what is told of a lot."""
    answered = _search(service, body)
    if answered.status_code != 200:
        return {"refused": [f"{answered.status_code}: {answered.json.get('detail')}"]}
    told = answered.json
    found: dict[str, list[str]] = {
        "summary": _summary(told),
        "routes": _routes(told, service),
        "places": _places(body, told, service),
    }
    return {sort: some for sort, some in found.items() if some}


def _summary(told: Body) -> list[str]:
    summary, found = told["summary"], []
    routes = told["routes"]
    yes = [r for r in routes if r["answer"]["verdict"] == "yes"]
    if summary["verdict"] == "yes" and len(yes) < len(routes):
        found.append(f"a yes with {len(routes) - len(yes)} of {len(routes)} routes a no")
    if summary["verdict"] == "yes" and not yes:
        found.append("a yes without a route")
    if summary["verdict"] == "no" and yes:
        found.append("a no with a route that is a yes")
    if (summary["verdict"] == "yes") != (summary["overall"] in ("yes", "conditional")):
        found.append(f"{summary['verdict']}, overall {summary['overall']}")
    if summary["overall"] == "yes" and yes and all(r["answer"]["conditions"] for r in yes):
        found.append("plain, and every route with a condition")
    if summary["spare"] is not None and (summary["spare"] < 0) != (summary["verdict"] == "no"):
        found.append(f"{summary['verdict']} with {summary['spare']} to spare")
    if summary["verdict"] == "no" and summary["outlet_area"] > 0:
        found.append(f"a no, and {summary['outlet_area']} where it comes out")
    most = [r["answer"]["spare"] for r in routes if "most_spare" in r["kinds"]]
    if most and summary["verdict"] == "yes" and abs(most[0] - summary["spare"]) > SAME_MM:
        found.append(f"{summary['spare']} to spare, its route {most[0]}")
    met = [t["kind"] in OUT for t in told["targets"]]
    if met and any(met) != (summary["verdict"] == "yes"):
        found.append(f"{summary['verdict']}, and {sum(met)} targets met")
    return found


def _routes(told: Body, service: Any) -> list[str]:
    """Each route's plan is what `POST /plan` says of it."""
    found = []
    for route in told["routes"]:
        again = service(route["plan_request"])["answer"]
        for name in ("verdict", "overall"):
            if again[name] != route["answer"][name]:
                found.append(
                    f"{route['kinds']}: {name} {route['answer'][name]}, then {again[name]}"
                )
        if abs(again["spare"] - route["answer"]["spare"]) > 1e-3:
            found.append(f"{route['kinds']}: {route['answer']['spare']}, then {again['spare']}")
    return found


def _is_outside(body: Body, place: list[float]) -> bool:
    if "within" not in body:
        return False
    line = np.array(body["within"]["coordinates"][0])
    return not bool(((place >= line.min(axis=0)) & (place <= line.max(axis=0))).all())


def _places(body: Body, told: Body, service: Any) -> list[str]:
    """A place told as reached has a route, asked for alone, that says the same."""
    found = []
    places = [*told["asked"], *(t for t in told["targets"] if t["point"] is not None)]
    for place in places:
        one = {k: v for k, v in body.items() if k not in ("targets", "ask")}
        if place["kind"] in OUT and _is_outside(body, place["point"]):
            found.append(f"{place['kind']} outside the lot line: {place['point']}")
            continue
        answered = _search(service, one | {"to": place["point"], "routes": 0})
        if answered.status_code != 200:
            found.append(f"to {place['point']}: {answered.json.get('detail')}")
            continue
        routes = answered.json["routes"]
        if place["kind"] in OUT:
            if not routes or routes[0]["answer"]["verdict"] != "yes":
                found.append(f"{place['kind']} {place['spare']} to {place['point']}: no route")
                continue
            plan = routes[0]["answer"]
            if abs(plan["spare"] - place["spare"]) > SAME_MM:
                found.append(f"{place['kind']} {place['spare']}, its route {plan['spare']}")
            if plan["overall"] != ("yes" if place["kind"] == "outlet" else "conditional"):
                found.append(f"{place['kind']}, its route {plan['overall']}")
        elif place["kind"] not in ("near_start", "unknown"):
            if routes and routes[0]["answer"]["verdict"] == "yes":
                found.append(f"{place['kind']}, and its route a yes")
            line = {"type": "LineString", "coordinates": [body["start"]["point"], place["point"]]}
            plan = {k: body[k] for k in ("units", "pipe", "accuracy", "ground", "outlet")}
            plan |= {k: body[k] for k in ("limits", "grade") if k in body}
            plan["start"] = {"cover": body["start"]["cover"]}
            plan["route"] = {"line": line, "crs": body["crs"]}
            if _is_outside(body, place["point"]):
                continue
            straight = service.client.post("/api/v1/plan", json=plan)
            if straight.status_code == 200 and straight.json["answer"]["verdict"] == "yes":
                found.append(f"{place['kind']}, and straight there a yes: {place['point']}")
    return found
