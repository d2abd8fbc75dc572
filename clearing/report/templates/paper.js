/* On paper: one page with the map, its key and its sentence; an open card stands beside it. */
"use strict";

var PRINT_NEAR_M = 160; /* metres of ground across round a tree or plot whose card is open; own choice */
var CARD_LINES = "p,li,h2,h3,tr,summary,button.link";

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
    sayView();
    find("scroll").scrollTop = 0;
    find("cut").hidden = true;
    fit(card);
    does.shown();
    if (card) shorten(card);
    fit(card); /* the line under a cut card takes a little of the map's room */
    if (map.hasLayer(ground.parts.trees)) ground.trees.onPaper();
    does.shown();
    if (card) shorten(card);
  }

  function fit(card) {
    map.invalidateSize({ animate: false, pan: false });
    map.fitBounds(boxOf(card), { animate: false, padding: [8, 8] });
  }

  /* The page says which view of the plan it shows: of a year, or by way. */
  function sayView() {
    var way = document.querySelector("[data-show=way][aria-pressed=true]"), said = find("said").textContent, title = document.createElement("b");
    var year = find("slider").getAttribute("aria-valuetext");
    title.textContent = way ? "How it is treated, all years" : "What stands in " + year;
    find("paper-said").replaceChildren(title, way || said.indexOf(year) !== 0 ? "" : said.slice(year.length));
  }

  /* The ground that is printed: near a tree or plot whose card is open, else what the page asks for. */
  function boxOf(card) {
    var thing = card && card.id === "thing" ? card.dataset : null;
    if (!thing) return does.box();
    var at = thing.kind === "tree" ? ground.trees.placeOf(Number(thing.number)) : L.latLng(JSON.parse(thing.at));
    return at.toBounds(PRINT_NEAR_M);
  }

  /* A card that is too long loses its pictures first, then whole lines from its end. */
  function shorten(card) {
    var room = find("scroll"), tooLong = function () { return room.scrollHeight > room.clientHeight + 1; };
    if (!tooLong()) return;
    find("cut").hidden = false;
    find("cut").textContent = "Shortened to one page. More is in workplan.pdf.";
    root.classList.add("no-pictures");
    var lines = Array.prototype.filter.call(card.querySelectorAll(CARD_LINES), function (line) {
      return line.offsetHeight && !line.querySelector(CARD_LINES);
    });
    var heads = function (line) { return /^(H3|SUMMARY)$/.test(line.tagName) || line.closest("thead"); };
    var last = null;
    while (lines.length && (tooLong() || (last && heads(lines[lines.length - 1])))) {
      last = lines.pop();
      last.classList.add("beyond");
      var box = last.closest(".caution");
      if (box) box.classList.add("more-there");
      hideEmpty(last.parentElement, card, lines.filter(function (line) { return !heads(line); }));
    }
    if (last || card.querySelector(".beyond")) find("cut").textContent = "Shortened to one page. More, with further cautions, is in workplan.pdf.";
  }

  /* Boxes and lists of which no line is left go with it. */
  function hideEmpty(box, card, left) {
    for (; box !== card; box = box.parentElement) {
      if (left.some(function (line) { return box.contains(line); })) return;
      box.classList.add("beyond");
    }
  }

  function after() {
    if (!view) return;
    root.classList.remove("printing", "with-card", "no-pictures");
    document.querySelectorAll(".beyond,.more-there").forEach(function (line) { line.classList.remove("beyond", "more-there"); });
    closed.forEach(function (part) { part.open = false; });
    find("cut").hidden = true;
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
