/* Bring the page together: ground, panel, strokes, and what others do meanwhile. */
import { el, button, find } from "./build.js";
import { desk } from "./desk.js";
import { ask, Strokes, newName } from "./talk.js";
import { Store } from "./store.js";
import { Ground } from "./ground.js";
import { Stroke } from "./stroke.js";
import { Corners } from "./corners.js";
import { Pins } from "./pins.js";
import { Knows } from "./knows.js";
import { LogBook } from "./log.js";
import { showCard, notice } from "./panel.js";
import { close, cornersSaid, fieldLeft, held, photoPlaced, render, sharing, snapRows, stopDrawing, strokeMoved, takePhoto, tapped, whereFrom } from "./views.js";
import { drawn, keepCorners, leftBehind, step, wireStrokes } from "./sending.js";
import { heard, lookAround, news, status } from "./news.js";

const NEWS_MS = 1500;

async function begin() {
  desk.page = newName();
  const state = await ask("/state");
  desk.store = new Store(state);
  document.title = "Drawing " + desk.store.name;
  desk.planned = state.planned;
  find("species-list").append(...desk.store.species.map(function (pair) { return el("option", { value: pair[1] }); }));
  const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
  desk.map = L.map("map", { zoomControl: false, attributionControl: false, zoomSnap: 0.25, maxZoom: 23, minZoom: 3, keyboardPanDelta: 40, tap: false, boxZoom: false, zoomAnimation: !still, fadeAnimation: !still, inertia: !still });
  desk.map.setView([0, 0], 3, { animate: false });
  desk.stopAt = wireSheet(find("panel"), find("handle"), "Show the ground", "Show more");
  new ResizeObserver(function () { desk.map.invalidateSize({ animate: false, pan: false }); }).observe(find("map"));
  desk.ground = new Ground(desk.map, desk.store, tapped);
  desk.ground.busy = function () { return Boolean(desk.stroke.tool); };
  desk.stroke = new Stroke(desk.map, snapRows, desk.store.us, drawn, strokeMoved);
  desk.corners = new Corners(desk.map, sharing, keepCorners, cornersSaid);
  desk.strokes = new Strokes(desk.page, status);
  desk.pins = new Pins(desk.store, showCard, photoPlaced);
  desk.knows = new Knows(desk.map, desk.ground, function () { if (desk.view.card === "whole") render(); });
  desk.log = new LogBook({ back: close, name: function () { return desk.store.name; } });
  L.control.scale({ position: "bottomright", imperial: desk.store.us, metric: !desk.store.us }).addTo(desk.map);
  desk.ground.grid.told = function (words) { find("grid-said").textContent = words; };
  desk.ground.show(state.rows, []);
  wire();
  desk.strokes.sitting = state.sitting;
  wireStrokes();
  heard(state);
  takePhoto(state.photo);
  state.slips.forEach(function (line, n) { notice("slip" + n, line); });
  desk.knows.heard(state.job, desk.planned);
  whereFrom();
  render();
  lookAround();
  leftBehind();
  setInterval(news, NEWS_MS);
}

function wire() {
  find("undo").addEventListener("click", function () { step("undo"); });
  find("redo").addEventListener("click", function () { step("redo"); });
  find("finish").addEventListener("click", function () { if (desk.stroke.whole()) desk.stroke.finish(); });
  find("back-one").addEventListener("click", function () { if (desk.stroke.corners.length) desk.stroke.back(); });
  find("stop").addEventListener("click", stopDrawing);
  find("nearer").addEventListener("click", function () { (desk.pins.map || desk.map).zoomIn(1); });
  find("farther").addEventListener("click", function () { (desk.pins.map || desk.map).zoomOut(1); });
  find("home").addEventListener("click", function () { whereFrom(); render(); });
  find("where").addEventListener("click", function () { desk.map.locate({ setView: false, enableHighAccuracy: true }); });
  let here = null;
  desk.map.on("locationfound", function (event) {
    if (here) here.remove();
    here = L.circle(event.latlng, { radius: event.accuracy, color: COLOURS("ink"), weight: 2, fill: false, interactive: false }).addTo(desk.map);
    desk.map.panTo(event.latlng);
  });
  desk.map.on("locationerror", function () { notice("where", "This computer does not say where it is."); });
  document.addEventListener("keydown", keys);
  find("panel").addEventListener("focusout", fieldLeft);
  find("panel").addEventListener("pointerdown", function () { held(true); });
  ["pointerup", "pointercancel"].forEach(function (end) { window.addEventListener(end, function () { held(false); }); });
  window.addEventListener("pagehide", function () { navigator.sendBeacon("/bye", new Blob([JSON.stringify({ page: desk.page })], { type: "application/json" })); });
  window.addEventListener("beforeunload", function (event) { if (desk.strokes.waiting) event.preventDefault(); });
  const box = desk.map.getContainer();
  box.addEventListener("focus", function () { box.classList.add("by-keys"); });
  box.addEventListener("blur", function () { box.classList.remove("by-keys"); });
  box.addEventListener("pointerdown", function () { box.classList.remove("by-keys"); });
}

function keys(event) {
  const typing = /^(INPUT|TEXTAREA|SELECT)$/.test(event.target.tagName);
  if ((event.ctrlKey || event.metaKey) && !typing && event.key.toLowerCase() === "z") {
    event.preventDefault();
    return step(event.shiftKey ? "redo" : "undo");
  }
  if ((event.ctrlKey || event.metaKey) && !typing && event.key.toLowerCase() === "y") {
    event.preventDefault();
    return step("redo");
  }
  if (event.key === "Escape") {
    if (desk.view.joining) return notice("join", "");
    if (typing) return event.target.blur();
    if (desk.stroke.corners.length) return desk.stroke.back();
    if (desk.stroke.tool) return stopDrawing();
    if (desk.view.card === "shape" || desk.view.card === "tally" || desk.view.card === "log") return close();
  }
  if (typing || !desk.stroke.tool) return;
  if (event.key === "Enter" && document.activeElement === desk.map.getContainer()) {
    event.preventDefault();
    desk.stroke.free = event.altKey;
    desk.stroke.put(desk.map.getCenter());
  } else if (event.key === "Enter" && event.target === document.body && desk.stroke.whole()) {
    desk.stroke.finish();
  } else if (event.key === "Backspace" && desk.stroke.corners.length) {
    event.preventDefault();
    desk.stroke.back();
  }
}

begin().catch(function (wrong) {
  find("card").replaceChildren(el("h1", { text: "The page cannot start" }), ...(wrong.problems || [String(wrong)]).map(function (line) { return el("p", { text: line }); }), button("Try again", function () { location.reload(); }, { class: "wide" }));
});

