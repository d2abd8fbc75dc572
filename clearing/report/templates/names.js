/* Names that would run into each other are left out; nearer in, more of them fit. */
"use strict";

var LONGEST_NAME = 26; /* letters; the card has the whole name */

function shortName(text) {
  var letters = Array.from(text);
  return letters.length > LONGEST_NAME ? letters.slice(0, LONGEST_NAME - 1).join("").trimEnd() + "\u2026" : text;
}

/* wanted: text, at, kind, from (zoom), part (a layer that hides it), when (whether it is wanted now),
   once (said at one place is enough); gives the function that draws. */
function placeNames(map, wanted) {
  var group = L.layerGroup().addTo(map);
  return function (hidden) {
    group.clearLayers();
    var taken = [], said = {}, zoom = map.getZoom(), size = map.getSize();
    wanted.forEach(function (name) {
      if (zoom < name.from || (name.part && hidden[name.part]) || (name.when && !name.when()) || (name.once && said[name.text])) return;
      var at = map.latLngToContainerPoint(name.at), text = shortName(name.text);
      var wide = text.length * (name.kind === "block" ? 7.6 : 6.6) + 8, high = 19;
      var box = [at.x - wide / 2, at.y - high / 2, at.x + wide / 2, at.y + high / 2];
      var out = box[2] < 0 || box[3] < 0 || box[0] > size.x || box[1] > size.y;
      var clash = taken.some(function (other) {
        return box[0] < other[2] && other[0] < box[2] && box[1] < other[3] && other[1] < box[3];
      });
      if (out || clash) return;
      taken.push(box);
      said[name.text] = true;
      var label = document.createElement("span");
      label.textContent = text;
      label.dir = "auto";
      L.marker(name.at, { pane: "names", interactive: false, keyboard: false, icon: L.divIcon({ className: "name " + name.kind, html: label, iconSize: [0, 0] }) }).addTo(group);
    });
  };
}
