/* Strokes as data that outlive a page, and how each is filled in when its turn comes. */
import { pathsOf } from "./snap.js";

/* Give the stroke of a draft as it goes out, on the shapes as they are by now; null when one is gone.

   A draft is a stroke whose items name rows without versions; an item may hold an edit of the row's
   corners (moved, added, taken out) instead of a shape, so that two quick drags do not undo each other. */
export function fill(draft, rows) {
  if (draft.do === "put") {
    const items = draft.items.map(function (item) { return item.uid ? filled(item, rows) : item; });
    return items.some(function (item) { return !item; }) ? null : { do: "put", items: items, words: draft.words };
  }
  if (draft.do === "split") {
    const row = rows.get(draft.uid);
    return row ? Object.assign({}, draft, { v: row.v }) : null;
  }
  if (draft.uids) {
    const pairs = draft.uids.map(function (uid) { const row = rows.get(uid); return row ? [uid, row.v] : null; });
    return pairs.some(function (pair) { return !pair; }) ? null : Object.assign({}, draft, { uids: pairs });
  }
  return draft;
}

function filled(item, rows) {
  const row = rows.get(item.uid);
  if (!row) return null;
  const now = { uid: item.uid, v: row.v };
  if (item.own) now.own = item.own;
  if (item.shape) now.shape = item.shape;
  if (item.edit) {
    now.shape = row.shape && edited(row.shape, item.edit);
    if (!now.shape) return null;
  }
  return now;
}

/* A shape after an edit of its corners; null when it is no longer as the hand had it, or too few are left. */
export function edited(shape, edit) {
  if (edit.move) return holds(shape, edit.move[0]) ? moved(shape, edit.move[0], edit.move[1]) : null;
  if (edit.add) {
    const copy = structuredClone(shape);
    return insert(copy, edit.add[0], edit.add[1], edit.add[2]) ? copy : null;
  }
  return holds(shape, edit.out) ? without(shape, edit.out) : null;
}

export function same(a, b) {
  return a[0] === b[0] && a[1] === b[1];
}

export function holds(shape, at) {
  if (shape.type === "Point") return same(shape.coordinates, at);
  return pathsOf(shape).some(function (path) { return path.line.some(function (c) { return same(c, at); }); });
}

function deep(coordinates, work) {
  return typeof coordinates[0] === "number" ? work(coordinates) : coordinates.map(function (each) { return deep(each, work); });
}

export function moved(shape, from, to) {
  return { type: shape.type, coordinates: deep(shape.coordinates, function (c) { return same(c, from) ? to.slice() : c; }) };
}

function lines(shape) {
  const c = shape.coordinates;
  return { LineString: [c], MultiLineString: c, Polygon: c, MultiPolygon: c.flat() }[shape.type] || [];
}

function insert(shape, a, b, middle) {
  return lines(shape).reduce(function (found, line) {
    for (let i = 1; i < line.length; i++) {
      if ((same(line[i - 1], a) && same(line[i], b)) || (same(line[i - 1], b) && same(line[i], a))) {
        line.splice(i, 0, middle.slice());
        return true;
      }
    }
    return found;
  }, false);
}

function without(shape, at) {
  const copy = structuredClone(shape), ring = shape.type.endsWith("Polygon");
  let enough = true;
  lines(copy).forEach(function (line) {
    const closed = line.length > 3 && same(line[0], line[line.length - 1]);
    const body = closed ? line.slice(0, -1) : line.slice(), left = body.filter(function (c) { return !same(c, at); });
    if (left.length === body.length) return;
    if (left.length < (ring || closed ? 3 : 2)) enough = false;
    line.splice(0, line.length, ...left, ...(closed && left.length ? [left[0].slice()] : []));
  });
  return enough ? copy : null;
}
