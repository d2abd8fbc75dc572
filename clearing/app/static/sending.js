/* Send strokes, draw what came of them, and keep in hand what was not kept. */
import { desk } from "./desk.js";
import { find, sentence } from "./build.js";
import { fill } from "./drafts.js";
import { nameOf, toolOf } from "./signs.js";
import { notice } from "./panel.js";
import { close, draw, open, openHandles, render, stopDrawing } from "./views.js";
import { lookAround, refresh } from "./news.js";

/* Make the line of strokes ready: how a draft is filled in, and what is done with its answer. */
export function wireStrokes() {
  desk.strokes.fill = function (draft) { return fill(draft, desk.store.rows); };
  desk.strokes.taken = take;
}

/* A finished shape: it is sent, and what came of it is drawn. */
export function drawn(which, made) {
  if (desk.view.splitting) return splitAlong(made);
  const own = which.kind ? { kind: which.kind } : {};
  if (which.key === "tree") {
    if (!desk.last.tree.species) return wants("What kind of tree is it? Say so first; the next ones are taken for the same.");
    Object.assign(own, desk.last.tree);
  }
  const onto = desk.view.shaping, item = onto ? { uid: onto, shape: made } : { layer: which.layer, shape: made, own: own };
  if (onto) stopDrawing();
  send({ do: "put", items: [item], tool: which.key }, hintOf(made)).then(function (delta) {
    const row = delta && delta.rows.find(function (each) { return onto ? each.uid === onto : each.v === 1; });
    desk.last.made = row ? row.uid : null;
    if (onto) open(onto);
    else if (desk.view.card === "tool") render();
  }, function () {});
}

/* What is on its way is shown until it is saved or comes back into the hand. */
function hintOf(made) {
  const style = { pane: "hand", radius: 6, color: COLOURS("quiet"), weight: 2, dashArray: "4 4", fill: false, interactive: false };
  return made.type === "Point" ? L.circleMarker([made.coordinates[1], made.coordinates[0]], style).addTo(desk.map) : L.geoJSON(made, { pane: "hand", interactive: false, style: style }).addTo(desk.map);
}

function splitAlong(line) {
  const uid = desk.view.splitting;
  stopDrawing();
  const then = function () { open(uid); };
  send({ do: "split", uid: uid, line: line }).then(then, then);
}

export function joinWith(row) {
  const first = desk.view.joining;
  desk.view.joining = null;
  notice("join", "");
  if (first && first !== row.uid) send({ do: "join", uids: [first, row.uid] }).catch(function () {});
}

function wants(words) {
  notice("wants", words, [], true);
  const field = find("field-species");
  if (field) field.focus();
}

/* Send a draft; a hint on the ground goes with the answer. */
export function send(draft, hint) {
  return desk.strokes.send(draft).then(function (delta) {
    if (hint) hint.remove();
    if (!delta) notKept(draft, ["The shape of this stroke is gone, or was changed meanwhile; the stroke was not kept."]);
    return delta;
  }, function (wrong) {
    if (hint) hint.remove();
    notKept(draft, wrong.problems);
    if (wrong.status === 409) refresh();
    else if (desk.view.card === "shape") openHandles();
    if (draft.do !== "tally") desk.ground.show(Array.from(desk.store.rows.values()), []);
    throw wrong;
  });
}

/* A stroke that was not kept is not lost: a drawn shape comes back into the hand, or waits for it. */
let lost = 0;
function notKept(draft, problems) {
  const item = draft.do === "put" && !draft.items[0].uid ? draft.items[0] : null;
  const words = problems.map(sentence);
  if (!item) return notice("wrong", words, [], true);
  if (handBack(draft.tool, item.shape)) return notice("wrong", words, [], true);
  lost += 1;
  const again = item.shape.type === "Point" ? ["Try again", function () { send(draft, hintOf(item.shape)).catch(function () {}); }]
    : ["Take it in hand again", function () {
      draw(toolOf(draft.tool));
      handBack(draft.tool, item.shape);
    }];
  notice("lost" + lost, words, [again], true);
}

function handBack(key, made) {
  const stroke = desk.stroke;
  if (!stroke.tool || stroke.tool.key !== key || stroke.tool.as === "point" || stroke.corners.length) return false;
  const line = made.type === "Polygon" ? made.coordinates[0].slice(0, -1) : made.coordinates;
  stroke.corners = line.map(function (corner) { return corner.slice(); });
  stroke.show();
  render();
  return true;
}

/* What a page that is gone left in its line: of this sitting it goes out again, else it waits for a word. */
export function leftBehind() {
  const left = desk.strokes.left();
  left.forEach(function (kept) {
    if (kept.sitting === desk.strokes.sitting) return desk.strokes.again(kept.line);
    kept.line.forEach(function (each) {
      const item = each.draft.do === "put" && !each.draft.items[0].uid ? each.draft.items[0] : null;
      if (!item) return;
      lost += 1;
      const hint = hintOf(item.shape);
      notice("lost" + lost, "Before the program was started anew this was drawn and perhaps not saved. It is shown dashed.", [["Save it", function () { send(each.draft).catch(function () {}); }]], true, function () { hint.remove(); });
    });
  });
}

/* Fields and other edits of shapes that are there; quiet ones are told beside the field. */
export function put(items, words, quiet) {
  const draft = { do: "put", items: items, words: words };
  return quiet ? desk.strokes.send(draft) : send(draft).catch(function () { return null; });
}

export function keepCorners(holders, edit, words) {
  put(holders.map(function (holder) { return { uid: holder.row.uid, edit: edit }; }), words);
}

function take(delta, draft) {
  const missed = delta.was && delta.was !== desk.store.revision;
  desk.store.change(delta);
  if (missed) refresh();
  const corners = desk.corners, held = corners.dragging ? corners.heldUids() : [];
  desk.ground.show(delta.rows.filter(function (row) { return !held.includes(row.uid); }), delta.gone);
  if (delta.tally && desk.view.card === "tally") tallied(delta, draft);
  if (desk.view.card === "shape" && desk.view.uid) {
    if (!desk.store.rows.has(desk.view.uid)) close();
    else if (!corners.dragging) openHandles();
  }
  if (delta.cleaned && delta.cleaned.length) cleaned(delta);
  if (delta.notes && delta.notes.length) notice("notes", delta.notes.map(sentence));
  notice("wrong", "");
  notice("wants", "");
  desk.knows.stale();
  render();
  lookAround();
}

/* The tally of the plot that is open: what was counted at another one is not shown here. */
function tallied(delta, draft) {
  const row = desk.store.rows.get(desk.view.uid);
  if (!row || !draft || (draft.plot || delta.plot) !== row.own.plot_id) return;
  desk.view.tally.rows = delta.tally;
  desk.view.tally.wrong = "";
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
  desk.strokes.send({ do: "tally", plot: row.own.plot_id, stem: stem, by: by }).catch(function (wrong) {
    if (desk.view.card !== "tally") return notice("wrong", wrong.problems.map(sentence), [], true);
    desk.view.tally.wrong = wrong.message;
    render();
  });
}

/* Take back or do again; with corners in hand the last of those comes back first. */
export function step(which) {
  if (which === "undo" && desk.stroke.corners.length) return desk.stroke.back();
  if (desk.store[which]) send({ do: which }).catch(function () {});
}
