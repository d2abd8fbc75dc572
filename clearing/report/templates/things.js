/* How roads, water, fences and the like are drawn, on the map and on the drawing page. */
"use strict";

var COLOURS = (function () {
  var style = getComputedStyle(document.documentElement);
  return function (name) {
    return style.getPropertyValue("--" + name).trim();
  };
})();

function drawThings(features, group, renderer) {
  var water = COLOURS("water"), ink = COLOURS("ink"), paper = COLOURS("paper");
  var lines = {
    water: [{ color: paper, weight: 6, opacity: 0.5 }, { color: water, weight: 4 }],
    public_road: [{ color: ink, weight: 6 }, { color: paper, weight: 3.6 }],
    farm_road: [{ color: ink, weight: 4 }, { color: paper, weight: 2.4, dashArray: "7 4" }],
    trail: [{ color: paper, weight: 1.8, dashArray: "3 4" }],
    fence: [{ color: paper, weight: 2.6, opacity: 0.7 }, { color: ink, weight: 1.1, dashArray: "8 2 2 2" }],
    power_line: [{ color: paper, weight: 3.5, opacity: 0.7 }, { color: ink, weight: 1.4, dashArray: "1 5", lineCap: "round" }],
    property_line: [{ color: paper, weight: 3.5, opacity: 0.6 }, { color: ink, weight: 1.5, dashArray: "12 4 2 4" }]
  };
  features.forEach(function (thing) {
    var base = { pane: "lines", renderer: renderer, interactive: false, fill: false };
    if (thing.as === "line") {
      (lines[thing.kind] || lines.trail).forEach(function (style) {
        L.polyline(thing.shape, L.extend({}, base, style)).addTo(group);
      });
    } else if (thing.as === "area") {
      var wet = thing.kind === "water", solid = thing.kind === "building";
      var fill = wet ? water : solid ? ink : paper;
      L.polygon(thing.shape, L.extend({}, base, { fill: true, fillColor: fill, fillOpacity: wet ? 0.85 : solid ? 0.9 : 0.12, color: wet ? water : ink, weight: 1.2 })).addTo(group);
    } else if (thing.kind !== "neighbour_tree") {
      thing.shape.forEach(function (point) {
        L.circleMarker(point, L.extend({}, base, { radius: 5, fill: true, fillColor: thing.kind === "well" ? water : paper, fillOpacity: 1, color: ink, weight: 1.6 })).addTo(group);
      });
    }
  });
}
