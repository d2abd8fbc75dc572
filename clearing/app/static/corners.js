/* Move, add and take out corners; a corner that several shapes share moves in all of them. */
import { snapTo, pathsOf, FINGER_PX, MOUSE_PX } from "./snap.js";

const MOST_SHOWN = 160; /* handles at once; nearer in, the rest come */
const STEP_PX = 4, APART_PX = 17;

export class Corners {
  /* rows(row) gives the shapes that share corners with row; kept(changed, words) takes new shapes. */
  constructor(map, rows, kept, changed) {
    Object.assign(this, { map: map, rows: rows, kept: kept, changed: changed });
    this.row = null;
    this.picked = null;
    this.handles = new Map();
    this.layer = L.layerGroup().addTo(map);
    map.on("moveend", () => { if (this.row && !this.dragging) this.show(); });
  }

  open(row) {
    this.row = row;
    this.picked = null;
    this.show();
  }

  close() {
    this.row = null;
    this.picked = null;
    this.handles.clear();
    this.layer.clearLayers();
  }

  show() {
    const focused = this.focus || (document.activeElement && document.activeElement.dataset ? document.activeElement.dataset.corner : null);
    this.layer.clearLayers();
    this.handles.clear();
    if (!this.row) return;
    const view = this.map.getBounds().pad(0.1);
    if (this.row.shape.type === "Point") return this.handle(this.row.shape.coordinates, "corner");
    const seen = [], middles = [];
    pathsOf(this.row.shape).forEach((path) => {
      path.line.forEach((c, i) => {
        if (view.contains(latlng(c))) seen.push(c);
        const n = path.line[(i + 1) % path.line.length];
        if (i === path.line.length - 1 && !path.closed) return;
        const a = this.map.latLngToContainerPoint(latlng(c)), b = this.map.latLngToContainerPoint(latlng(n));
        const middle = [(c[0] + n[0]) / 2, (c[1] + n[1]) / 2];
        if (a.distanceTo(b) > 56 && view.contains(latlng(middle))) middles.push([middle, c, n]);
      });
    });
    const shown = this.apart(seen);
    if (shown.length > MOST_SHOWN) return this.changed("Nearer in, the corners of this shape can be moved.");
    middles.forEach((each) => this.handle(each[0], "middle", each));
    shown.forEach((c) => this.handle(c, "corner"));
    if (focused && this.handles.has(focused)) this.handles.get(focused).getElement().focus({ preventScroll: true });
    this.focus = null;
  }

  /* Corners that would lie on each other are left out; nearer in, they show. */
  apart(seen) {
    const taken = [];
    return seen.filter((c) => {
      const spot = this.map.latLngToContainerPoint(latlng(c));
      if (!(this.picked && same(this.picked, c)) && taken.some(function (other) { return other.distanceTo(spot) < APART_PX; })) return false;
      taken.push(spot);
      return true;
    });
  }

  handle(at, what, edge) {
    const picked = this.picked && same(this.picked, at);
    const marker = L.marker(latlng(at), {
      draggable: true, autoPan: true, pane: "handles", keyboard: true, bubblingMouseEvents: false,
      icon: L.divIcon({ className: "handle-" + what + (picked ? " picked" : ""), html: "<span></span>", iconSize: [44, 44] })
    });
    marker.addTo(this.layer);
    const element = marker.getElement();
    element.dataset.corner = at.join(",");
    element.setAttribute("aria-label", what === "corner" ? "Corner: arrow keys move it, Delete takes it out" : "New corner here: press Enter");
    if (what === "corner") this.handles.set(at.join(","), marker);
    let from = at, holders = null;
    const begin = () => {
      holders = what === "corner" ? this.holdersOf(at) : this.withCorner(edge);
    };
    marker.on("dragstart", () => { this.dragging = true; begin(); });
    marker.on("drag", () => {
      const to = this.snapped(marker.getLatLng(), holders, from);
      marker.setLatLng(latlng(to));
      this.preview(holders, from, to);
      from = to;
    });
    marker.on("dragend", () => {
      this.dragging = false;
      this.keep(holders, from);
    });
    marker.on("click", () => {
      if (what === "middle") {
        begin();
        return this.keep(holders, at);
      }
      this.picked = picked ? null : at;
      this.focus = at.join(",");
      this.show();
      this.changed("");
    });
    element.addEventListener("keydown", (event) => this.key(event, at, what, edge));
  }

  key(event, at, what, edge) {
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    if (what === "middle" && event.key === "Enter") {
      event.preventDefault();
      event.stopPropagation();
      return this.keep(this.withCorner(edge), at);
    }
    if (what !== "corner") return;
    if (event.key === "Delete" || event.key === "Backspace") {
      event.preventDefault();
      event.stopPropagation();
      return this.takeOut(at);
    }
    if (!step) return;
    event.preventDefault();
    event.stopPropagation();
    const wide = event.shiftKey ? 5 * STEP_PX : STEP_PX;
    const point = this.map.latLngToContainerPoint(latlng(at)).add([step[0] * wide, step[1] * wide]);
    const to = this.map.containerPointToLatLng(point), place = [to.lng, to.lat];
    const holders = this.holdersOf(at);
    this.preview(holders, at, place);
    this.focus = place.join(",");
    this.keep(holders, place);
  }

  /* All shapes that hold this corner, each with a copy of its shape that may be changed. */
  holdersOf(at) {
    const own = this.row.shape.type === "Point" ? [this.row] : this.rows(this.row).filter(function (row) { return pathsOf(row.shape).some(function (path) { return path.line.some(function (c) { return same(c, at); }); }); });
    return own.map(function (row) { return { row: row, shape: structuredClone(row.shape) }; });
  }

  /* The shapes along an edge, with a new corner in its middle. */
  withCorner(edge) {
    const holders = [];
    this.rows(this.row).forEach(function (row) {
      const shape = structuredClone(row.shape);
      if (insert(shape, edge[1], edge[2], edge[0])) holders.push({ row: row, shape: shape });
    });
    return holders;
  }

  snapped(at, holders, from) {
    const skip = function (row, corner) { return same(corner, from) || holders.some(function (h) { return h.row.uid === row.uid; }); };
    const place = [at.lng, at.lat];
    if (this.row.shape.type === "Point") return place;
    const reach = matchMedia("(pointer: coarse)").matches ? FINGER_PX : MOUSE_PX;
    const found = snapTo(this.map, this.rows(this.row).filter(function (row) { return !holders.some(function (h) { return h.row.uid === row.uid; }); }), at, reach, skip);
    return found ? found.at.slice() : place;
  }

  preview(holders, from, to) {
    holders.forEach((holder) => {
      holder.shape = moved(holder.shape, from, to);
      this.changed(null, holder);
    });
  }

  keep(holders, at) {
    if (!holders || !holders.length) return;
    this.focus = at.join(",");
    this.picked = null;
    this.kept(holders, holders.length > 1 ? "shared corner moved" : "corner moved");
  }

  takeOut(at) {
    const holders = this.holdersOf(at);
    const left = holders.map(function (holder) { return { row: holder.row, shape: without(holder.shape, at) }; });
    if (left.some(function (each) { return each.shape === null; })) return this.changed("An area needs three corners and a line two; delete the shape instead.");
    this.picked = null;
    this.kept(left, "corner taken out");
  }
}

function same(a, b) {
  return a[0] === b[0] && a[1] === b[1];
}

function latlng(corner) {
  return [corner[1], corner[0]];
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

/* The shape without a corner; null when too few are left. */
function without(shape, at) {
  const copy = structuredClone(shape), ring = shape.type.endsWith("Polygon");
  let enough = true;
  lines(copy).forEach(function (line) {
    const closed = line.length > 3 && same(line[0], line[line.length - 1]);
    const body = (closed ? line.slice(0, -1) : line.slice()), left = body.filter(function (c) { return !same(c, at); });
    if (left.length === body.length) return;
    if (left.length < (ring || closed ? 3 : 2)) enough = false;
    line.splice(0, line.length, ...left, ...(closed && left.length ? [left[0].slice()] : []));
  });
  return enough ? copy : null;
}
