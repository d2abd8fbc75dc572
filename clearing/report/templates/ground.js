/* The ground: photo, blocks, strips in the state of the year or by what is done, rules, trees, lines. */
"use strict";

var PANES = { photo: 210, pieces: 390, casing: 400, strips: 410, dead: 415, ruled: 420, trees: 430, lines: 440, names: 460, mine: 470 };
var DRIPLINES_FROM = 17.25; /* zoom; driplines are many and small: from afar the crowns alone are shown */
var RULES = ["fall_reach", "water_edge", "power_line", "dripline"];

/* onTap(event, place): a strip is pressed; onFocus(place): the keyboard comes to it. */
function drawGround(map, data, onTap, onFocus) {
  var look = { ink: COLOURS("ink"), paper: COLOURS("paper"), keepOut: COLOURS("keep-out") };
  Object.keys(PANES).forEach(function (name) {
    var pane = map.createPane(name);
    pane.style.zIndex = PANES[name];
    if (name !== "strips") pane.style.pointerEvents = "none";
  });
  var parts = {}, pens = {}, shown = { year: 0, chosen: null, way: false };
  ["photo", "blocks", "strips", "trees", "plots", "things"].concat(RULES).forEach(function (name) { parts[name] = L.layerGroup(); });
  ["pieces", "casing", "strips", "dead", "ruled", "lines"].forEach(function (pane) { pens[pane] = L.svg({ pane: pane, padding: 0.4 }); });
  var waiting = L.layerGroup(), pieces = L.layerGroup(), dead = L.layerGroup(), ring = L.layerGroup().addTo(map);

  function outline(shape, pane, style) {
    return L.polygon(shape, L.extend({ pane: pane, renderer: pens[pane], fill: false, interactive: false }, style));
  }

  if (data.photo) L.imageOverlay(data.photo.url, data.photo.bounds, { pane: "photo", alt: "" }).addTo(parts.photo);
  data.blocks.forEach(function (block) {
    outline(block.shape, "casing", { color: look.paper, weight: 6.5, opacity: 0.7 }).addTo(parts.blocks);
    outline(block.shape, "casing", { color: look.ink, weight: 3 }).addTo(parts.blocks);
  });
  var drawn = data.strips.map(function (strip, place) {
    outline(strip.shape, "casing", { color: look.paper, weight: 4, opacity: 0.6 }).addTo(parts.strips);
    var shape = L.polygon(strip.shape, { pane: "strips", renderer: pens.strips, weight: 1.5, color: look.ink, fillOpacity: 0 });
    shape.on("click", function (event) {
      L.DomEvent.stopPropagation(event);
      map.closePopup();
      onTap(event, place);
    });
    shape.on("add", function () { nameStrip(shape.getElement(), place); });
    if (strip.years[0][0] === "not_now") {
      outline(strip.shape, "lines", { color: look.ink, weight: 2.6 }).addTo(waiting);
      outline(strip.shape, "lines", { color: look.paper, weight: 2.6, dashArray: "7 7", lineCap: "butt" }).addTo(waiting);
    }
    return shape.addTo(parts.strips);
  });
  waiting.addTo(parts.strips);
  pieces.addTo(parts.strips);
  dead.addTo(parts.strips);
  var deadOver = data.strips.map(function (strip) {
    return outline(strip.shape, "dead", { className: "dead", stroke: false, fill: true, fillColor: "url(#dead-stand)", fillOpacity: 1 });
  });
  var ways = data.pieces.map(function (piece) { return outline(piece.shape, "pieces", { fill: true, stroke: false }); });
  var rules = data.ruled.map(function () { return null; });
  drawThings(data.features, parts.things, pens.lines);
  data.plots.forEach(function (plot) {
    var pen = { pane: "lines", renderer: pens.lines, interactive: false };
    L.circle(plot.at, L.extend({ radius: plot.radius, color: look.ink, weight: 1.2, fill: false, dashArray: "2 2" }, pen)).addTo(parts.plots);
    L.circleMarker(plot.at, L.extend({ radius: 3, stroke: false, fillColor: look.ink, fillOpacity: 1 }, pen)).addTo(parts.plots);
  });
  var trees = new KeepTrees(unpackTrees(data.trees), COLOURS("keep-tree"));
  trees.addTo(parts.trees);
  Object.keys(parts).forEach(function (name) { if (name !== "plots") parts[name].addTo(map); });
  map.on("zoomend", showRules);
  L.control.scale({ position: "bottomright", imperial: data.us, metric: !data.us }).addTo(map);

  /* An element that is drawn anew (its layer was put out and in) is named anew. */
  function nameStrip(element, place) {
    element.setAttribute("tabindex", "0");
    element.setAttribute("role", "button");
    element.dataset.strip = String(place);
    element.onkeydown = function (event) {
      if (event.key !== "Enter" && event.key !== " ") return;
      event.preventDefault();
      onTap(null, place);
    };
    element.onfocus = function () { if (element.matches(":focus-visible")) onFocus(place); };
    sayStrip(element, place);
  }

  /* Whether dead trees stand in a strip in a year, and its sign does not say so already. */
  function deadToo(strip, year) { return Boolean(strip.dead[year]) && strip.years[year][0] !== "standing_dead"; }

  function sayStrip(element, place) {
    var strip = data.strips[place], state = strip.years[shown.year];
    var sign = data.signs[state[0]][0], now = data.years[shown.year];
    element.dataset.state = state[0];
    element.setAttribute("aria-label", shown.way ? strip.name + ": " + strip.method + ", " + strip.when : strip.name + ", " + now + ": " + sign + ". " + state[3] + (strip.dead[shown.year] ? "; dead trees stand here" : ""));
  }

  /* How a strip is filled: light, so that the ground shows through. */
  function styleOf(place) {
    var strip = data.strips[place], state = strip.years[shown.year], sign = data.signs[state[0]];
    var style = { weight: state[2] ? 2.6 : 1.4, color: look.ink, fillColor: look.paper, fillOpacity: 0 };
    if (shown.way) return L.extend(style, { weight: strip.starts === shown.year ? 3.4 : 1.4 });
    if (sign[2] === "solid") L.extend(style, { fillColor: sign[1], fillOpacity: state[2] ? 0.55 : 0.38 });
    else if (sign[2] === "fading") L.extend(style, { fillColor: sign[1], fillOpacity: Math.max(0.2, 0.5 - 0.1 * state[1]) });
    else if (sign[2] !== "none") L.extend(style, { fillColor: "url(#state-" + state[0] + ")", fillOpacity: state[2] ? 1 : 0.8 });
    else if (sign[3] === "solid") L.extend(style, { fillColor: look.paper, fillOpacity: 0.18 });
    return style;
  }

  function showRules() {
    RULES.forEach(function (name) { parts[name].clearLayers(); });
    data.ruled.forEach(function (rule, i) {
      if (rule.years.indexOf(shown.year) < 0 || (rule.flag === "dripline" && map.getZoom() < DRIPLINES_FROM)) return;
      rules[i] = rules[i] || outline(rule.shape, "ruled", { color: look.keepOut, weight: 0.6, fill: true, fillColor: "url(#rule-" + rule.flag + ")", fillOpacity: 1 });
      rules[i].addTo(parts[rule.flag]);
    });
  }

  /* Whether ground with a rule is drawn inside a piece of the map. */
  function ruled(flag, view) {
    return parts[flag].getLayers().some(function (shape) { return view.intersects(shape.getBounds()); });
  }

  function showYear(year, chosen, way) {
    shown = { year: year, chosen: chosen, way: way };
    drawn.forEach(function (shape, place) {
      shape.setStyle(styleOf(place));
      if (shape.getElement()) sayStrip(shape.getElement(), place);
    });
    pieces.clearLayers();
    if (way) ways.forEach(function (shape, i) {
      var sign = data.ways[data.pieces[i].way];
      if (sign[2] === "none") return;
      shape.setStyle(sign[2] === "solid" ? { fillColor: sign[1], fillOpacity: 0.48 } : { fillColor: "url(#way-" + data.pieces[i].way + ")", fillOpacity: 1 });
      shape.addTo(pieces);
    });
    dead.clearLayers();
    if (!way) deadOver.forEach(function (shape, place) { if (deadToo(data.strips[place], year)) shape.addTo(dead); });
    showRules();
    ring.clearLayers();
    if (chosen === null) return;
    outline(data.strips[chosen].shape, "lines", { color: look.paper, weight: 9 }).addTo(ring);
    outline(data.strips[chosen].shape, "lines", { color: look.ink, weight: 5 }).addTo(ring);
  }

  return {
    parts: parts, drawn: drawn, ways: ways, trees: trees, showYear: showYear, ruled: ruled,
    names: placeNames(map, wantedNames(data, function () { return shown.year; }))
  };
}

function wantedNames(data, year) {
  var wanted = [];
  data.blocks.forEach(function (block) {
    wanted.push({ text: block.name, at: block.at, kind: "block", from: 0, part: "blocks" });
  });
  data.features.forEach(function (thing) {
    if (thing.kind === "well" || thing.kind === "gate" || thing.kind === "building") {
      var at = thing.as === "point" ? thing.shape[0] : thing.shape[0][0][0];
      wanted.push({ text: thing.words, at: at, kind: "thing", from: 17, part: "things" });
    } else if (thing.kind === "public_road" || thing.kind === "power_line" || thing.kind === "water") {
      var line = thing.as === "line" ? thing.shape[0] : thing.shape[0][0];
      wanted.push({ text: thing.words, at: line[Math.floor(line.length / 2)], kind: "thing", from: 16.5, part: "things" });
    }
  });
  data.strips.forEach(function (strip) {
    wanted.push({ text: strip.id, at: strip.at, kind: "strip", from: 16.5, part: "strips" });
  });
  data.plots.forEach(function (plot) {
    wanted.push({ text: plot.id, at: plot.at, kind: "thing", from: 18, part: "plots" });
  });
  data.ruled.forEach(function (rule) {
    wanted.push({ text: rule.words, at: rule.at, kind: "ruled", from: rule.flag === "dripline" ? 18.5 : 16.25, part: rule.flag, once: rule.flag === "dripline", when: function () { return rule.years.indexOf(year()) >= 0; } });
  });
  return wanted;
}
