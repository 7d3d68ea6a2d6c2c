// Snapping on the map: corners, lines and stations that are there draw a hand's place to them.
/* global L */

import { isClosed, kindOf, MAIN, pipeLine, pointsOf, shapesOf } from "../../model/document/shapes.js";
import { featureLines, snapped } from "../../model/geometry/snap.js";

const REACH_PX = matchMedia("(pointer: coarse)").matches ? 20 : 11;

export class Snapping {
  on = true;

  constructor(yardMap, store) {
    Object.assign(this, { yardMap, store });
  }

  // A place on the map moved onto what is near, leaving out shape `id` itself: {place, name},
  // the name null where it stays.
  of(place, id) {
    if (!this.on) return { place, name: null };
    const { map } = this.yardMap;
    const reach = map.unproject([REACH_PX, 0]).lng - map.unproject([0, 0]).lng;
    const {
      point: [x, y],
      name,
    } = snapped([place.lng, place.lat], this.#lines(id), reach);
    return { place: L.latLng(y, x), name };
  }

  #lines(id) {
    const { plan } = this.store;
    const { plane, features, stationPoints } = this.yardMap;
    const shapes = shapesOf(plan)
      .filter((shape) => shape.id !== id)
      .map((shape) => {
        const key = shape.id.split(":")[1];
        const isPipe = shape.id === MAIN || kindOf(shape.id) === "branch";
        const points = isPipe ? pipeLine(plan, key ?? "", plane) : pointsOf(plan, shape.id).map(plane.toMetres);
        return { name: shape.name, points: isClosed(shape.id) ? [...points, ...points.slice(0, 1)] : points };
      });
    const stations = id === MAIN ? [] : stationPoints.map(({ label, point }) => ({ name: label, points: [point] }));
    return [...stations, ...shapes, ...(features ? featureLines(features, plane) : [])].filter(({ points }) => points.length);
  }
}
