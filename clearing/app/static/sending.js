/* Send strokes, and draw what came of them. */
import { desk } from "./desk.js";
import { find } from "./build.js";
import { nameOf } from "./signs.js";
import { notice } from "./panel.js";
import { open, openHandles, close, render, stopDrawing } from "./views.js";
import { lookAround, refresh } from "./news.js";

/* A finished shape: it is sent, and what came of it is drawn. */
export function drawn(which, made) {
  if (desk.view.splitting) return splitAlong(made);
  const own = which.kind ? { kind: which.kind } : {};
  if (which.key === "tree") {
    if (!desk.last.tree.species) return wants("What kind of tree is it? Say so first; the next ones are taken for the same.");
    Object.assign(own, desk.last.tree);
  }
  const item = { layer: which.layer, shape: made, own: own };
  const hint = which.as === "point" ? L.circleMarker([made.coordinates[1], made.coordinates[0]], { pane: "hand", radius: 6, color: COLOURS("quiet"), interactive: false }).addTo(desk.map) : L.geoJSON(made, { pane: "hand", interactive: false, style: { color: COLOURS("quiet"), weight: 2, dashArray: "4 4", fill: false } }).addTo(desk.map);
  send(function () { return { do: "put", items: [item] }; }).then(function (delta) {
    const row = delta && delta.rows.find(function (each) { return each.v === 1; });
    desk.last.made = row ? row.uid : null;
    if (desk.view.card === "tool") render();
  }, function (wrong) { if (wrong.status === 422) handBack(which, made); }).finally(function () { hint.remove(); });
}

/* A stroke that was refused comes back into the hand, so that nothing of it is lost. */
function handBack(which, made) {
  if (desk.stroke.tool !== which || which.as === "point" || desk.stroke.corners.length) return;
  const line = which.as === "area" ? made.coordinates[0].slice(0, -1) : made.coordinates;
  desk.stroke.corners = line;
  desk.stroke.show();
  render();
}

function splitAlong(line) {
  const uid = desk.view.splitting;
  stopDrawing();
  send(function () { const row = desk.store.rows.get(uid); return row ? { do: "split", uid: uid, v: row.v, line: line } : null; }).then(function () { open(uid); }, function () { open(uid); });
}

export function joinWith(row) {
  const first = desk.store.rows.get(desk.view.joining);
  desk.view.joining = null;
  notice("join", "");
  if (!first || first.uid === row.uid) return;
  send(function () { const a = desk.store.rows.get(first.uid), b = desk.store.rows.get(row.uid); return a && b ? { do: "join", uids: [[a.uid, a.v], [b.uid, b.v]] } : null; }).catch(function () {});
}

function wants(words) {
  notice("wants", words, [], true);
  const field = find("field-species");
  if (field) field.focus();
}

/* Own strokes: made when their turn comes, on the shapes as saved by then. */
export function send(make) {
  const build = typeof make === "function" ? make : function () { return make; };
  return desk.strokes.send(build).then(function (delta) {
    if (!delta) return null;
    take(delta);
    return delta;
  }, function (wrong) {
    notice("wrong", wrong.problems.map(sentence), [], true);
    if (wrong.status === 409) refresh();
    else desk.ground.show(Array.from(desk.store.rows.values()), []);
    if (desk.view.card === "shape") openHandles();
    throw wrong;
  });
}

export function put(items, words, quiet) {
  const make = function () {
    const now = items.map(function (item) { const row = desk.store.rows.get(item.uid); return row ? Object.assign({ v: row.v }, item) : null; });
    return now.some(function (item) { return !item; }) ? null : { do: "put", items: now, words: words };
  };
  if (!quiet) return send(make).catch(function () { return null; });
  return desk.strokes.send(make).then(function (delta) { if (delta) take(delta); });
}

export function keepCorners(holders, words) {
  put(holders.map(function (holder) { return { uid: holder.row.uid, shape: holder.shape }; }), words);
}

function take(delta) {
  desk.store.change(delta);
  desk.ground.show(delta.rows, delta.gone);
  if (desk.view.card === "shape" && desk.store.rows.has(desk.view.uid)) openHandles();
  else if (desk.view.card === "shape") close();
  if (delta.cleaned && delta.cleaned.length) cleaned(delta);
  notice("wrong", "");
  notice("wants", "");
  desk.knows.stale();
  render();
  lookAround();
}

/* What the cleaning changed is shown on the ground until it is taken back or closed. */
function cleaned(delta) {
  const shown = L.layerGroup().addTo(desk.map);
  delta.cleaned.forEach(function (change) {
    if (change.shape) L.geoJSON(change.shape, { pane: "lines", renderer: desk.ground.renderers.lines, interactive: false, style: { color: COLOURS("keep-out"), weight: 2, fillColor: "url(#keep-out)", fillOpacity: 1 } }).addTo(shown);
  });
  const words = delta.cleaned.map(function (change) { return sentence(change.words + (change.area ? ", " + change.area : "")); });
  notice("cleaned", words, [["Take that back", function () { send({ do: "as_drawn", stroke: delta.stroke }).catch(function () {}); }]], false, function () { shown.remove(); });
}

export function count(row, stem, by) {
  return desk.strokes.send(function () { return { do: "tally", plot: row.own.plot_id, stem: stem, by: by }; }).then(function (delta) {
    desk.view.tally.rows = delta.tally;
    desk.view.tally.wrong = "";
    take(delta);
  }, function (wrong) {
    desk.view.tally.wrong = wrong.message;
    render();
  });
}

function sentence(words) {
  const full = words.charAt(0).toUpperCase() + words.slice(1);
  return /[.?!)]$/.test(full) ? full : full + ".";
}
