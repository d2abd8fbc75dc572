/* The stroke in hand: corners one after another, by mouse, finger or keyboard. */
import { snapTo, FINGER_PX, MOUSE_PX } from "./snap.js";
import { areaOf, lengthOf, sayArea, sayLength } from "./measure.js";

const TWICE_MS = 500;
const LEAST = { area: 3, line: 2, point: 1 };

export class Stroke {
  /* done(tool, shape) takes a finished shape; changed() is told whenever something is to be shown. */
  constructor(map, rows, us, done, changed) {
    Object.assign(this, { map: map, rows: rows, us: us, done: done, changed: changed });
    this.tool = null;
    this.corners = [];
    this.hover = null;
    this.snaps = true;
    this.reach = MOUSE_PX;
    this.layer = L.layerGroup().addTo(map);
    map.on("click", this.tap, this);
    map.on("mousemove", this.move, this);
    map.getContainer().addEventListener("pointerdown", (event) => {
      this.reach = event.pointerType === "mouse" ? MOUSE_PX : FINGER_PX;
      this.free = event.altKey;
    }, true);
  }

  start(tool) {
    if (this.tool) this.stop(true);
    this.tool = tool;
    this.map.doubleClickZoom.disable();
    this.map.getContainer().classList.add("drawing");
    this.changed();
  }

  /* keeps: a stroke that is whole already is finished, not thrown away. */
  stop(keeps) {
    if (this.tool && keeps && this.whole()) this.finish();
    this.corners = [];
    this.tool = null;
    this.hover = null;
    this.map.doubleClickZoom.enable();
    this.map.getContainer().classList.remove("drawing");
    this.show();
    this.changed();
  }

  whole() {
    return Boolean(this.tool) && this.tool.as !== "point" && this.corners.length >= LEAST[this.tool.as];
  }

  tap(event) {
    if (!this.tool) return;
    this.put(event.latlng);
  }

  put(latlng) {
    const spot = this.map.latLngToContainerPoint(latlng), last = this.corners.length - 1;
    if (this.tool.as === "point" && this.twice(spot)) return;
    const near = (corner) => this.map.latLngToContainerPoint([corner[1], corner[0]]).distanceTo(spot) < this.reach;
    if (this.tool.as !== "point" && this.whole()) {
      if (this.corners.length > 2 && near(this.corners[0])) return this.finish(true);
      if (near(this.corners[last])) return this.finish();
    } else if (last >= 0 && this.tool.as !== "point" && near(this.corners[last])) return;
    const found = this.snapped(latlng);
    this.corners.push(found ? found.at.slice() : [latlng.lng, latlng.lat]);
    if (this.tool.as === "point") return this.finish();
    this.show();
    this.changed();
  }

  /* A double tap is one tap. */
  twice(spot) {
    const old = this.before;
    this.before = { spot: spot, at: performance.now() };
    return Boolean(old) && this.before.at - old.at < TWICE_MS && old.spot.distanceTo(spot) < this.reach;
  }

  snapped(latlng) {
    if (!this.snaps || this.free || !this.tool || this.tool.as === "point") return null;
    return snapTo(this.map, this.rows(this.tool), latlng, this.reach);
  }

  move(event) {
    if (!this.tool || this.reach === FINGER_PX) return;
    const found = this.snapped(event.latlng);
    this.hover = { at: found ? found.at : [event.latlng.lng, event.latlng.lat], found: found };
    this.show();
  }

  back() {
    this.corners.pop();
    this.show();
    this.changed();
  }

  finish(closed) {
    if (!this.tool || this.corners.length < LEAST[this.tool.as]) return;
    const line = this.corners, tool = this.tool;
    const shape = tool.as === "point" ? { type: "Point", coordinates: line[0] }
      : tool.as === "area" ? { type: "Polygon", coordinates: [line.concat([line[0].slice()])] }
      : { type: "LineString", coordinates: closed ? line.concat([line[0].slice()]) : line };
    this.corners = [];
    this.hover = null;
    this.show();
    this.changed();
    this.done(tool, shape);
  }

  /* How large it is so far, with the corner under the pointer. */
  size() {
    const line = this.corners.concat(this.hover && this.corners.length ? [this.hover.at] : []);
    if (!this.tool || line.length < 2) return "";
    if (this.tool.as === "area") return line.length < 3 ? "" : sayArea(areaOf({ type: "Polygon", coordinates: [line] }), this.us);
    return sayLength(lengthOf(line), this.us);
  }

  show() {
    const here = this.layer, style = getComputedStyle(document.documentElement);
    const ink = style.getPropertyValue("--ink").trim(), paper = style.getPropertyValue("--paper").trim(), accent = style.getPropertyValue("--accent").trim();
    here.clearLayers();
    if (!this.tool) return;
    const line = this.corners.map(latlng), next = this.hover ? latlng(this.hover.at) : null;
    const still = { interactive: false, pane: "hand" };
    if (line.length) {
      const open = next && line.length ? line.concat([next]) : line;
      if (this.tool.as === "area" && open.length > 2) L.polygon(open, Object.assign({ stroke: false, fillColor: accent, fillOpacity: 0.16 }, still)).addTo(here);
      L.polyline(line, Object.assign({ color: paper, weight: 6, opacity: 0.8 }, still)).addTo(here);
      L.polyline(line, Object.assign({ color: accent, weight: 3 }, still)).addTo(here);
      if (next) L.polyline([line[line.length - 1], next], Object.assign({ color: accent, weight: 2, dashArray: "5 5" }, still)).addTo(here);
      if (next && this.tool.as === "area" && line.length > 1) L.polyline([next, line[0]], Object.assign({ color: accent, weight: 1.5, dashArray: "2 6" }, still)).addTo(here);
    }
    line.forEach((at, i) => {
      const ends = i === 0 || i === line.length - 1;
      L.circleMarker(at, Object.assign({ radius: ends ? 6 : 4, color: accent, weight: 2, fillColor: ends ? accent : paper, fillOpacity: 1 }, still)).addTo(here);
    });
    if (this.hover && this.hover.found) {
      L.circleMarker(next, Object.assign({ radius: this.hover.found.what === "corner" ? 9 : 6, color: ink, weight: 2, fill: false }, still)).addTo(here);
    }
    const size = this.size();
    if (size && line.length) {
      const label = document.createElement("span");
      label.textContent = size;
      L.marker(next || line[line.length - 1], { interactive: false, keyboard: false, pane: "names", icon: L.divIcon({ className: this.map.latLngToContainerPoint(next || line[line.length - 1]).x > this.map.getSize().x - 130 ? "measure left" : "measure", html: label, iconSize: [0, 0] }) }).addTo(here);
    }
  }
}

function latlng(corner) {
  return [corner[1], corner[0]];
}
