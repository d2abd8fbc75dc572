/* Cards in the panel: the whole place, a block, a strip, and what was tapped beside them. */
"use strict";

function wireCards(data, does) {
  var find = function (id) { return document.getElementById(id); };
  var all = function (mark) { return Array.prototype.slice.call(document.querySelectorAll(mark)); };
  var open = find("whole"), opener = null;

  function put(card) {
    if (open === find("whole") && card !== open) opener = document.activeElement;
    all(".view").forEach(function (view) { view.hidden = view !== card; });
    open = card;
    var slot = card.querySelector("[data-stems]");
    if (slot) slot.appendChild(find("stems-" + slot.dataset.stems));
    find("scroll").scrollTop = 0;
    card.querySelector("h1,h2").focus({ preventScroll: true });
  }

  function lines(list, said) {
    list.textContent = "";
    said.forEach(function (text) {
      var item = document.createElement("li");
      item.textContent = text;
      item.dir = "auto";
      list.appendChild(item);
    });
  }

  /* A tree or a plot: kind, number in the data, where it stands (a plot), place, name, Latin name, lead, lines, lines to mind, strip it stands in. */
  function putThing(thing) {
    find("thing-place").textContent = thing.place;
    find("thing-name").textContent = thing.name;
    find("thing-latin").textContent = thing.latin || "";
    find("thing-lead").textContent = thing.lead;
    lines(find("thing-lines"), thing.lines);
    lines(find("thing-mind"), thing.mind);
    find("thing-caution").hidden = !thing.mind.length;
    var strip = find("thing-strip");
    strip.hidden = thing.strip < 0;
    if (thing.strip >= 0) {
      strip.textContent = data.strips[thing.strip].name;
      strip.onclick = function () { does.strip(thing.strip); };
    }
    find("thing").dataset.kind = thing.kind;
    find("thing").dataset.number = String(thing.number);
    find("thing").dataset.at = JSON.stringify(thing.at);
    put(find("thing"));
  }

  function treeCard(place, strip) {
    var trees = data.trees, kind = trees.kinds[numbersOf(trees.kind)[place]];
    var thick = trees.thicks[numbersOf(trees.thick)[place]], crown = trees.crowns[numbersOf(trees.crown)[place]];
    var said = [thick, crown].filter(Boolean).join(", ");
    putThing({
      kind: "tree", number: place, at: null,
      place: "Tree that stays" + (trees.tags[place] ? ", " + trees.tags[place] : ""), name: kind[0].charAt(0).toUpperCase() + kind[0].slice(1), latin: kind[1],
      lead: said.charAt(0).toUpperCase() + said.slice(1) + ".", lines: [], mind: kind[2], strip: strip
    });
  }

  function plotCard(place, strip) {
    var plot = data.plots[place];
    putThing({ kind: "plot", number: place, at: plot.at, place: plot.block, name: "Plot " + plot.id, lead: "What was counted here:", lines: plot.said, mind: [], strip: strip });
  }

  function back() {
    if (open === find("whole")) return false;
    put(find("whole"));
    if (opener && opener.isConnected && opener !== document.body) opener.focus({ preventScroll: false });
    opener = null;
    return true;
  }

  all("[data-open-strip]").forEach(function (button) {
    button.addEventListener("click", function () {
      does.strip(data.strips.findIndex(function (strip) { return strip.id === button.dataset.openStrip; }));
    });
  });
  all("[data-open-block]").forEach(function (button) {
    button.addEventListener("click", function () { does.block(Number(button.dataset.place)); });
  });
  all("[data-back]").forEach(function (button) { button.addEventListener("click", does.back); });
  return {
    strip: function (place) { put(all("[data-strip].view")[place]); },
    block: function (place) { put(all("[data-block].view")[place]); },
    tree: treeCard,
    plot: plotCard,
    log: function () { put(find("log")); },
    back: back,
    open: function () { return open.id === "whole" || open.id === "log" ? null : open; }
  };
}
