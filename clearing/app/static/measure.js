/* Ground distances and areas from degrees, on the ellipsoid, and how they are said. */

const AXIS = 6378137, FLAT = 1 / 298.257223563, E2 = FLAT * (2 - FLAT);
export const M_PER_FT = 0.3048;
const M2_PER_ACRE = 43560 * M_PER_FT * M_PER_FT, RAD = Math.PI / 180;

/* Metres of one degree of longitude and latitude at a latitude. */
export function degreeSizes(lat) {
  const s = Math.sin(lat * RAD), w = Math.sqrt(1 - E2 * s * s);
  return [(AXIS / w) * Math.cos(lat * RAD) * RAD, (AXIS * (1 - E2)) / (w * w * w) * RAD];
}

function metresBetween(a, b) {
  const size = degreeSizes((a[1] + b[1]) / 2);
  return Math.hypot((a[0] - b[0]) * size[0], (a[1] - b[1]) * size[1]);
}

export function lengthOf(line) {
  let sum = 0;
  for (let i = 1; i < line.length; i++) sum += metresBetween(line[i - 1], line[i]);
  return sum;
}

function ringArea(ring) {
  if (ring.length < 3) return 0;
  const lat = ring.reduce(function (sum, c) { return sum + c[1]; }, 0) / ring.length, size = degreeSizes(lat);
  let sum = 0;
  for (let i = 0; i < ring.length; i++) {
    const p = ring[i], q = ring[(i + 1) % ring.length];
    sum += (p[0] - ring[0][0]) * (q[1] - ring[0][1]) - (q[0] - ring[0][0]) * (p[1] - ring[0][1]);
  }
  return Math.abs(sum / 2) * size[0] * size[1];
}

/* Square metres of a GeoJSON polygon or of several. */
export function areaOf(shape) {
  const parts = shape.type === "Polygon" ? [shape.coordinates] : shape.type === "MultiPolygon" ? shape.coordinates : [];
  return parts.reduce(function (sum, rings) {
    return sum + ringArea(rings[0]) - rings.slice(1).reduce(function (s, r) { return s + ringArea(r); }, 0);
  }, 0);
}

function figure(value) {
  if (value >= 100) return Math.round(value).toLocaleString("en-US");
  if (value >= 10) return String(Math.round(value * 10) / 10);
  return String(Math.round(value * 100) / 100);
}

export function sayArea(m2, us) {
  if (!us) return m2 < 1000 ? figure(m2) + " m\u00b2" : figure(m2 / 1e4) + " ha";
  const acres = m2 / M2_PER_ACRE;
  return acres < 0.1 ? Math.round(m2 / (M_PER_FT * M_PER_FT)).toLocaleString("en-US") + " sq ft" : figure(acres) + (acres === 1 ? " acre" : " acres");
}

export function sayLength(m, us) {
  if (!us) return m < 1000 ? Math.round(m) + " m" : figure(m / 1000) + " km";
  const feet = m / M_PER_FT;
  return feet < 5280 ? Math.round(feet).toLocaleString("en-US") + " ft" : figure(feet / 5280) + " miles";
}

/* Steps of a measured grid: the spacing in metres that is nearest to a wish, and its words. */
export function gridStep(wishM, us) {
  const unit = us ? M_PER_FT : 1, wish = wishM / unit, tens = Math.pow(10, Math.floor(Math.log10(wish)));
  const step = [1, 2, 5, 10].map(function (n) { return n * tens; }).find(function (n) { return n >= wish; });
  return [step * unit, step.toLocaleString("en-US") + (us ? " ft" : " m")];
}

export function sizeOf(row, us) {
  const type = row.shape.type;
  if (type.endsWith("Polygon")) return sayArea(areaOf(row.shape), us);
  if (type === "LineString") return sayLength(lengthOf(row.shape.coordinates), us);
  if (type === "MultiLineString") return sayLength(row.shape.coordinates.reduce(function (s, l) { return s + lengthOf(l); }, 0), us);
  return "";
}
