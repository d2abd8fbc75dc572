/* Names that would run into each other are left out; nearer in, more of them fit. */
"use strict";

/* wanted: text, at, kind, from (zoom), part (a layer that hides it); gives the function that draws. */
function placeNames(map, wanted) {
  var group = L.layerGroup().addTo(map);
  return function (hidden) {
    group.clearLayers();
    var taken = [], zoom = map.getZoom(), size = map.getSize();
    wanted.forEach(function (name) {
      if (zoom < name.from || (name.part && hidden[name.part])) return;
      var at = map.latLngToContainerPoint(name.at);
      var wide = name.text.length * (name.kind === "block" ? 7.6 : 6.6) + 8, high = 19;
      var box = [at.x - wide / 2, at.y - high / 2, at.x + wide / 2, at.y + high / 2];
      var out = box[2] < 0 || box[3] < 0 || box[0] > size.x || box[1] > size.y;
      var clash = taken.some(function (other) {
        return box[0] < other[2] && other[0] < box[2] && box[1] < other[3] && other[1] < box[3];
      });
      if (out || clash) return;
      taken.push(box);
      var label = document.createElement("span");
      label.textContent = name.text;
      L.marker(name.at, { pane: "names", interactive: false, keyboard: false, icon: L.divIcon({ className: "name " + name.kind, html: label, iconSize: [0, 0] }) }).addTo(group);
    });
  };
}
