/* Which card the panel shows, and how one comes to it. */
import { desk } from "./desk.js";
import { find, onPhone } from "./build.js";
import { ask } from "./talk.js";
import { asOf, idOf, nameOf, toolFor, toolOf } from "./signs.js";
import { sizeOf } from "./measure.js";
import { shapeCard, toolCard } from "./cards.js";
import { tallyCard } from "./tally.js";
import { startCard } from "./start.js";
import { wholeCard, showCard, notice } from "./panel.js";
import { count, joinWith, put, send } from "./sending.js";

/* Where to look first: at what is drawn, else at the photo, else ask. */
export function whereFrom() {
  const blocks = desk.store.of("blocks").some(function (row) { return row.shape; }), shapes = [];
  desk.store.rows.forEach(function (row) { if (row.shape && (!blocks || row.layer === "blocks")) shapes.push(L.geoJSON(row.shape).getBounds()); });
  const box = shapes.reduce(function (all, one) { return all.extend(one); }, L.latLngBounds([]));
  if (box.isValid()) return goTo(box.pad(0.05));
  if (desk.photo && desk.photo.placed) return goTo([[desk.photo.bounds[1], desk.photo.bounds[0]], [desk.photo.bounds[3], desk.photo.bounds[2]]]);
  if (desk.photo && !desk.photo.opening && !desk.photo.placed && !desk.photo.problem) return openPins();
  desk.view.card = "start";
}

function goTo(box) {
  desk.placed = true;
  if (desk.view.card === "start") desk.view.card = "whole";
  desk.map.invalidateSize({ animate: false });
  const low = Math.max(0, desk.map.getContainer().getBoundingClientRect().bottom - find("panel").getBoundingClientRect().top);
  const phone = onPhone();
  desk.map.fitBounds(box, { animate: false, paddingTopLeft: [10, phone ? 10 : 70], paddingBottomRight: [10, 30 + (phone ? low : 0)] });
}

export function render() {
  document.body.dataset.card = desk.view.card;
  document.body.dataset.tool = desk.stroke.tool ? desk.stroke.tool.key : "";
  document.body.dataset.revision = String(desk.store.revision);
  const of = desk.view.card + (desk.view.uid || "");
  late = pressed || typing(of);
  if (late) return marks();
  const card = { whole: whole, shape: shape, tool: tool, tally: tally, log: log, start: start, pins: function () { return null; } }[desk.view.card]();
  if (card) {
    card.dataset.of = of;
    showCard(card);
  }
  marks();
}

let late = false, pressed = false;

/* A card in which somebody types is not made anew under the hand; it is once the field is left. */
function typing(of) {
  const field = document.activeElement, card = find("card");
  return card.dataset.of === of && card.contains(field) && /^(INPUT|TEXTAREA|SELECT)$/.test(field.tagName) && field.type !== "checkbox";
}

/* Nor while a button of it is held down: the press would be lost with the button. */
export function held(down) {
  pressed = down;
  if (!down && late) setTimeout(render, 0);
}

export function fieldLeft() {
  if (late) setTimeout(render, 0);
}

function marks() {
  marksOfHand();
  find("undo").setAttribute("aria-disabled", String(!desk.store.undo && !desk.stroke.corners.length));
  find("redo").setAttribute("aria-disabled", String(!desk.store.redo));
  find("undo").title = desk.store.undo ? "Take back: " + desk.store.undo : "Nothing to take back";
  find("redo").title = desk.store.redo ? "Do again: " + desk.store.redo : "Nothing to do again";
}

function whole() {
  return wholeCard(desk.store, { log: function () { openLog(""); }, draw: draw, open: open, earlier: async function () { return (await ask("/earlier")).versions; }, bringBack: function (name) { send({ do: "bring_back", version: name }).catch(function () {}); }, pins: desk.photo && !desk.photo.problem && (!desk.photo.placed || desk.photo.pins.length) ? openPins : null }, function () { return desk.knows.card(); }, function () { return desk.knows.planCard(desk.planned); });
}

/* The log's card stays as it is while something else is heard: it is a form in hand. */
function log() {
  return desk.log.shown ? null : desk.log.box;
}

async function openLog(place) {
  const opened = desk.log.open(place);
  close(true);
  desk.view.card = "log";
  if (onPhone() && find("panel").dataset.stop !== "full") desk.stopAt("full");
  render();
  await opened;
  const title = find("card").querySelector("h2.big");
  if (desk.view.card === "log" && title) title.focus({ preventScroll: true });
}

function start() {
  raise();
  return startCard(desk.store, desk.map, function (at) { desk.map.setView(at, 17, { animate: false }); desk.placed = true; desk.view.card = "whole"; render(); });
}

function shape() {
  const row = desk.store.rows.get(desk.view.uid);
  if (!row) {
    desk.view.card = "whole";
    return whole();
  }
  const card = shapeCard(desk.store, row, {
    back: close, say: function (own) { return put([{ uid: row.uid, own: own }], "", true); }, tally: openTally,
    log: function () { openLog(idOf(row)); },
    takeOut: function () { if (desk.corners.picked) desk.corners.takeOut(desk.corners.picked); },
    split: function () { beginSplit(row); }, join: function () { beginJoin(row); }, reshape: function () { beginShape(row); },
    remove: function () { send({ do: "remove", uids: [row.uid] }).then(close, function () {}); }
  });
  return card;
}

function tool() {
  const made = desk.last.made && desk.store.rows.get(desk.last.made);
  const card = toolCard(desk.store, desk.stroke, desk.last, { draw: desk.view.splitting || desk.view.shaping ? null : draw, describe: made && { name: nameOf(made, desk.store.speciesWords), work: function () { stopDrawing(); open(made.uid); } } });
  return card;
}

/* The row of buttons that stays in sight while something is drawn, and what the hand holds. */
function marksOfHand() {
  const stroke = desk.stroke, n = stroke.corners.length, size = stroke.size(), made = desk.last.made && desk.store.rows.get(desk.last.made), point = stroke.tool && stroke.tool.as === "point";
  find("doing").hidden = !stroke.tool;
  if (!stroke.tool) return;
  find("finish").hidden = find("back-one").hidden = point;
  find("finish").setAttribute("aria-disabled", String(!stroke.whole()));
  find("back-one").setAttribute("aria-disabled", String(!n));
  const said = n ? n + (n === 1 ? " corner" : " corners") + (size ? ", " + size : "") : made ? nameOf(made, desk.store.speciesWords) + (sizeOf(made, desk.store.us) ? ", " + sizeOf(made, desk.store.us) : "") + ": saved" : "Drawing: " + (stroke.tool.card || stroke.tool.word).toLowerCase();
  if (find("hand").textContent !== said) find("hand").textContent = said;
}

/* What a stroke may catch: all areas and lines, but for the parts of other tools' points. */
export function snapRows() {
  return Array.from(desk.store.rows.values()).filter(function (row) { return row.shape && !row.shape.type.endsWith("Point"); });
}

/* Areas share corners with areas, lines with lines. */
export function sharing(row) {
  const area = row.layer === "blocks" || row.layer === "strips";
  return snapRows().filter(function (each) { return (each.layer === "blocks" || each.layer === "strips") === area; });
}

export function draw(which) {
  close(true);
  desk.view.shaping = null;
  desk.view.splitting = null;
  desk.view.card = "tool";
  desk.last.made = null;
  desk.stroke.start(which);
  if (which.key === "tree" && !desk.last.tree.species) raise();
  else lower();
  render();
}

export function stopDrawing() {
  desk.stroke.stop(true);
  desk.view.splitting = null;
  desk.view.shaping = null;
  desk.view.card = "whole";
  render();
}

export function strokeMoved() {
  if (desk.view.card === "tool" && desk.stroke.tool) render();
}

export function tapped(row) {
  if (desk.view.joining && row) return joinWith(row);
  if (row) open(row.uid);
  else if (desk.view.card === "shape") close();
}

/* Joining is asked for once: it ends with any other tap, button or card. */
function beginJoin(row) {
  desk.view.joining = row.uid;
  const name = nameOf(row, desk.store.speciesWords), others = desk.store.of(row.layer).filter(function (each) { return each.uid !== row.uid && each.shape; });
  const choices = others.sort(nearestTo(row)).slice(0, 5).map(function (each) { return [nameOf(each, desk.store.speciesWords), function () { desk.view.joining = row.uid; joinWith(each); }]; });
  notice("join", "Tap the neighbor that " + name + " shall be joined with, or choose it here.", choices, false, function () { desk.view.joining = null; });
  lower();
}

function nearestTo(row) {
  const here = L.geoJSON(row.shape).getBounds().getCenter();
  return function (a, b) { return L.geoJSON(a.shape).getBounds().getCenter().distanceTo(here) - L.geoJSON(b.shape).getBounds().getCenter().distanceTo(here); };
}

/* A row without a shape that can be shown gets one drawn. */
function beginShape(row) {
  const which = toolFor(row);
  close(true);
  desk.view.card = "tool";
  desk.stroke.start(which);
  desk.view.shaping = row.uid;
  lower();
  render();
}

function beginSplit(row) {
  close(true);
  desk.view.splitting = row.uid;
  desk.view.card = "tool";
  desk.stroke.start(Object.assign({}, toolOf("fence"), { key: "split", card: "Split " + nameOf(row, desk.store.speciesWords), how: "Tap a line right across it, from outside one edge to outside the other; tap the last spot again to finish." }));
  lower();
  render();
}

export function open(uid, fly) {
  const row = desk.store.rows.get(uid);
  if (!row) return;
  if (desk.view.joining) notice("join", "");
  if (desk.stroke.tool) desk.stroke.stop(true);
  desk.view.card = row.layer === "plots" && desk.view.card === "tally" ? "tally" : "shape";
  desk.view.uid = uid;
  if (desk.view.card === "tally") return openTally();
  desk.ground.choose(uid);
  openHandles();
  const phone = onPhone();
  if (phone && find("panel").dataset.stop === "third") desk.stopAt("two");
  if ((fly || phone) && row.shape) {
    const box = L.geoJSON(row.shape).getBounds(), seen = desk.map.getBounds().contains(box) && desk.map.getZoom() >= 15;
    if (!seen || phone) setTimeout(function () { goTo(asOf(row) === "point" ? box.getCenter().toBounds(60) : box.pad(0.1)); }, phone ? 220 : 0);
  }
  render();
}

export function openHandles() {
  const row = desk.store.rows.get(desk.view.uid);
  if (row && row.shape) desk.corners.open(row);
  else desk.corners.close();
}

export function close(still) {
  const had = desk.view.card;
  if (desk.view.joining) notice("join", "");
  desk.view.uid = null;
  desk.view.card = "whole";
  desk.ground.choose(null);
  desk.corners.close();
  if (had === "log" && still !== true && onPhone()) desk.stopAt("third");
  if (still !== true && (had === "shape" || had === "tally" || had === "log")) render();
}

export function cornersSaid(words, holder) {
  if (holder) {
    desk.ground.show([Object.assign({}, holder.row, { shape: holder.shape })], []);
    const size = find("card-size");
    if (size && holder.row.uid === desk.view.uid) size.textContent = sizeOf({ shape: holder.shape }, desk.store.us);
    return;
  }
  if (words) notice("corner", words);
  const take = find("take-out");
  if (take) take.setAttribute("aria-disabled", String(!desk.corners.picked));
}

/* On the phone the sheet rises where something is to be typed, and sinks where something is drawn. */
function raise() {
  if (onPhone() && find("panel").dataset.stop === "third") desk.stopAt("two");
}

function lower() {
  if (onPhone()) desk.stopAt("third");
}

function openPins() {
  close(true);
  desk.view.card = "pins";
  if (find("panel").dataset.stop === "third") desk.stopAt("two");
  document.body.dataset.card = "pins";
  desk.pins.open(desk.photo);
}

export function photoPlaced(now) {
  desk.view.card = "whole";
  if (now) {
    takePhoto(now);
    if (desk.photo.placed) goTo([[desk.photo.bounds[1], desk.photo.bounds[0]], [desk.photo.bounds[3], desk.photo.bounds[2]]]);
  } else if (!desk.placed) desk.view.card = "start";
  render();
}

/* The photo. */
export function takePhoto(now) {
  const was = desk.photo;
  desk.photo = now;
  desk.ground.showPhoto(desk.photo);
  find("grid-said").hidden = !desk.ground.gridOn;
  if (desk.photo && desk.photo.opening) notice("photo", "The photo is made ready" + (desk.photo.share ? ": " + Math.round(100 * desk.photo.share) + " %" : "") + ". You can draw meanwhile.");
  else if (was && was.opening) {
    notice("photo", "");
    if (!desk.placed || desk.view.card === "start") { whereFrom(); render(); }
  }
  if (desk.photo && desk.photo.problem) notice("photo", desk.photo.problem, [], true);
}

/* Counting at a plot. */
async function openTally() {
  const row = desk.store.rows.get(desk.view.uid);
  try {
    const found = await ask("/tally?plot=" + encodeURIComponent(row.own.plot_id));
    desk.view.tally = Object.assign({ species: desk.store.targets[0] || "", keep: false, status: "live", wrong: "" }, desk.view.tally, { rows: found.tally });
    if (!desk.view.tally.dayChosen) desk.view.tally.date = logToday();
    desk.view.card = "tally";
    desk.corners.close();
    if (find("panel").dataset.stop !== "full") desk.stopAt("full");
    render();
  } catch (wrong) {
    notice("wrong", wrong.problems, [], true);
  }
}

function tally() {
  const row = desk.store.rows.get(desk.view.uid);
  if (!row) return whole();
  return tallyCard(desk.store, row, desk.view.tally, {
    back: function () { desk.view.card = "shape"; desk.stopAt("third"); openHandles(); render(); },
    set: function (what) { Object.assign(desk.view.tally, what); render(); },
    count: function (stem, by) { return count(row, stem, by); },
    nothing: function () { put([{ uid: row.uid, own: { visited: "yes" } }], ""); }
  });
}
