/* The ground: photo, strips in the state of the year, keep-out ground, trees, lines and names. */
"use strict";

function drawGround(map, data, onStrip) {
  var look = { ink: COLOURS("ink"), paper: COLOURS("paper"), keepOut: COLOURS("keep-out") };
  var panes = { photo: 210, area: 380, casing: 400, strips: 410, ruled: 420, trees: 430, lines: 440, names: 460 };
  Object.keys(panes).forEach(function (name) {
    var pane = map.createPane(name);
    pane.style.zIndex = panes[name];
    if (name !== "strips") pane.style.pointerEvents = "none";
  });
  var parts = { photo: L.layerGroup(), ruled: L.layerGroup(), trees: L.layerGroup(), plots: L.layerGroup(), things: L.layerGroup() };
  var strips = L.svg({ pane: "strips", padding: 0.4 });
  var under = L.svg({ pane: "casing", padding: 0.4 });
  var over = L.svg({ pane: "ruled", padding: 0.4 });
  var lines = L.svg({ pane: "lines", padding: 0.4 });

  if (data.photo) L.imageOverlay(data.photo.url, data.photo.bounds, { pane: "photo" }).addTo(parts.photo);

  data.blocks.forEach(function (block) {
    L.polygon(block.shape, { pane: "casing", renderer: under, fill: false, color: look.paper, weight: 6.5, opacity: 0.7, interactive: false }).addTo(map);
  });
  var waiting = [], ring = L.layerGroup().addTo(map);
  var drawn = data.strips.map(function (strip, place) {
    L.polygon(strip.shape, { pane: "casing", renderer: under, fill: false, color: look.paper, weight: 4, opacity: 0.6, interactive: false }).addTo(map);
    var shape = L.polygon(strip.shape, { pane: "strips", renderer: strips, weight: 1.5, color: look.ink, fillOpacity: 1 });
    shape.on("click", function (event) {
      L.DomEvent.stopPropagation(event);
      if (!tellTree(event.containerPoint, event.latlng)) onStrip(place);
    });
    shape.addTo(map);
    var element = shape.getElement();
    element.setAttribute("tabindex", "0");
    element.setAttribute("role", "button");
    element.dataset.strip = String(place);
    element.addEventListener("keydown", function (event) {
      if (event.key === "Enter" || event.key === " ") {
        event.preventDefault();
        onStrip(place);
      }
    });
    if (strip.years[0][0] === "not_now") waiting.push(strip.shape);
    return shape;
  });
  waiting.forEach(function (shape) {
    L.polygon(shape, { pane: "lines", renderer: lines, fill: false, color: look.ink, weight: 2.6, interactive: false }).addTo(map);
    L.polygon(shape, { pane: "lines", renderer: lines, fill: false, color: look.paper, weight: 2.6, dashArray: "7 7", lineCap: "butt", interactive: false }).addTo(map);
  });
  var driplines = L.layerGroup();
  data.zones.forEach(function (zone) {
    L.polygon(zone.shape, { pane: "ruled", renderer: over, color: look.keepOut, weight: 0.6, fillColor: "url(#keep-out)", fillOpacity: 1, interactive: false }).addTo(zone.flag === "dripline" ? driplines : parts.ruled);
  });
  map.on("zoomend", showDriplines);
  showDriplines();
  drawThings(data.features, parts.things, lines);
  data.plots.forEach(function (plot) {
    L.circle([plot[0], plot[1]], { pane: "lines", renderer: lines, radius: plot[3], color: look.ink, weight: 1.2, fill: false, dashArray: "2 2", interactive: false }).addTo(parts.plots);
  });
  var trees = new KeepTrees(unpackTrees(data.trees), COLOURS("keep-tree"));
  trees.addTo(parts.trees);
  ["photo", "ruled", "things", "trees"].forEach(function (name) {
    parts[name].addTo(map);
  });
  map.on("click", function (event) {
    tellTree(event.containerPoint, event.latlng);
  });
  L.control.scale({ position: "bottomright", imperial: data.us, metric: !data.us }).addTo(map);

  /* Driplines are many and small: from afar the crowns alone are shown. */
  function showDriplines() {
    if (map.getZoom() >= 17.25) parts.ruled.addLayer(driplines);
    else parts.ruled.removeLayer(driplines);
  }

  function tellTree(point, place) {
    if (!map.hasLayer(parts.trees) || map.getZoom() < 17.5) return false;
    var tree = trees.near(point);
    if (!tree) return false;
    var box = document.createElement("div"), size = data.us ? " in" : " cm";
    box.textContent = (tree.tag ? tree.tag + ", " : "") + tree.species + (tree.thick ? ", " + tree.thick + size : "") + ": stays";
    L.popup({ closeButton: false, className: "note" }).setLatLng(place).setContent(box).openOn(map);
    return true;
  }

  function showYear(year, chosen) {
    drawn.forEach(function (shape, place) {
      var state = data.strips[place].years[year], sign = data.signs[state[0]];
      var style = { weight: state[2] ? 2.6 : 1.4, color: look.ink, fillColor: look.paper, fillOpacity: 0 };
      if (sign[2] === "solid") L.extend(style, { fillColor: sign[1], fillOpacity: state[2] ? 0.78 : 0.55 });
      else if (sign[2] === "fading") L.extend(style, { fillColor: sign[1], fillOpacity: Math.max(0.28, 0.74 - 0.13 * state[1]) });
      else if (sign[2] !== "none") L.extend(style, { fillColor: "url(#state-" + state[0] + ")", fillOpacity: state[2] ? 1 : 0.75 });
      else if (sign[3] === "solid") L.extend(style, { fillColor: look.paper, fillOpacity: 0.18 });
      shape.setStyle(style);
      var element = shape.getElement();
      element.dataset.state = state[0];
      element.setAttribute("aria-label", data.strips[place].name + ", " + data.years[year] + ": " + sign[0] + ". " + state[3]);
    });
    ring.clearLayers();
    if (chosen === null) return;
    [[look.paper, 9], [look.ink, 5]].forEach(function (pen) {
      L.polygon(data.strips[chosen].shape, { pane: "lines", renderer: lines, fill: false, color: pen[0], weight: pen[1], interactive: false }).addTo(ring);
    });
  }

  return { parts: parts, drawn: drawn, trees: trees, lines: lines, showYear: showYear, names: placeNames(map, wantedNames(data)) };
}

function wantedNames(data) {
  var wanted = [];
  data.blocks.forEach(function (block) {
    wanted.push({ text: block.name, at: block.at, kind: "block", from: 0 });
  });
  data.features.forEach(function (thing) {
    if (thing.kind === "well" || thing.kind === "gate" || thing.kind === "building") {
      var at = thing.as === "point" ? thing.shape[0] : thing.shape[0][0][0];
      wanted.push({ text: thing.words, at: at, kind: "thing", from: 17 });
    } else if (thing.kind === "public_road" || thing.kind === "power_line" || thing.kind === "water") {
      var line = thing.as === "line" ? thing.shape[0] : thing.shape[0][0];
      wanted.push({ text: thing.words, at: line[Math.floor(line.length / 2)], kind: "thing", from: 16.5 });
    }
  });
  data.strips.forEach(function (strip) {
    wanted.push({ text: strip.id, at: strip.at, kind: "strip", from: 16.5 });
  });
  data.zones.forEach(function (zone) {
    wanted.push({ text: zone.words, at: zone.at, kind: "ruled", from: zone.flag === "dripline" ? 17.25 : 16.75, part: "ruled" });
  });
  return wanted;
}
