// What stands in the yard, drawn over the base: each kind by its own line, pattern and name, so
// that colour is never the only sign. Gas is yellow and drains green, as utility marks are.
/* global L */
import { h } from "../dom.js";

const LABELLED = ["house", "patio", "drive", "septic", "gas", "swale"];

// Layers for a GeoJSON FeatureCollection; `toMap` turns [x, y] into a map position.
export function featureLayers({ features }, toMap) {
  return features.flatMap((feature) => layersOf(feature, toMap));
}

function layersOf({ geometry, properties }, toMap) {
  const { kind, name } = properties;
  const options = { pane: "features", className: `yard-${kind}`, interactive: false };
  const places = (points) => points.map(toMap);
  switch (geometry.type) {
    case "Polygon": {
      const layer = L.polygon(geometry.coordinates.map(places), options);
      return [layer, ...labels(kind, name, layer.getBounds().getCenter())];
    }
    case "LineString": {
      const points = places(geometry.coordinates);
      const casing = L.polyline(points, { ...options, className: `yard-${kind} casing` });
      const middle = points[Math.floor((points.length - 1) / 2)];
      const next = points[Math.floor((points.length - 1) / 2) + 1];
      const centre = L.latLng((middle.lat + next.lat) / 2, (middle.lng + next.lng) / 2);
      return [casing, L.polyline(points, options), ...labels(kind, name, centre)];
    }
    case "Point":
      return [
        L.circleMarker(toMap(geometry.coordinates), { ...options, interactive: true, radius: 5 }).bindTooltip(h("span", null, name), {
          direction: "top",
        }),
      ];
    default:
      return [];
  }
}

function labels(kind, name, place) {
  if (!LABELLED.includes(kind)) return [];
  return [
    L.tooltip(place, {
      permanent: true,
      direction: "center",
      className: `yard-label label-${kind}`,
      pane: "labels",
      content: h("span", null, name),
      interactive: false,
    }),
  ];
}
