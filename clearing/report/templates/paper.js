/* On paper: one page with the map, its key and its sentence; an open card stands beside it. */
"use strict";

function wirePaper(map, ground, does) {
  var root = document.documentElement, find = function (id) { return document.getElementById(id); };
  var closed = [], view = null;

  function before() {
    if (root.classList.contains("printing")) return;
    var card = does.card();
    view = { middle: map.getCenter(), zoom: map.getZoom() };
    root.classList.add("printing");
    root.classList.toggle("with-card", Boolean(card));
    closed = card ? Array.prototype.slice.call(card.querySelectorAll("details:not([open])")) : [];
    closed.forEach(function (part) { part.open = true; });
    find("paper-said").textContent = find("said").textContent;
    find("scroll").scrollTop = 0;
    map.invalidateSize({ animate: false, pan: false });
    map.fitBounds(does.box(), { animate: false, padding: [8, 8] });
    if (map.hasLayer(ground.parts.trees)) ground.trees.onPaper();
    does.shown();
    find("cut").hidden = !card || find("scroll").scrollHeight <= find("scroll").clientHeight + 1;
    if (!find("cut").hidden) cutBetweenLines(card);
  }

  /* A card that is too long ends before the first line that does not fit, not in the middle of one. */
  function cutBetweenLines(card) {
    var top = find("scroll").getBoundingClientRect().top, room = find("scroll").clientHeight, end = room;
    card.querySelectorAll("p,li,h2,h3,tr,figure,summary").forEach(function (line) {
      var box = line.getBoundingClientRect();
      if (box.height && box.bottom - top > room) end = Math.min(end, Math.max(box.top - top, 0));
    });
    find("scroll").style.height = Math.floor(end) + "px";
  }

  function after() {
    if (!view) return;
    root.classList.remove("printing", "with-card");
    closed.forEach(function (part) { part.open = false; });
    find("cut").hidden = true;
    find("scroll").style.height = "";
    map.invalidateSize({ animate: false, pan: false });
    map.setView(view.middle, view.zoom, { animate: false });
    if (map.hasLayer(ground.parts.trees)) ground.trees.onScreen();
    view = null;
    does.shown();
  }

  window.addEventListener("beforeprint", before);
  window.addEventListener("afterprint", after);
  return { before: before, after: after };
}
