/* Find the corner or edge that a tap is meant for. */

export const FINGER_PX = 22, MOUSE_PX = 13;

/* Every ring and line of the shapes that can be snapped to: closed rings without their last corner. */
export function pathsOf(shape) {
  if (shape.type === "Polygon") return shape.coordinates.map(function (ring) { return { line: ring.slice(0, -1), closed: true }; });
  if (shape.type === "MultiPolygon") return shape.coordinates.flat().map(function (ring) { return { line: ring.slice(0, -1), closed: true }; });
  if (shape.type === "LineString") return [lineOf(shape.coordinates)];
  if (shape.type === "MultiLineString") return shape.coordinates.map(lineOf);
  return [];
}

function lineOf(line) {
  const first = line[0], last = line[line.length - 1];
  const closed = line.length > 3 && first[0] === last[0] && first[1] === last[1];
  return { line: closed ? line.slice(0, -1) : line, closed: closed };
}

/* The nearest corner within reach, else the nearest spot of an edge; null when nothing is near.
   at is [lng, lat]: of a corner to the bit. */
export function snapTo(map, rows, latlng, reach, skip) {
  const point = map.latLngToContainerPoint(latlng), view = map.getBounds().pad(0.5);
  let corner = null, near = reach, edge = null, off = reach * 0.8;
  rows.forEach(function (row) {
    pathsOf(row.shape).forEach(function (path) {
      const line = path.line, spots = line.map(function (c) { return view.contains([c[1], c[0]]) ? map.latLngToContainerPoint([c[1], c[0]]) : null; });
      line.forEach(function (c, i) {
        if (skip && skip(row, c)) return;
        if (spots[i] && spots[i].distanceTo(point) < near) {
          near = spots[i].distanceTo(point);
          corner = { at: c, what: "corner", row: row };
        }
        const n = (i + 1) % line.length;
        if (i === line.length - 1 && !path.closed) return;
        if (skip && skip(row, line[n])) return;
        const a = spots[i] || map.latLngToContainerPoint([c[1], c[0]]), b = spots[n] || map.latLngToContainerPoint([line[n][1], line[n][0]]);
        const found = footOn(a, b, point);
        if (found.away < off) {
          off = found.away;
          edge = { at: [c[0] + (line[n][0] - c[0]) * found.share, c[1] + (line[n][1] - c[1]) * found.share], what: "edge", row: row };
        }
      });
    });
  });
  return corner || edge;
}

function footOn(a, b, p) {
  const wide = b.x - a.x, high = b.y - a.y, long = wide * wide + high * high;
  const share = long ? Math.max(0, Math.min(1, ((p.x - a.x) * wide + (p.y - a.y) * high) / long)) : 0;
  return { share: share, away: Math.hypot(a.x + share * wide - p.x, a.y + share * high - p.y) };
}
