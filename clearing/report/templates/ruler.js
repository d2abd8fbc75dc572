/* Measure: taps set corners; the length, and from three corners on the ground that they enclose. */
"use strict";

var SAME_CORNER = 6, CLOSES = 12; /* pixels: a tap so near to the last corner is no new one, to the first one is the first */

function wireRuler(map, us, says) {
  var find = function (id) { return document.getElementById(id); };
  var corners = [], on = false, drawn = L.layerGroup().addTo(map), pen = L.svg({ pane: "mine", padding: 0.4 });
  var places = function () { return corners.map(function (one) { return [one.lng, one.lat]; }); };

  function say() {
    if (!corners.length) return on ? "Tap the map to set corners." : "";
    if (corners.length === 1) return "Tap the next corner.";
    var line = DISTANCES.sayLength(DISTANCES.lengthOf(places()), us) + " along the corners";
    if (corners.length < 3) return line + ".";
    if (DISTANCES.crosses(places())) return line + "; the lines cross: no area.";
    return line + "; " + DISTANCES.sayArea(DISTANCES.areaOf({ type: "Polygon", coordinates: [places()] }), us) + " inside them.";
  }

  /* A second touch of the last corner is no corner; a tap at the first corner closes the line there. */
  function add(event) {
    var near = function (corner, reach) { return map.latLngToContainerPoint(corner).distanceTo(event.containerPoint) < reach; };
    if (corners.length && near(corners[corners.length - 1], SAME_CORNER)) return;
    corners.push(corners.length > 2 && near(corners[0], CLOSES) ? corners[0] : event.latlng);
  }

  function draw() {
    var base = { pane: "mine", renderer: pen, interactive: false }, ink = COLOURS("ink"), paper = COLOURS("paper");
    drawn.clearLayers();
    if (corners.length > 2) {
      L.polygon(corners, L.extend({ stroke: false, fillColor: paper, fillOpacity: 0.35 }, base)).addTo(drawn);
      L.polyline([corners[corners.length - 1], corners[0]], L.extend({ color: ink, weight: 2, dashArray: "4 6" }, base)).addTo(drawn);
    }
    L.polyline(corners, L.extend({ color: paper, weight: 6 }, base)).addTo(drawn);
    L.polyline(corners, L.extend({ color: ink, weight: 2.6, className: "measured" }, base)).addTo(drawn);
    corners.forEach(function (corner) { L.circleMarker(corner, L.extend({ radius: 5, color: ink, weight: 2, fillColor: paper, fillOpacity: 1 }, base)).addTo(drawn); });
    find("ruler-said").textContent = say();
    find("ruler").hidden = !on && !corners.length;
    find("ruler-back").hidden = find("ruler-done").hidden = !on;
  }

  function turn(to) {
    on = to;
    if (on) says();
    find("measure").setAttribute("aria-pressed", String(on));
    map.getContainer().classList.toggle("measuring", on);
    map.doubleClickZoom[on ? "disable" : "enable"]();
    draw();
    if (on && !find("measure").offsetParent) find("ruler-done").focus();
  }

  function clear() {
    var open = on || corners.length > 0;
    corners = [];
    turn(false);
    if (open) find("measure").focus();
    return open;
  }

  find("measure").addEventListener("click", function () {
    if (!on) corners = [];
    turn(!on);
  });
  find("ruler-back").addEventListener("click", function () {
    corners.pop();
    draw();
  });
  find("ruler-done").addEventListener("click", function () {
    turn(false);
    find("measure").focus();
  });
  find("ruler-clear").addEventListener("click", clear);
  return {
    /* Takes a tap while measuring; tells whether it did. */
    takes: function (event) {
      if (!on) return false;
      if (event) add(event);
      draw();
      return true;
    },
    clear: clear
  };
}
