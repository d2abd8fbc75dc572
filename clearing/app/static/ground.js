/* The ground: photo or measured grid, and every drawn shape with its name. */
import { degreeSizes, gridStep, sizeOf, M_PER_FT } from "./measure.js";
import { asOf, idOf, nameOf, toolFor } from "./signs.js";

const PANES = { photo: 210, grid: 220, beyond: 300, known: 320, casing: 400, areas: 410, lines: 430, trees: 440, hit: 450, hand: 470, names: 480, handles: 620 };
const BLANK = "data:image/gif;base64,R0lGODlhAQABAIAAAAAAAP///yH5BAEAAAAALAAAAAABAAEAAAIBRAA7";

export class Ground {
  /* tapped(row) is told of a shape that was tapped while nothing is drawn. */
  constructor(map, store, tapped) {
    Object.assign(this, { map: map, store: store, tapped: tapped });
    Object.keys(PANES).forEach(function (name) {
      const pane = map.createPane(name);
      pane.style.zIndex = PANES[name];
      if (!["areas", "hit", "handles"].includes(name)) pane.style.pointerEvents = "none";
    });
    const svg = (pane) => L.svg({ pane: pane, padding: 0.4 });
    this.renderers = { casing: svg("casing"), areas: svg("areas"), lines: svg("lines"), hit: svg("hit"), beyond: svg("beyond"), known: svg("known") };
    this.drawn = new Map();
    this.chosen = null;
    this.crowns = {};
    this.trees = new KeepTrees(treesOf([]), COLOURS("keep-tree")).addTo(map);
    this.treeRows = [];
    this.around = L.layerGroup().addTo(map);
    this.wanted = [];
    this.names = placeNames(map, this.wanted);
    this.photo = null;
    this.grid = new Grid(store.us);
    map.on("moveend zoomend", this.showNames, this);
    let near = false;
    map.on("zoomend", () => {
      if (near === map.getZoom() >= 17.5) return;
      near = !near;
      this.show(store.of("plots"), []);
    });
    map.on("click", (event) => { if (!this.busy()) this.tapped(this.pointAt(event.containerPoint)); });
    this.busy = function () { return false; };
  }

  showPhoto(photo) {
    const stamp = photo && photo.placed && !photo.opening ? photo.stamp : "";
    if (this.stamp === stamp) return;
    this.stamp = stamp;
    if (this.photo) this.photo.remove();
    this.photo = null;
    if (stamp) {
      const b = photo.bounds;
      this.photo = L.tileLayer("/photo/" + encodeURIComponent(stamp) + "/{z}/{x}/{y}", {
        pane: "photo", bounds: [[b[1], b[0]], [b[3], b[2]]], maxNativeZoom: photo.deepest, maxZoom: 23, errorTileUrl: BLANK
      }).addTo(this.map);
    }
    this.showGrid(!stamp);
  }

  showGrid(on) {
    if (on) this.grid.addTo(this.map);
    else this.grid.remove();
    this.gridOn = on;
  }

  /* Draw all rows anew, or those given. */
  show(rows, gone) {
    (gone || []).forEach((uid) => this.drop(uid));
    rows.forEach((row) => { this.drop(row.uid); this.draw(row); });
    if (rows.concat((gone || []).map((uid) => ({ layer: uid.split("-")[0] }))).some((row) => row.layer === "keep_trees")) this.showTrees();
    this.showNames();
  }

  drop(uid) {
    const group = this.drawn.get(uid);
    if (group) group.remove();
    this.drawn.delete(uid);
  }

  draw(row) {
    if (!row.shape || row.layer === "keep_trees" || row.shape.type === "GeometryCollection") return;
    const group = L.layerGroup().addTo(this.map);
    if (row.layer === "blocks" || row.layer === "strips") this.drawArea(row, group);
    else if (row.layer === "plots") this.drawPlot(row, group);
    else this.drawFeature(row, group);
    this.drawn.set(row.uid, group);
  }

  drawArea(row, group) {
    const shape = ringsOf(row.shape), strip = row.layer === "strips", chosen = this.chosen === row.uid;
    const ink = COLOURS("ink"), paper = COLOURS("paper");
    L.polygon(shape, { renderer: this.renderers.casing, pane: "casing", fill: false, color: paper, weight: strip ? 3.5 : 6, opacity: 0.75, interactive: false }).addTo(group);
    const area = L.polygon(shape, {
      renderer: this.renderers.areas, pane: "areas", color: chosen ? COLOURS("accent") : ink, weight: chosen ? 4 : strip ? 1.4 : 2.4,
      dashArray: strip ? "6 4" : null, fillColor: paper, fillOpacity: strip ? 0 : chosen ? 0.22 : 0.1
    }).addTo(group);
    area.on("click", (event) => this.tap(event, row));
    area.getElement().dataset.uid = row.uid;
  }

  drawPlot(row, group) {
    const at = [row.shape.coordinates[1], row.shape.coordinates[0]], chosen = this.chosen === row.uid, seen = row.own.visited === "yes";
    const radius = Number(row.own.radius_m) || Number(row.own.radius_ft) * M_PER_FT || this.store.plotRadius;
    const near = this.map.getZoom() >= 17.5 || chosen;
    if (near) L.circle(at, { renderer: this.renderers.lines, pane: "lines", radius: radius, color: COLOURS(chosen ? "accent" : "ink"), weight: chosen ? 3 : 1.6, dashArray: "3 3", fill: false, interactive: false }).addTo(group);
    L.circleMarker(at, { renderer: this.renderers.lines, pane: "lines", radius: near ? 4 : 2.5, color: COLOURS("ink"), weight: 1.2, fillColor: seen ? COLOURS("ink") : COLOURS("paper"), fillOpacity: 1, interactive: false }).addTo(group);
    this.hit(row, L.circleMarker(at, { radius: 20 }), group);
  }

  drawFeature(row, group) {
    const as = asOf(row), chosen = this.chosen === row.uid;
    const shape = as === "area" ? ringsOf(row.shape) : as === "line" ? linesOf(row.shape) : pointsOf(row.shape);
    if (chosen && as !== "point") L.polyline(as === "area" ? shape.flat() : shape, { renderer: this.renderers.casing, pane: "casing", color: COLOURS("accent"), weight: 11, opacity: 0.8, interactive: false }).addTo(group);
    drawThings([{ kind: row.own.kind, as: as, shape: shape }], group, this.renderers.lines);
    if (as === "point") {
      if (row.own.kind === "neighbour_tree") L.circleMarker(shape[0], { renderer: this.renderers.lines, pane: "lines", radius: 9, color: COLOURS("keep-tree"), weight: 2, dashArray: "3 3", fillColor: COLOURS("paper"), fillOpacity: 0.4, interactive: false }).addTo(group);
      if (chosen) L.circleMarker(shape[0], { renderer: this.renderers.lines, pane: "lines", radius: 11, color: COLOURS("accent"), weight: 3, fill: false, interactive: false }).addTo(group);
      this.hit(row, L.circleMarker(shape[0], { radius: 20 }), group);
    } else if (as === "line") this.hit(row, L.polyline(shape, { weight: 22 }), group);
    else this.hit(row, L.polygon(shape, {}), group);
  }

  hit(row, shape, group) {
    L.setOptions(shape, { renderer: this.renderers.hit, pane: "hit", opacity: 0, fillOpacity: 0, fill: !(shape instanceof L.Polyline) || shape instanceof L.Polygon });
    shape.addTo(group);
    shape.on("click", (event) => this.tap(event, row));
    shape.getElement().dataset.uid = row.uid;
  }

  tap(event, row) {
    if (this.busy()) return;
    L.DomEvent.stopPropagation(event);
    this.tapped(this.pointAt(event.containerPoint) || this.store.rows.get(row.uid) || null);
  }

  pointAt(point) {
    const tree = this.trees.near(point, 14);
    return tree < 0 ? null : this.store.rows.get(this.treeRows[tree]);
  }

  showTrees() {
    const list = [];
    this.store.of("keep_trees").forEach((row) => {
      if (!row.shape || row.shape.type !== "Point") return;
      const c = row.shape.coordinates;
      list.push({ uid: row.uid, lng: c[0], lat: c[1], radius: this.crowns[row.uid] || 3 });
    });
    this.treeRows = list.map((tree) => tree.uid);
    this.trees.set(treesOf(list));
    if (this.ring) this.ring.remove();
    const chosen = list.find((tree) => tree.uid === this.chosen);
    if (chosen) this.ring = L.circle(chosen, { renderer: this.renderers.lines, pane: "lines", radius: chosen.radius, color: COLOURS("accent"), weight: 4, fill: false, interactive: false }).addTo(this.map);
  }

  choose(uid) {
    const old = this.chosen;
    this.chosen = uid;
    [old, uid].forEach((each) => {
      const row = each && this.store.rows.get(each);
      if (row) { this.drop(each); this.draw(row); }
    });
    this.showTrees();
    this.showNames();
  }

  /* Setbacks, the neighbours' side and crowns, as the program reckons them after each stroke. */
  showAround(around) {
    this.around.clearLayers();
    this.crowns = around.crowns || {};
    const red = COLOURS("keep-out");
    if (around.neighbours_side) L.polygon(around.neighbours_side.shape || around.neighbours_side, { renderer: this.renderers.beyond, pane: "beyond", stroke: false, fillColor: "url(#beyond)", fillOpacity: 0.6, interactive: false }).addTo(this.around);
    (around.setbacks || []).forEach((ring) => {
      L.polygon(ring.shape, { renderer: this.renderers.beyond, pane: "beyond", color: red, weight: 1.2, dashArray: "4 3", fillColor: "url(#keep-out)", fillOpacity: 0.3, interactive: false }).addTo(this.around);
    });
    this.showTrees();
  }

  showNames() {
    const species = this.store.speciesWords, wanted = this.wanted, chosen = this.store.rows.get(this.chosen);
    wanted.length = 0;
    const add = function (row, kind, from) {
      const at = middleOf(row.shape);
      if (at) wanted.push({ text: nameOf(row, species), at: at, kind: kind, from: from });
    };
    if (chosen && chosen.shape && chosen.layer !== "blocks") add(chosen, "thing", 0);
    this.store.of("blocks").forEach((row) => {
      const at = row.shape && middleOf(row.shape);
      if (at) wanted.push({ text: nameOf(row, species) + ", " + sizeOf(row, this.store.us), at: at, kind: "block", from: 0 });
    });
    this.store.of("features").forEach(function (row) { if (row.shape) add(row, "thing", ["well", "gate", "building"].includes(row.own.kind) ? 17 : 16); });
    this.store.of("plots").forEach(function (row) { if (row.shape) wanted.push({ text: idOf(row), at: [row.shape.coordinates[1] + 0.00002, row.shape.coordinates[0] + 0.00002], kind: "thing", from: 17.5 }); });
    this.store.of("strips").forEach(function (row) { if (row.shape) add(row, "strip", 16.5); });
    this.names({});
  }
}

/* A point for a name: the middle of the first part. */
function middleOf(shape) {
  if (shape.type.endsWith("Point")) { const p = pointsOf(shape)[0]; return p && [p[0], p[1]]; }
  if (shape.type.endsWith("LineString")) { const line = linesOf(shape)[0]; return line && line[Math.floor(line.length / 2)]; }
  const ring = ringsOf(shape)[0] && ringsOf(shape)[0][0];
  if (!ring || ring.length < 3) return null;
  let area = 0, x = 0, y = 0;
  for (let i = 0; i < ring.length; i++) {
    const p = ring[i], q = ring[(i + 1) % ring.length];
    const cross = (p[1] - ring[0][1]) * (q[0] - ring[0][0]) - (q[1] - ring[0][1]) * (p[0] - ring[0][0]);
    area += cross;
    x += (p[1] + q[1] - 2 * ring[0][1]) * cross;
    y += (p[0] + q[0] - 2 * ring[0][0]) * cross;
  }
  return area ? [ring[0][0] + y / (3 * area), ring[0][1] + x / (3 * area)] : ring[0];
}

function flip(c) { return [c[1], c[0]]; }

export function ringsOf(shape) {
  return (shape.type === "Polygon" ? [shape.coordinates] : shape.coordinates).map(function (part) { return part.map(function (ring) { return ring.map(flip); }); });
}

export function linesOf(shape) {
  return (shape.type === "LineString" ? [shape.coordinates] : shape.coordinates).map(function (line) { return line.map(flip); });
}

export function pointsOf(shape) {
  return (shape.type === "Point" ? [shape.coordinates] : shape.coordinates).map(flip);
}

/* A measured grid where there is no photo: lines a round number of feet or metres apart. */
const Grid = L.Layer.extend({
  initialize: function (us) { this.us = us; },
  onAdd: function (map) {
    this.canvas = L.DomUtil.create("canvas", "leaflet-zoom-hide", map.getPane("grid"));
    map.on("moveend zoomend viewreset resize", this.draw, this);
    this.draw();
  },
  onRemove: function (map) {
    map.off("moveend zoomend viewreset resize", this.draw, this);
    this.canvas.remove();
  },
  draw: function () {
    const map = this._map, size = map.getSize(), sharp = window.devicePixelRatio || 1, canvas = this.canvas;
    canvas.width = size.x * sharp;
    canvas.height = size.y * sharp;
    canvas.style.width = size.x + "px";
    canvas.style.height = size.y + "px";
    L.DomUtil.setPosition(canvas, map.containerPointToLayerPoint([0, 0]));
    const pen = canvas.getContext("2d"), metres = degreeSizes(map.getCenter().lat), box = map.getBounds();
    const perPixel = ((box.getEast() - box.getWest()) * metres[0]) / size.x, found = gridStep(perPixel * 70, this.us);
    const wide = found[0] / metres[0], high = found[0] / metres[1];
    pen.scale(sharp, sharp);
    pen.strokeStyle = COLOURS("line");
    pen.fillStyle = COLOURS("quiet");
    pen.font = "14px system-ui, sans-serif";
    pen.beginPath();
    for (let lng = Math.ceil(box.getWest() / wide) * wide; lng < box.getEast(); lng += wide) {
      const x = Math.round(map.latLngToContainerPoint([box.getNorth(), lng]).x) + 0.5;
      pen.moveTo(x, 0);
      pen.lineTo(x, size.y);
    }
    for (let lat = Math.ceil(box.getSouth() / high) * high; lat < box.getNorth(); lat += high) {
      const y = Math.round(map.latLngToContainerPoint([lat, box.getWest()]).y) + 0.5;
      pen.moveTo(0, y);
      pen.lineTo(size.x, y);
    }
    pen.stroke();
    this.words = "One square is " + found[1] + " wide";
    if (this.told) this.told(this.words);
  }
});
