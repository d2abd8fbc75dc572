/* Keep trees: crowns drawn on one canvas, from numbers packed two bytes each. */
"use strict";

function unpackTrees(trees) {
  if (!trees.count) return [];
  var raw = atob(trees.packed);
  var numbers = new Uint16Array(trees.count * 5);
  for (var i = 0; i < numbers.length; i++) {
    numbers[i] = raw.charCodeAt(2 * i) | (raw.charCodeAt(2 * i + 1) << 8);
  }
  var box = trees.box, list = [];
  for (var t = 0; t < trees.count; t++) {
    var at = 5 * t;
    var lng = box[0] + (numbers[at] / 65535) * (box[2] - box[0]);
    var lat = box[1] + (numbers[at + 1] / 65535) * (box[3] - box[1]);
    list.push({
      lng: lng,
      lat: lat,
      x: (lng + 180) / 360, /* place on the web map, 0 to 1 */
      y: 0.5 - Math.log(Math.tan(Math.PI / 4 + (lat * Math.PI) / 360)) / (2 * Math.PI),
      radius: numbers[at + 2] * trees.step,
      thick: numbers[at + 3],
      species: trees.species[numbers[at + 4]],
      tag: trees.tags[t] || ""
    });
  }
  return list;
}

var KeepTrees = L.Layer.extend({
  initialize: function (trees, colour) {
    this.trees = trees;
    this.colour = colour;
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
  draw: function () {
    var map = this._map, size = map.getSize(), sharp = window.devicePixelRatio || 1;
    this.canvas.width = size.x * sharp;
    this.canvas.height = size.y * sharp;
    this.canvas.style.width = size.x + "px";
    this.canvas.style.height = size.y + "px";
    L.DomUtil.setPosition(this.canvas, map.containerPointToLayerPoint([0, 0]));
    var pen = this.canvas.getContext("2d"), scale = this.metresToPixels();
    pen.scale(sharp, sharp);
    var world = 256 * Math.pow(2, map.getZoom()), corner = map.getPixelBounds().min;
    pen.beginPath();
    for (var i = 0; i < this.trees.length; i++) {
      var tree = this.trees[i], at = { x: tree.x * world - corner.x, y: tree.y * world - corner.y };
      var radius = Math.max(tree.radius * scale, 1.6);
      if (at.x < -radius || at.y < -radius || at.x > size.x + radius || at.y > size.y + radius) continue;
      pen.moveTo(at.x + radius, at.y);
      pen.arc(at.x, at.y, radius, 0, 2 * Math.PI);
      if (radius > 4) {
        pen.moveTo(at.x + 1.3, at.y);
        pen.arc(at.x, at.y, 1.3, 0, 2 * Math.PI);
      }
    }
    pen.fillStyle = "rgba(251,249,244,0.42)";
    pen.fill();
    pen.lineWidth = 1.6;
    pen.strokeStyle = this.colour;
    pen.stroke();
  },
  /* A canvas prints as a white sheet: on paper the crowns are drawn as shapes. */
  onPaper: function (group, renderer) {
    var colour = this.colour;
    this.canvas.style.display = "none";
    this.trees.slice(0, 5000).forEach(function (tree) {
      L.circle(tree, { pane: "lines", renderer: renderer, radius: tree.radius, color: colour, weight: 1.2, fillColor: COLOURS("paper"), fillOpacity: 0.4, interactive: false }).addTo(group);
    });
  },
  onScreen: function () {
    this.canvas.style.display = "";
    this.draw();
  },
  near: function (point) {
    var map = this._map, scale = this.metresToPixels(), best = null, least = Infinity;
    this.trees.forEach(function (tree) {
      var away = map.latLngToContainerPoint(tree).distanceTo(point);
      if (away < Math.max(tree.radius * scale, 14) && away < least) {
        best = tree;
        least = away;
      }
    });
    return best;
  }
});
