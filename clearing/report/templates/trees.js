/* Keep trees on one canvas: columns of numbers, unpacked once, and a grid that finds the one tapped. */
"use strict";

/* On paper, own choice: crowns up to which each is a line of its own, thickness of a shared outline
   in pixels, share of colour inside it, and dots of the picture for each pixel. */
var ON_PAPER = { most: 2000, line: 0.6, tint: 0.14, sharp: 2 };
var CROWN_PEN = { fill: "rgba(251,249,244,0.42)", line: 1.6, dot: 1.3, least: 1.6, largest: 48 };

function numbersOf(packed) {
  var raw = atob(packed[1]), bytes = new Uint8Array(raw.length);
  for (var i = 0; i < raw.length; i++) bytes[i] = raw.charCodeAt(i);
  return packed[0] === 1 ? bytes : new Uint16Array(bytes.buffer);
}

/* Places on the web map (0 to 1) and radii of crowns in metres. */
function emptyTrees(count) {
  return { count: count, x: new Float64Array(count), y: new Float64Array(count), radius: new Float32Array(count) };
}

function unpackTrees(trees) {
  var made = emptyTrees(trees.count);
  if (!trees.count) return made;
  var x = numbersOf(trees.x), y = numbersOf(trees.y), crown = numbersOf(trees.crown), box = trees.box;
  for (var i = 0; i < trees.count; i++) {
    made.x[i] = box[0] + (x[i] / 65535) * box[2];
    made.y[i] = box[1] + (y[i] / 65535) * box[3];
    made.radius[i] = trees.radii[crown[i]];
  }
  return made;
}

/* The same from a list of longitude, latitude and radius. */
function treesOf(list) {
  var made = emptyTrees(list.length);
  list.forEach(function (tree, i) {
    made.x[i] = (tree.lng + 180) / 360;
    made.y[i] = 0.5 - Math.log(Math.tan(Math.PI / 4 + (tree.lat * Math.PI) / 360)) / (2 * Math.PI);
    made.radius[i] = tree.radius;
  });
  return made;
}

var KeepTrees = L.Layer.extend({
  initialize: function (trees, colour) {
    this.colour = colour;
    this.set(trees);
  },
  set: function (trees) {
    this.trees = trees;
    this.cells = null;
    if (this._map) this.draw();
  },
  onAdd: function (map) {
    this.canvas = L.DomUtil.create("canvas", "leaflet-zoom-hide", map.getPane("trees"));
    map.on("moveend zoomend viewreset resize", this.draw, this);
    this.draw();
  },
  onRemove: function (map) {
    map.off("moveend zoomend viewreset resize", this.draw, this);
    this.canvas.remove();
  },
  metresToPixels: function () {
    var map = this._map, middle = map.getCenter();
    var circle = 40075016.686 * Math.cos((middle.lat * Math.PI) / 180);
    return (256 * Math.pow(2, map.getZoom())) / circle;
  },
  world: function () {
    return 256 * Math.pow(2, this._map.getZoom());
  },
  placeOf: function (i) {
    var lat = Math.atan(Math.sinh(Math.PI * (1 - 2 * this.trees.y[i]))) * (180 / Math.PI);
    return L.latLng(lat, this.trees.x[i] * 360 - 180);
  },
  draw: function () {
    var map = this._map, size = map.getSize(), sharp = window.devicePixelRatio || 1, trees = this.trees;
    this.canvas.width = size.x * sharp;
    this.canvas.height = size.y * sharp;
    this.canvas.style.width = size.x + "px";
    this.canvas.style.height = size.y + "px";
    L.DomUtil.setPosition(this.canvas, map.containerPointToLayerPoint([0, 0]));
    var pen = this.canvas.getContext("2d"), scale = this.metresToPixels(), stamps = [];
    pen.scale(sharp, sharp);
    var world = this.world(), corner = map.getPixelBounds().min;
    for (var i = 0; i < trees.count; i++) {
      var radius = Math.max(trees.radius[i] * scale, CROWN_PEN.least);
      var x = trees.x[i] * world - corner.x, y = trees.y[i] * world - corner.y;
      if (x < -radius || y < -radius || x > size.x + radius || y > size.y + radius) continue;
      if (radius > CROWN_PEN.largest) {
        this.crown(pen, x, y, radius);
        continue;
      }
      var steps = Math.round(radius * 2);
      var stamp = stamps[steps] || (stamps[steps] = this.stamp(steps / 2, sharp));
      pen.drawImage(stamp, x - stamp.half, y - stamp.half, 2 * stamp.half, 2 * stamp.half);
    }
  },
  crown: function (pen, x, y, radius) {
    pen.beginPath();
    pen.arc(x, y, radius, 0, 2 * Math.PI);
    if (radius > 4) {
      pen.moveTo(x + CROWN_PEN.dot, y);
      pen.arc(x, y, CROWN_PEN.dot, 0, 2 * Math.PI);
    }
    pen.fillStyle = CROWN_PEN.fill;
    pen.fill();
    pen.lineWidth = CROWN_PEN.line;
    pen.strokeStyle = this.colour;
    pen.stroke();
  },
  /* Crowns of one size are drawn once and set down many times. */
  stamp: function (radius, sharp) {
    var stamp = document.createElement("canvas"), half = Math.ceil(radius + CROWN_PEN.line);
    stamp.width = stamp.height = Math.ceil(2 * half * sharp);
    stamp.half = half;
    var pen = stamp.getContext("2d");
    pen.scale(sharp, sharp);
    this.crown(pen, half, half, radius);
    return stamp;
  },
  /* A canvas prints as a white sheet: on paper all crowns are one drawn line, and where they are
     many, one picture. */
  onPaper: function () {
    var most = this.trees.count > ON_PAPER.most && this.seen() > ON_PAPER.most;
    this.sheet = this._map.getPane("trees").appendChild(most ? this.picture() : this.drawing());
    L.DomUtil.setPosition(this.sheet, this._map.containerPointToLayerPoint([0, 0]));
    this.canvas.style.display = "none";
  },
  /* How many trees stand in the view. */
  seen: function () {
    var box = this._map.getPixelBounds(), world = this.world(), trees = this.trees, sum = 0;
    for (var i = 0; i < trees.count; i++) {
      var x = trees.x[i] * world, y = trees.y[i] * world;
      if (x >= box.min.x && y >= box.min.y && x <= box.max.x && y <= box.max.y) sum++;
    }
    return sum;
  },
  /* Crowns as a picture: those that run into each other share one thin outline, so that no blot is left. */
  picture: function () {
    var size = this._map.getSize(), sharp = ON_PAPER.sharp, sheet = new Image();
    var lines = this.discs(this.colour, 0), whole = this.discs(this.colour, 0);
    this.discs("#000", ON_PAPER.line, lines.getContext("2d"));
    var made = L.DomUtil.create("canvas"), pen = made.getContext("2d");
    made.width = size.x * sharp;
    made.height = size.y * sharp;
    pen.globalAlpha = ON_PAPER.tint;
    pen.drawImage(whole, 0, 0);
    pen.globalAlpha = 1;
    pen.drawImage(lines, 0, 0);
    sheet.style.cssText = "position:absolute;max-width:none;width:" + size.x + "px;height:" + size.y + "px";
    sheet.className = "crowns";
    sheet.alt = "";
    sheet.src = made.toDataURL("image/png");
    return sheet;
  },
  /* All crowns as full discs, so much smaller; on a pen that has drawn already they are taken out of it. */
  discs: function (colour, less, out) {
    var size = this._map.getSize(), sharp = ON_PAPER.sharp, trees = this.trees, scale = this.metresToPixels();
    var world = this.world(), corner = this._map.getPixelBounds().min;
    var sheet = out ? out.canvas : L.DomUtil.create("canvas"), pen = out || sheet.getContext("2d");
    if (!out) {
      sheet.width = size.x * sharp;
      sheet.height = size.y * sharp;
      pen.scale(sharp, sharp);
    } else pen.globalCompositeOperation = "destination-out";
    pen.fillStyle = colour;
    for (var i = 0; i < trees.count; i++) {
      var r = Math.max(trees.radius[i] * scale, 1.2), x = trees.x[i] * world - corner.x, y = trees.y[i] * world - corner.y;
      if (x < -r || y < -r || x > size.x + r || y > size.y + r) continue;
      pen.beginPath();
      pen.arc(x, y, r - less, 0, 2 * Math.PI);
      pen.fill();
    }
    return sheet;
  },
  drawing: function () {
    var map = this._map, size = map.getSize(), trees = this.trees, scale = this.metresToPixels(), world = this.world();
    var corner = map.getPixelBounds().min, parts = [];
    for (var i = 0; i < trees.count; i++) {
      var x = trees.x[i] * world - corner.x, y = trees.y[i] * world - corner.y, r = Math.max(trees.radius[i] * scale, 1.2).toFixed(1);
      if (x < 0 || y < 0 || x > size.x || y > size.y) continue;
      parts.push("M" + (x - r).toFixed(1) + " " + y.toFixed(1) + "a" + r + " " + r + " 0 1 0 " + 2 * r + " 0a" + r + " " + r + " 0 1 0 " + -2 * r + " 0");
    }
    var sheet = L.SVG.create("svg"), line = L.SVG.create("path");
    sheet.setAttribute("width", size.x);
    sheet.setAttribute("height", size.y);
    line.setAttribute("d", parts.join(""));
    line.setAttribute("class", "crown");
    line.setAttribute("fill-opacity", "0.4");
    sheet.appendChild(line);
    return sheet;
  },
  onScreen: function () {
    if (this.sheet) this.sheet.remove();
    this.sheet = null;
    this.canvas.style.display = "";
    this.draw();
  },
  /* Trees by cells of a grid: the first of each cell, and after each tree the next one. */
  sorted: function () {
    var trees = this.trees, side = 128, most = 0, box = [Infinity, Infinity, -Infinity, -Infinity], i;
    for (i = 0; i < trees.count; i++) {
      box = [Math.min(box[0], trees.x[i]), Math.min(box[1], trees.y[i]), Math.max(box[2], trees.x[i]), Math.max(box[3], trees.y[i])];
      most = Math.max(most, trees.radius[i]);
    }
    var wide = (box[2] - box[0]) / side || 1, high = (box[3] - box[1]) / side || 1;
    var first = new Int32Array(side * side).fill(-1), next = new Int32Array(trees.count);
    var cell = function (value, from, step) { return Math.max(0, Math.min(side - 1, Math.floor((value - from) / step))); };
    for (i = 0; i < trees.count; i++) {
      var at = cell(trees.y[i], box[1], high) * side + cell(trees.x[i], box[0], wide);
      next[i] = first[at];
      first[at] = i;
    }
    return { side: side, most: most, column: function (x) { return cell(x, box[0], wide); }, row: function (y) { return cell(y, box[1], high); }, first: first, next: next };
  },
  /* The tree whose middle is nearest among those whose crown is under a point of the screen, else -1.
     A small crown counts as so many pixels wide, so that a finger finds it. */
  near: function (point, least) {
    if (!this.trees.count) return -1;
    var cells = this.cells || (this.cells = this.sorted()), trees = this.trees;
    var scale = this.metresToPixels(), world = this.world(), corner = this._map.getPixelBounds().min;
    var far = Math.max(cells.most * scale, least) / world, best = -1, nearest = Infinity;
    var x = (point.x + corner.x) / world, y = (point.y + corner.y) / world;
    for (var row = cells.row(y - far); row <= cells.row(y + far); row++) {
      for (var column = cells.column(x - far); column <= cells.column(x + far); column++) {
        for (var i = cells.first[row * cells.side + column]; i >= 0; i = cells.next[i]) {
          var away = Math.hypot(trees.x[i] - x, trees.y[i] - y) * world;
          if (away < Math.max(trees.radius[i] * scale, least) && away < nearest) {
            best = i;
            nearest = away;
          }
        }
      }
    }
    return best;
  }
});
