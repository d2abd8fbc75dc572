/* What lies under a finger, and where a position is. */
"use strict";

var LINE_REACH = 8, POINT_REACH = 16; /* pixels */
var TREES_CLOSE = 17.5; /* zoom from which a small crown counts as wide as a finger */
var FINGER = 16, SEEN = 5;
var ROUGH_M = 200; /* a position less sure than this names no field; own choice */

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

/* A thing's name in a note on the map. */
function showNote(map, at, words) {
  var box = document.createElement("div");
  box.textContent = words;
  box.dir = "auto";
  L.popup({ closeButton: false, className: "note", autoPanPaddingTopLeft: [10, 116], maxWidth: 240 }).setLatLng(at).setContent(box).openOn(map);
}

/* The tree, plot, gate or well whose middle is nearest among those under the finger, or null. */
function pointAt(map, data, ground, hidden, point) {
  var best = null, least = Infinity, at = map.containerPointToLatLng(point);
  function away(place) { return map.latLngToContainerPoint(place).distanceTo(point); }
  function take(kind, place, far) {
    if (far >= least) return;
    best = { kind: kind, place: place };
    least = far;
  }
  if (!hidden.trees) {
    var close = map.getZoom() >= TREES_CLOSE, tree = ground.trees.near(point, close ? FINGER : 0);
    if (tree >= 0 && (close || ground.trees.trees.radius[tree] * ground.trees.metresToPixels() >= SEEN)) take("tree", tree, away(ground.trees.placeOf(tree)));
  }
  if (!hidden.plots) data.plots.forEach(function (plot, place) {
    var far = away(plot.at);
    if (far < POINT_REACH || map.distance(plot.at, at) < plot.radius) take("plot", place, far);
  });
  if (!hidden.things) data.features.forEach(function (thing, place) {
    if (thing.as === "point") thing.shape.forEach(function (one) { if (away(one) < POINT_REACH) take("thing", place, away(one)); });
  });
  return best;
}

/* The nearest line under the finger, as its place in the data, or -1. */
function lineAt(map, data, point) {
  var best = -1, least = LINE_REACH;
  data.features.forEach(function (thing, place) {
    if (thing.as === "line") thing.shape.forEach(function (line) {
      var corners = line.map(function (one) { return map.latLngToContainerPoint(one); });
      for (var i = 1; i < corners.length; i++) {
        var away = L.LineUtil.pointToSegmentDistance(point, corners[i - 1], corners[i]);
        if (away >= least) continue;
        best = place;
        least = away;
      }
    });
  });
  return best;
}

/* Gives kind (tree, plot, thing) and place in the data of what lies there, or null: first what is a
   point, then ponds and houses. A line (road, trail, fence) tells its name here and now, and leaves
   the tap to the strip beneath it. */
function thingAt(map, data, ground, hidden, point) {
  var found = pointAt(map, data, ground, hidden, point), at = map.containerPointToLatLng(point);
  if (found || hidden.things) return found;
  var area = data.features.findIndex(function (thing) { return thing.as === "area" && inside(at, thing.shape); });
  if (area >= 0) return { kind: "thing", place: area };
  var line = lineAt(map, data, point);
  if (line >= 0) showNote(map, at, data.features[line].words);
  return null;
}

/* Metres of the radius of a circle as large as a shape. */
function reachOf(shape) {
  var rings = shape.map(function (part) { return part.map(function (ring) { return ring.map(function (c) { return [c[1], c[0]]; }); }); });
  return Math.sqrt(DISTANCES.areaOf({ type: "MultiPolygon", coordinates: rings }) / Math.PI);
}

/* Where a position is, in words; which block is told only of a position that is surer than the block is large. */
function whereabouts(data, at, accuracy) {
  var about = DISTANCES.sayRough(accuracy, data.us), strip = data.strips[stripAt(data, at)];
  var block = data.blocks.find(function (one) { return inside(at, one.shape); });
  var named = [strip, block].find(function (one) { return one && accuracy <= Math.min(reachOf(one.shape), ROUGH_M); });
  if (named) return "You are in " + named.name + ". Give or take " + about + ".";
  var far = nearestBlock(data, at);
  if (strip || block || (accuracy > ROUGH_M && accuracy >= far.away)) return "You are within about " + about + " of here; too rough to say which field.";
  return (far.block ? "You are about " + DISTANCES.sayRough(far.away, data.us) + " from the nearest block, " + far.block.name + ". " : "") + "Give or take " + about + ".";
}

function nearestBlock(data, at) {
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
  return { block: nearest, away: least };
}
