/* The panel: year control, cards, key, sheet on the phone, print. */
"use strict";

function clearingMap(map) {
  var data = JSON.parse(document.getElementById("plan-data").textContent);
  var find = function (id) { return document.getElementById(id); };
  var all = function (mark) { return Array.prototype.slice.call(document.querySelectorAll(mark)); };
  var now = { year: 0, chosen: null, playing: null, hidden: { plots: true } };
  var phone = window.matchMedia("(max-width: 720px)");
  var bounds = L.latLngBounds(data.bounds);
  var ground = null, busy = false, wanted = null;
  var stopAt = wireSheet(find("panel"), find("handle"), "Show the map", "Show more of the plan");

  function room() {
    var years = find("years").offsetHeight + 12;
    if (!phone.matches) return { paddingTopLeft: [14, 70], paddingBottomRight: [14, years + 40] };
    var low = find("panel").dataset.stop === "third";
    var sheet = window.innerHeight * (low ? 0.34 : 0.67);
    return { paddingTopLeft: [6, low ? 58 : 6], paddingBottomRight: [6, sheet + years - 6] };
  }

  /* Leaflet drops a move that is asked for while it still zooms: keep it until then. */
  function goTo(box, still) {
    wanted = busy ? box : null;
    if (busy) return;
    map.fitBounds(box, L.extend({ animate: !still }, room()));
  }

  function showYear(year) {
    now.year = Math.max(0, Math.min(data.years.length - 1, year));
    find("slider").value = String(now.year);
    find("slider").setAttribute("aria-valuetext", String(data.years[now.year]));
    all("[data-year]").forEach(function (button) {
      var on = Number(button.dataset.year) === now.year;
      button.classList.toggle("on", on);
      if (button.classList.contains("year")) button.setAttribute("aria-pressed", String(on));
    });
    find("said").textContent = data.years[now.year] + ". " + data.sentences[now.year];
    ground.showYear(now.year, now.chosen);
    if (now.chosen !== null) {
      var state = data.strips[now.chosen].years[now.year];
      all("[data-now]").forEach(function (line) {
        line.textContent = data.years[now.year] + ": " + state[3].charAt(0).toLowerCase() + state[3].slice(1) + ".";
      });
    }
    showKey();
  }

  /* The key shows only what is on the screen. */
  function showKey() {
    var view = map.getBounds(), seen = {};
    data.strips.forEach(function (strip, place) {
      if (view.intersects(ground.drawn[place].getBounds())) seen[strip.years[now.year][0]] = true;
    });
    all("[data-sign]").forEach(function (row) {
      row.hidden = !seen[row.dataset.sign];
    });
    document.documentElement.style.setProperty("--years-high", find("years").offsetHeight + "px");
    ground.names(now.hidden);
  }

  function showCard(kind, name) {
    var card = null;
    all(".view").forEach(function (view) {
      var wanted = kind === null ? view.id === "whole" : view.dataset[kind] === name;
      view.hidden = !wanted;
      if (wanted) card = view;
    });
    var slot = card && card.querySelector("[data-stems]");
    if (slot) slot.appendChild(find("stems-" + slot.dataset.stems));
    find("scroll").scrollTop = 0;
    var head = card && card.querySelector("h1,h2");
    if (head) head.focus({ preventScroll: true });
  }

  function choose(place) {
    now.chosen = place;
    showCard("strip", data.strips[place].id);
    if (find("panel").dataset.stop === "third") stopAt("two");
    showYear(now.year);
    if (phone.matches) goTo(ground.drawn[place].getBounds().pad(0.35));
  }

  function back() {
    now.chosen = null;
    showCard(null, null);
    showYear(now.year);
  }

  function play() {
    var button = find("play");
    if (now.playing) {
      clearInterval(now.playing);
      now.playing = null;
      button.textContent = "Play";
      return;
    }
    button.textContent = "Stop";
    if (now.year === data.years.length - 1) showYear(0);
    now.playing = setInterval(function () {
      if (now.year === data.years.length - 1) return play();
      showYear(now.year + 1);
    }, 1100);
  }

  function wireYears() {
    find("slider").addEventListener("input", function () { showYear(Number(find("slider").value)); });
    find("play").addEventListener("click", play);
    all("[data-year]").forEach(function (button) {
      button.addEventListener("click", function () { showYear(Number(button.dataset.year)); });
    });
  }

  function wireCards() {
    all("[data-open-strip]").forEach(function (button) {
      button.addEventListener("click", function () {
        var place = data.strips.findIndex(function (strip) { return strip.id === button.dataset.openStrip; });
        choose(place);
        goTo(ground.drawn[place].getBounds().pad(phone.matches ? 0.35 : 0.6));
      });
    });
    all("[data-open-block]").forEach(function (button) {
      button.addEventListener("click", function () {
        var block = data.blocks[Number(button.dataset.place)];
        now.chosen = null;
        showCard("block", button.dataset.openBlock);
        showYear(now.year);
        goTo(L.polygon(block.shape).getBounds().pad(0.15));
      });
    });
    all("[data-back]").forEach(function (button) { button.addEventListener("click", back); });
    document.addEventListener("keydown", function (event) { if (event.key === "Escape") back(); });
  }

  function wireMap() {
    find("nearer").addEventListener("click", function () { map.zoomIn(1); });
    find("farther").addEventListener("click", function () { map.zoomOut(1); });
    find("home").addEventListener("click", function () { goTo(bounds); });
    find("where").addEventListener("click", function () { map.locate({ setView: false, enableHighAccuracy: true }); });
    find("key-open").addEventListener("click", function () {
      var open = find("key").classList.toggle("open");
      find("key-open").setAttribute("aria-expanded", String(open));
    });
    all("[data-part]").forEach(function (box) {
      box.addEventListener("change", function () {
        var part = box.dataset.part;
        now.hidden[part] = !box.checked;
        if (box.checked) ground.parts[part].addTo(map);
        else ground.parts[part].remove();
        showKey();
      });
    });
    var here = null;
    map.on("locationfound", function (event) {
      if (here) here.remove();
      here = L.circle(event.latlng, { radius: event.accuracy, color: COLOURS("ink"), weight: 2, fill: false, interactive: false }).addTo(map);
      map.panTo(event.latlng);
    });
    map.on("locationerror", function () {
      find("said").textContent = "This page gets no position here. Load field.gpx into a map app instead.";
    });
    map.on("moveend zoomend", showKey);
    map.on("zoomanim", function () { busy = true; });
    map.on("zoomend", function () {
      busy = false;
      if (wanted) setTimeout(goTo, 0, wanted);
    });
  }

  function wirePrint() {
    var closed = [], crowns = L.layerGroup();
    window.addEventListener("beforeprint", function () {
      document.body.classList.add("printing");
      closed = all("details:not([open])");
      closed.forEach(function (part) { part.open = true; });
      map.invalidateSize({ animate: false });
      map.fitBounds(bounds, { animate: false });
      if (map.hasLayer(ground.parts.trees)) ground.trees.onPaper(crowns.addTo(map), ground.lines);
    });
    window.addEventListener("afterprint", function () {
      document.body.classList.remove("printing");
      crowns.clearLayers();
      if (map.hasLayer(ground.parts.trees)) ground.trees.onScreen();
      closed.forEach(function (part) { part.open = false; });
      map.invalidateSize({ animate: false });
      goTo(bounds, true);
    });
  }

  map.invalidateSize({ animate: false });
  goTo(bounds, true);
  ground = drawGround(map, data, choose);
  wireYears();
  wireCards();
  wireMap();
  wirePrint();
  showYear(0);
  phone.addEventListener("change", function () { map.invalidateSize(); goTo(bounds, true); });
}
