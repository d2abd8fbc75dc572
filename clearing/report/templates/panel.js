/* The page: it starts the map and lets year, cards, key, measure, position and paper work together. */
"use strict";

var MOST_COVERED = 0.8; /* share of the map's height or width that controls may take from a view */
var TURN_MS = 150;

function clearingMap(map) {
  var data = JSON.parse(document.getElementById("plan-data").textContent);
  unpackShapes(data);
  var find = function (id) { return document.getElementById(id); };
  var all = function (mark) { return Array.prototype.slice.call(document.querySelectorAll(mark)); };
  var now = { year: 0, chosen: null, way: false, hidden: { plots: true }, box: null };
  var phone = window.matchMedia("(max-width: 720px)"), short = window.matchMedia("(max-height: 600px)"), still = window.matchMedia("(prefers-reduced-motion: reduce)");
  var calm = function () { return still.matches; };
  var bounds = L.latLngBounds(data.bounds);
  var fitted = null, turning = null, busy = false, lifted = false, wanted = null, spot = L.layerGroup().addTo(map), spotPen = null;
  var stopAt = wireSheet(find("panel"), find("handle"), "Show the map", "Show more of the plan");

  /* What the controls cover, never so much that less than a fifth of the map is left. */
  function room() {
    var pads = covered(), size = map.getSize();
    [["x", 0], ["y", 1]].forEach(function (way) {
      var both = pads.paddingTopLeft[way[1]] + pads.paddingBottomRight[way[1]], most = MOST_COVERED * size[way[0]];
      if (both <= most) return;
      pads.paddingTopLeft[way[1]] *= most / both;
      pads.paddingBottomRight[way[1]] *= most / both;
    });
    return pads;
  }

  function covered() {
    var years = find("years").offsetHeight + 12;
    if (!phone.matches) return { paddingTopLeft: [14, find("tools").offsetHeight + 26], paddingBottomRight: [14, years + (short.matches ? 12 : 40)] };
    var low = find("panel").dataset.stop === "third";
    var sheet = window.innerHeight * (low ? 0.34 : 0.67);
    return { paddingTopLeft: [6, low ? find("tools").offsetHeight + 18 : 6], paddingBottomRight: [6, sheet + years - 6] };
  }

  /* Leaflet drops a move that is asked for while it still zooms: keep it until then. */
  function goTo(box, atOnce) {
    wanted = busy ? box : null;
    fitted = box;
    if (busy) return;
    try {
      map.fitBounds(box, L.extend({ animate: !atOnce && !calm() }, room()));
    } catch (problem) { /* a window without room: the rest of the page goes on */
      map.setView(box.getCenter(), map.getZoom() || 16, { animate: false });
    }
  }

  /* The phone is turned or the window made another size: what was brought in sight comes back,
     but where somebody moved the map since, it stays. */
  function turned() {
    clearTimeout(turning);
    turning = setTimeout(function () {
      if (document.documentElement.classList.contains("printing")) return;
      map.invalidateSize({ animate: false });
      if (fitted) goTo(fitted, true);
      showKey();
    }, TURN_MS);
  }

  /* A strip that the keyboard comes to is brought out from behind the edge and the controls. */
  function reveal(place) {
    map.panInside(ground.drawn[place].getBounds().getCenter(), L.extend({ animate: !calm() }, room()));
  }

  function tell(text) {
    find("told-said").textContent = text;
    find("told").hidden = !text;
  }

  function shown(year) {
    now.year = year;
    ground.showYear(year, now.chosen, now.way);
    if (now.chosen !== null) {
      var strip = data.strips[now.chosen], state = strip.years[year];
      all("[data-now]").forEach(function (line) {
        line.textContent = data.years[year] + ": " + state[3].charAt(0).toLowerCase() + state[3].slice(1) + "." + (strip.dead[year] ? " Dead trees stand here." : "");
      });
      all("[data-here]").forEach(function (line) { line.textContent = strip.stands[year] || ""; });
    }
    showKey();
  }

  /* The key shows only what is on the screen. */
  function showKey() {
    var view = map.getBounds(), seen = {}, done = { weighed: now.way };
    data.strips.forEach(function (strip, place) {
      if (!now.way && !now.hidden.strips && view.intersects(ground.drawn[place].getBounds())) {
        seen[strip.years[now.year][0]] = true;
        if (strip.dead[now.year]) seen.standing_dead = true;
      }
    });
    data.pieces.forEach(function (piece, place) {
      if (now.way && !now.hidden.strips && view.intersects(ground.ways[place].getBounds())) done[piece.way] = true;
    });
    all("[data-sign]").forEach(function (row) { row.hidden = !seen[row.dataset.sign]; });
    all("[data-way-sign]").forEach(function (row) { row.hidden = !done[row.dataset.waySign]; });
    RULES.forEach(function (flag) {
      find("key").querySelector("[data-part=" + flag + "]").closest("li").classList.toggle("absent", !ground.ruled(flag, view));
    });
    document.documentElement.style.setProperty("--years-high", find("years").offsetHeight + "px");
    document.documentElement.style.setProperty("--tools-high", find("tools").offsetHeight + "px");
    ground.names(now.hidden);
  }

  /* A card lifts the sheet; the sheet sinks again when the card is closed. */
  function lift() {
    if (find("panel").dataset.stop !== "third") return;
    stopAt("two");
    lifted = true;
  }

  function choose(place, move) {
    now.chosen = place;
    spot.clearLayers();
    cards.strip(place);
    lift();
    shown(now.year);
    if (move || phone.matches) goTo(ground.drawn[place].getBounds().pad(phone.matches ? 0.35 : 0.6));
  }

  function openBlock(place) {
    now.chosen = null;
    spot.clearLayers();
    cards.block(place);
    shown(now.year);
    goTo(L.polygon(data.blocks[place].shape).getBounds().pad(0.15));
  }

  /* The log's card takes the sheet whole: it is a form. */
  function openLog() {
    now.chosen = null;
    spot.clearLayers();
    cards.log();
    if (phone.matches) stopAt("full");
    lifted = true;
    shown(now.year);
  }

  /* The sheet sinks, and what was in sight before it rose (or before a keyboard opened) comes back. */
  function toGround() {
    if (!phone.matches) return;
    stopAt("third");
    if (fitted) goTo(fitted, true);
  }

  function back() {
    if (!find("log").hidden) log.closed();
    now.chosen = null;
    spot.clearLayers();
    cards.back();
    if (lifted && find("panel").dataset.stop !== "third") stopAt("third");
    lifted = false;
    shown(now.year);
  }

  /* A ring round the tree or plot whose card is open, brought out from behind the sheet. */
  function mark(at, radius) {
    spotPen = spotPen || L.svg({ pane: "mine", padding: 0.4 });
    [[COLOURS("paper"), 7], [COLOURS("ink"), 3]].forEach(function (pen) {
      L.circle(at, { pane: "mine", renderer: spotPen, interactive: false, fill: false, radius: radius, color: pen[0], weight: pen[1] }).addTo(spot);
    });
    if (phone.matches) goTo(L.latLng(at).toBounds(Math.max(radius * 6, 80)));
  }

  function openThing(found, event) {
    if (found.kind === "thing") {
      var box = document.createElement("div");
      box.textContent = data.features[found.place].words;
      box.dir = "auto";
      return L.popup({ closeButton: false, className: "note", autoPanPaddingTopLeft: [10, 116], maxWidth: 240 }).setLatLng(event.latlng).setContent(box).openOn(map);
    }
    now.chosen = null;
    spot.clearLayers();
    var tree = found.kind === "tree", plot = tree ? null : data.plots[found.place];
    var at = tree ? ground.trees.placeOf(found.place) : L.latLng(plot.at);
    cards[found.kind](found.place, stripAt(data, at));
    lift();
    shown(now.year);
    mark(at, Math.max(tree ? ground.trees.trees.radius[found.place] : plot.radius, 1));
  }

  function tapped(event, place) {
    if (ruler.takes(event) || log.takes(place)) return;
    var found = event ? thingAt(map, data, ground, now.hidden, event.containerPoint) : null;
    if (found) openThing(found, event);
    else if (place !== null) choose(place, !event);
  }

  function openKey(open) {
    find("key").classList.toggle("open", open);
    find("key-open").setAttribute("aria-expanded", String(open));
  }

  function wireKeys() {
    find("nearer").addEventListener("click", function () { fitted = null; map.zoomIn(1, { animate: !calm() }); });
    find("farther").addEventListener("click", function () { fitted = null; map.zoomOut(1, { animate: !calm() }); });
    find("home").addEventListener("click", function () { goTo(bounds); });
    find("told-close").addEventListener("click", function () { tell(""); });
    find("key-open").addEventListener("click", function () { openKey(!find("key").classList.contains("open")); });
    all("[data-part]").forEach(function (box) {
      box.checked = !now.hidden[box.dataset.part]; /* a browser may bring back what was ticked before */
      box.addEventListener("change", function () {
        var part = box.dataset.part;
        now.hidden[part] = !box.checked;
        if (box.checked) ground.parts[part].addTo(map);
        else ground.parts[part].remove();
        shown(now.year);
      });
    });
    all("[data-show]").forEach(function (button) {
      button.addEventListener("click", function () {
        now.way = button.dataset.show === "way";
        all("[data-show]").forEach(function (one) { one.setAttribute("aria-pressed", String(one.dataset.show === button.dataset.show)); });
        shown(now.year);
      });
    });
    /* Escape ends one thing at a time: measuring, the key, a message, a card. */
    document.addEventListener("keydown", function (event) {
      if (event.key !== "Escape" || ruler.clear() || log.stop()) return;
      if (find("key").classList.contains("open")) {
        openKey(false);
        find("key-open").focus();
      } else if (!find("told").hidden) tell("");
      else back();
    });
  }

  function wireMoves() {
    map.on("click", function (event) { tapped(event, null); });
    map.on("moveend zoomend", showKey);
    map.on("zoomanim", function () { busy = true; });
    map.on("zoomend", function () {
      busy = false;
      if (wanted) setTimeout(goTo, 0, wanted);
    });
    ["wheel", "keydown", "dblclick", "touchmove"].forEach(function (way) {
      map.getContainer().addEventListener(way, function () { fitted = null; }, { passive: true });
    });
    map.on("dragstart", function () { fitted = null; });
    window.addEventListener("resize", turned);
  }

  map.invalidateSize({ animate: false });
  goTo(bounds, true);
  var ground = drawGround(map, data, tapped, reveal);
  var ruler = wireRuler(map, data.us, function () { tell(""); });
  var cards = wireCards(data, { strip: function (place) { choose(place, true); }, block: openBlock, back: back });
  wireHere(map, data, tell, function (place) {
    if (phone.matches && find("panel").dataset.stop !== "third") stopAt("third");
    map.panInside(place, L.extend({ animate: !calm() }, room()));
  });
  var log = wireLog(map, data, { show: openLog, shut: back, shown: function () { return !find("log").hidden; }, ground: toGround, tell: tell });
  all("[data-strip] .now").forEach(function (line) {
    line.parentNode.insertBefore(logMake("button", { type: "button", className: "log-open", "data-log-open": "strip" }), line.nextSibling);
  });
  log.show();
  all("[data-log-open]").forEach(function (button) {
    button.addEventListener("click", function () { log.open(button.dataset.logOpen ? now.chosen : null); });
  });
  wireKeys();
  wireMoves();
  wirePaper(map, ground, {
    card: cards.open,
    shown: showKey,
    box: function () {
      if (now.chosen !== null) return ground.drawn[now.chosen].getBounds().pad(0.2);
      var block = cards.open() && cards.open().dataset.place;
      return block ? L.polygon(data.blocks[Number(block)].shape).getBounds().pad(0.1) : bounds;
    }
  });
  wireYears(data, shown)(0);
  performance.mark("map-drawn");
}
