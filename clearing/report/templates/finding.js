/* What lies under a finger, and where a position is. */
"use strict";

var LINE_REACH = 8, POINT_REACH = 16; /* pixels */
var TREES_CLOSE = 17.5; /* zoom from which a small crown counts as wide as a finger */
var FINGER = 16, SEEN = 5;

/* Shapes come as differences of millionths of a degree: made places of [latitude, longitude] here. */
function unpackShapes(data) {
  function line(packed) {
    var places = [], lat = 0, lng = 0;
    for (var i = 0; i < packed.length; i += 2) places.push([(lat += packed[i]) / 1e6, (lng += packed[i + 1]) / 1e6]);
    return places;
  }
  [data.blocks, data.strips, data.ruled, data.pieces, data.features].forEach(function (layer) {
    layer.forEach(function (one) {
      if (one.as === "point") return;
      one.shape = one.shape.map(function (part) { return one.as === "line" ? line(part) : part.map(line); });
    });
  });
}

/* Whether a place lies inside a shape of parts of rings of [latitude, longitude]. */
function inside(at, shape) {
  var within = false;
  shape.forEach(function (rings) {
    rings.forEach(function (ring) {
      for (var i = 0, j = ring.length - 1; i < ring.length; j = i++) {
        var p = ring[i], q = ring[j];
        if (p[0] > at.lat !== q[0] > at.lat && at.lng < ((q[1] - p[1]) * (at.lat - p[0])) / (q[0] - p[0]) + p[1]) within = !within;
      }
    });
  });
  return within;
}

function stripAt(data, at) {
  return data.strips.findIndex(function (strip) { return inside(at, strip.shape); });
}

/* Gives kind (tree, plot, thing) and place in the data of what lies there, or null. */
function thingAt(map, data, ground, hidden, point) {
  var at = map.containerPointToLatLng(point);
  function pixels(place) { return map.latLngToContainerPoint(place); }
  if (!hidden.trees) {
    var close = map.getZoom() >= TREES_CLOSE, tree = ground.trees.near(point, close ? FINGER : 0);
    if (tree >= 0 && (close || ground.trees.trees.radius[tree] * ground.trees.metresToPixels() >= SEEN)) return { kind: "tree", place: tree };
  }
  if (!hidden.plots) {
    var plot = data.plots.findIndex(function (one) { return pixels(one.at).distanceTo(point) < POINT_REACH || map.distance(one.at, at) < one.radius; });
    if (plot >= 0) return { kind: "plot", place: plot };
  }
  if (hidden.things) return null;
  var best = -1, least = Infinity;
  data.features.forEach(function (thing, place) {
    var away = Infinity;
    if (thing.as === "point") {
      thing.shape.forEach(function (one) { away = Math.min(away, pixels(one).distanceTo(point) / 2); });
    } else if (thing.as === "line") {
      thing.shape.forEach(function (line) {
        var corners = line.map(pixels);
        for (var i = 1; i < corners.length; i++) away = Math.min(away, L.LineUtil.pointToSegmentDistance(point, corners[i - 1], corners[i]));
      });
    } else if (inside(at, thing.shape)) away = 0;
    if (away < least && away < LINE_REACH) {
      best = place;
      least = away;
    }
  });
  return best < 0 ? null : { kind: "thing", place: best };
}

/* Where a position is, in words. */
function whereabouts(data, at) {
  var strip = stripAt(data, at);
  if (strip >= 0) return "You are in " + data.strips[strip].name + ".";
  var block = data.blocks.find(function (one) { return inside(at, one.shape); });
  if (block) return "You are in " + block.name + ".";
  var least = Infinity, nearest = null;
  data.blocks.forEach(function (one) {
    one.shape.forEach(function (rings) {
      rings.forEach(function (ring) {
        var away = DISTANCES.metresTo([at.lng, at.lat], ring.map(function (c) { return [c[1], c[0]]; }));
        if (away < least) {
          least = away;
          nearest = one;
        }
      });
    });
  });
  return nearest ? "You are about " + DISTANCES.sayRough(least, data.us) + " from the nearest block, " + nearest.name + "." : "";
}
