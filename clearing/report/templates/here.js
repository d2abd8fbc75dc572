/* Where am I: a dot with the ring of its accuracy, and a sentence. */
"use strict";

var NO_PLACE = {
  0: "This browser gives no position to a page that was opened from a file. Load field.gpx into a map app instead.",
  1: "This page was not allowed to ask for your position. Allow it in the browser's settings, or load field.gpx into a map app.",
  2: "There is no position here just now. Turn on location on this device, and try again in the open.",
  3: "No position came in time. Try again in the open."
};
var WAIT_MS = 15000, FAR_M = 5000; /* from farther away the map stays where it is */

/* show(place) brings a place to where it can be seen. */
function wireHere(map, data, tell, show) {
  var button = document.getElementById("where"), mine = L.layerGroup().addTo(map), pen = L.svg({ pane: "mine" }), ring = null;
  button.addEventListener("click", function () {
    mine.clearLayers();
    tell("Looking for your position\u2026");
    map.locate({ setView: false, enableHighAccuracy: true, timeout: WAIT_MS, maximumAge: 10000 });
  });
  /* A ring that is larger than the map is not filled: its fill would veil everything. */
  function fill(ring) {
    var size = map.getSize(), at = map.latLngToLayerPoint(ring.getLatLng());
    var radius = at.x - map.latLngToLayerPoint([ring.getLatLng().lat, ring.getBounds().getWest()]).x;
    ring.setStyle({ fill: 2 * radius < Math.min(size.x, size.y) });
  }

  /* The words of a note are read out too. */
  map.on("popupopen", function (event) { document.getElementById("noted").textContent = event.popup.getContent().textContent; });
  map.on("popupclose", function () { document.getElementById("noted").textContent = ""; });
  map.on("zoomend resize", function () { if (ring && mine.hasLayer(ring)) fill(ring); });
  map.on("locationfound", function (event) {
    var base = { pane: "mine", renderer: pen, interactive: false };
    mine.clearLayers();
    ring = L.circle(event.latlng, L.extend({ radius: event.accuracy, className: "about-here", color: COLOURS("ink"), weight: 2, fillColor: COLOURS("paper"), fillOpacity: 0.25 }, base)).addTo(mine);
    fill(ring);
    L.circleMarker(event.latlng, L.extend({ radius: 7, className: "here", color: COLOURS("paper"), weight: 3, fillColor: COLOURS("accent"), fillOpacity: 1 }, base)).addTo(mine);
    tell(whereabouts(data, event.latlng, event.accuracy));
    if (event.latlng.distanceTo(L.latLngBounds(data.bounds).getCenter()) < FAR_M) show(event.latlng);
  });
  map.on("locationerror", function (event) { tell(NO_PLACE[event.code] || NO_PLACE[0]); });
}
