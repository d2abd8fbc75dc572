/* Ground distances and areas from degrees, on the ellipsoid, and how they are said. */
"use strict";

/* A plane that touches the ellipsoid at the middle latitude: good to a thousandth over a few miles. */
var DISTANCES = (function () {
  var AXIS = 6378137, FLAT = 1 / 298.257223563, E2 = FLAT * (2 - FLAT), RAD = Math.PI / 180;
  var M_PER_FT = 0.3048, M2_PER_ACRE = 43560 * M_PER_FT * M_PER_FT;

  /* Metres of one degree of longitude and latitude at a latitude. */
  function degreeSizes(lat) {
    var s = Math.sin(lat * RAD), w = Math.sqrt(1 - E2 * s * s);
    return [(AXIS / w) * Math.cos(lat * RAD) * RAD, (AXIS * (1 - E2)) / (w * w * w) * RAD];
  }

  /* Places are GeoJSON's: longitude first. */
  function metresBetween(a, b) {
    var size = degreeSizes((a[1] + b[1]) / 2);
    return Math.hypot((a[0] - b[0]) * size[0], (a[1] - b[1]) * size[1]);
  }

  function lengthOf(line) {
    var sum = 0;
    for (var i = 1; i < line.length; i++) sum += metresBetween(line[i - 1], line[i]);
    return sum;
  }

  function ringArea(ring) {
    if (ring.length < 3) return 0;
    var lat = ring.reduce(function (sum, c) { return sum + c[1]; }, 0) / ring.length, size = degreeSizes(lat), sum = 0;
    for (var i = 0; i < ring.length; i++) {
      var p = ring[i], q = ring[(i + 1) % ring.length];
      sum += (p[0] - ring[0][0]) * (q[1] - ring[0][1]) - (q[0] - ring[0][0]) * (p[1] - ring[0][1]);
    }
    return Math.abs(sum / 2) * size[0] * size[1];
  }

  /* Whether two sides of a closed ring cross; sides that only touch do not. */
  function crosses(ring) {
    function side(a, b, c) { return Math.sign((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])); }
    return ring.some(function (a, i) {
      var b = ring[(i + 1) % ring.length];
      return ring.some(function (c, j) {
        var d = ring[(j + 1) % ring.length];
        return j > i && side(a, b, c) * side(a, b, d) < 0 && side(c, d, a) * side(c, d, b) < 0;
      });
    });
  }

  /* Square metres of a GeoJSON polygon or of several. */
  function areaOf(shape) {
    var parts = shape.type === "Polygon" ? [shape.coordinates] : shape.type === "MultiPolygon" ? shape.coordinates : [];
    return parts.reduce(function (sum, rings) {
      return sum + ringArea(rings[0]) - rings.slice(1).reduce(function (s, r) { return s + ringArea(r); }, 0);
    }, 0);
  }

  /* Metres from a place to the nearest point of a line of corners. */
  function metresTo(place, line) {
    var size = degreeSizes(place[1]), least = Infinity;
    var at = line.map(function (c) { return L.point((c[0] - place[0]) * size[0], (c[1] - place[1]) * size[1]); });
    for (var i = 1; i < at.length; i++) least = Math.min(least, L.LineUtil.pointToSegmentDistance(L.point(0, 0), at[i - 1], at[i]));
    return least;
  }

  function figure(value) {
    if (value >= 100) return Math.round(value).toLocaleString("en-US");
    if (value >= 10) return String(Math.round(value * 10) / 10);
    return String(Math.round(value * 100) / 100);
  }

  function sayArea(m2, us) {
    if (!us) return m2 < 1000 ? figure(m2) + " m\u00b2" : figure(m2 / 1e4) + " ha";
    var acres = m2 / M2_PER_ACRE;
    return acres < 0.1 ? Math.round(m2 / (M_PER_FT * M_PER_FT)).toLocaleString("en-US") + " sq ft" : figure(acres) + (acres === 1 ? " acre" : " acres");
  }

  function sayLength(m, us) {
    if (!us) return m < 1000 ? Math.round(m) + " m" : figure(m / 1000) + " km";
    var feet = m / M_PER_FT;
    return feet < 5280 ? Math.round(feet).toLocaleString("en-US") + " ft" : figure(feet / 5280) + " miles";
  }

  /* A length with two figures, for a place that is itself not sure. */
  function sayRough(m, us) {
    var large = us ? 5280 * M_PER_FT : 1000, unit = m >= large ? large : us ? M_PER_FT : 1;
    var value = Math.max(m / unit, 1), tens = Math.pow(10, Math.floor(Math.log10(value)) - 1);
    return sayLength(Math.round(value / tens) * tens * unit, us);
  }

  /* Steps of a measured grid: the spacing in metres that is nearest to a wish, and its words. */
  function gridStep(wishM, us) {
    var unit = us ? M_PER_FT : 1, wish = wishM / unit, tens = Math.pow(10, Math.floor(Math.log10(wish)));
    var step = [1, 2, 5, 10].map(function (n) { return n * tens; }).find(function (n) { return n >= wish; });
    return [step * unit, step.toLocaleString("en-US") + (us ? " ft" : " m")];
  }

  function sizeOf(row, us) {
    var type = row.shape.type;
    if (type.endsWith("Polygon")) return sayArea(areaOf(row.shape), us);
    if (type === "LineString") return sayLength(lengthOf(row.shape.coordinates), us);
    if (type === "MultiLineString") return sayLength(row.shape.coordinates.reduce(function (s, l) { return s + lengthOf(l); }, 0), us);
    return "";
  }

  return { degreeSizes: degreeSizes, lengthOf: lengthOf, areaOf: areaOf, crosses: crosses, metresTo: metresTo, sayArea: sayArea, sayLength: sayLength, sayRough: sayRough, gridStep: gridStep, sizeOf: sizeOf, M_PER_FT: M_PER_FT };
})();
