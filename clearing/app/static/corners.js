/* Move, add and take out corners; a corner that several shapes share moves in all of them. */
import { snapTo, pathsOf, FINGER_PX, MOUSE_PX } from "./snap.js";
import { edited, holds, moved, same } from "./drafts.js";

const MOST_SHOWN = 160; /* handles at once; nearer in, the rest come */
const STEP_PX = 4, APART_PX = 17, NUDGE_MS = 450;

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
    if (this.nudged && this.row && row.uid !== this.row.uid) this.settle();
    if (this.dragging) return;
    this.row = row;
    if (this.picked && !holds(row.shape, this.picked)) this.picked = null;
    this.show();
  }

  close() {
    this.settle();
    this.row = null;
    this.picked = null;
    this.handles.clear();
    this.layer.clearLayers();
  }

  show() {
    const active = document.activeElement && document.activeElement.dataset ? document.activeElement.dataset.corner : null;
    const focused = this.focus || (active ? active.split(",").map(Number) : null);
    this.layer.clearLayers();
    this.handles.clear();
    if (!this.row) return;
    const view = this.map.getBounds().pad(0.1);
    if (this.row.shape.type === "Point") {
      this.handle(this.row.shape.coordinates, "corner");
      return this.refocus(focused);
    }
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
    this.refocus(focused);
  }

  /* The handle that had the focus has it again: the nearest one, since saving may move it by a hair. */
  refocus(place) {
    this.focus = null;
    if (!place) return;
    const spot = this.map.latLngToContainerPoint(latlng(place));
    let near = 6, found = null;
    this.handles.forEach((marker) => {
      const away = this.map.latLngToContainerPoint(marker.getLatLng()).distanceTo(spot);
      if (away < near) [near, found] = [away, marker];
    });
    if (found) found.getElement().focus({ preventScroll: true });
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
    element.setAttribute("aria-label", what === "middle" ? "New corner here: press Enter" : this.row.shape.type === "Point" ? "Its place: arrow keys move it" : "Corner: arrow keys move it, Delete takes it out");
    if (what === "corner") this.handles.set(at.join(","), marker);
    let from = at, holders = null, edit = null;
    marker.on("dragstart", () => {
      this.settle();
      this.dragging = true;
      holders = what === "corner" ? this.holdersOf(at) : this.withCorner(edge, at);
      this.held = holders;
      edit = null;
    });
    marker.on("drag", () => {
      const to = this.snapped(marker.getLatLng(), holders, from);
      marker.setLatLng(latlng(to));
      this.preview(holders, from, to);
      from = to;
      edit = what === "corner" ? { move: [at, to] } : { add: [edge[1], edge[2], to] };
    });
    marker.on("dragend", () => this.keep(holders, edit, from));
    marker.on("click", () => {
      if (what === "middle") return this.keep(this.withCorner(edge, at), { add: [edge[1], edge[2], at] }, at);
      this.picked = picked ? null : at;
      this.focus = at;
      this.show();
      this.changed("");
    });
    element.addEventListener("keydown", (event) => this.key(event, marker, at, what, edge));
  }

  key(event, marker, at, what, edge) {
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
    const out = event.key === "Delete" || event.key === "Backspace";
    if (!(step && what === "corner") && !out && !(event.key === "Enter" && what === "middle")) return;
    event.preventDefault();
    event.stopPropagation();
    if (event.key === "Enter") return this.keep(this.withCorner(edge, at), { add: [edge[1], edge[2], at] }, at);
    if (out) return what === "corner" && this.row.shape.type !== "Point" ? this.takeOut(at) : null;
    this.nudge(marker, at, step, event.shiftKey ? 5 * STEP_PX : STEP_PX);
  }

  /* Presses of arrow keys that follow each other soon are one stroke. */
  nudge(marker, at, step, pixels) {
    if (!this.nudged || this.nudged.at !== at) {
      this.settle();
      this.nudged = { at: at, now: at, holders: this.holdersOf(at) };
      this.held = this.nudged.holders;
      this.dragging = true;
    }
    const point = this.map.latLngToContainerPoint(latlng(this.nudged.now)).add([step[0] * pixels, step[1] * pixels]);
    const place = this.map.containerPointToLatLng(point), to = [place.lng, place.lat];
    marker.setLatLng(place);
    this.preview(this.nudged.holders, this.nudged.now, to);
    this.nudged.now = to;
    clearTimeout(this.soon);
    this.soon = setTimeout(() => this.settle(), NUDGE_MS);
  }

  settle() {
    clearTimeout(this.soon);
    const done = this.nudged;
    this.nudged = null;
    if (done) this.keep(done.holders, { move: [done.at, done.now] }, done.now);
  }

  heldUids() {
    return (this.held || []).map(function (holder) { return holder.row.uid; });
  }

  /* All shapes that hold this corner, each with a copy of its shape that may be changed. */
  holdersOf(at) {
    const own = this.row.shape.type === "Point" ? [this.row] : this.rows(this.row).filter(function (row) { return holds(row.shape, at); });
    return own.map(function (row) { return { row: row, shape: structuredClone(row.shape) }; });
  }

  /* The shapes along an edge, with a new corner on it. */
  withCorner(edge, at) {
    return this.rows(this.row).map(function (row) { return { row: row, shape: edited(row.shape, { add: [edge[1], edge[2], at] }) }; }).filter(function (holder) { return holder.shape; });
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

  keep(holders, edit, at) {
    this.dragging = false;
    this.held = null;
    this.picked = null;
    if (!edit || !holders || !holders.length) return this.show();
    this.focus = at;
    this.kept(holders, edit, holders.length > 1 ? "shared corner moved" : "corner moved");
  }

  takeOut(at) {
    this.settle();
    const holders = this.holdersOf(at);
    if (holders.some(function (holder) { return !edited(holder.shape, { out: at }); })) return this.changed("An area needs three corners and a line two; delete the shape instead.");
    this.picked = null;
    this.kept(holders, { out: at }, "corner taken out");
  }
}

function latlng(corner) {
  return [corner[1], corner[0]];
}
