/* The panel: first a sentence and a number, then what can be drawn, what is drawn, what is known. */
import { el, button, find, plural } from "./build.js";
import { TOOLS, nameOf, toolFor } from "./signs.js";
import { toolList } from "./cards.js";
import { areaOf, sayArea, sizeOf } from "./measure.js";

export function wholeCard(store, does, known, job) {
  const blocks = store.of("blocks");
  const acres = blocks.reduce(function (sum, row) { return sum + (row.shape ? areaOf(row.shape) : 0); }, 0);
  const said = blocks.length ? sayArea(acres, store.us) + " in " + plural(blocks.length, "block") : "Nothing is drawn yet";
  const card = el("section", { class: "view", id: "card" },
    el("p", { class: "place", text: store.name }),
    el("h1", { tabIndex: -1, text: said }),
    el("p", { class: "lead", text: lead(store, blocks) }),
    el("h2", { text: "Draw" }),
    toolList(TOOLS.filter(function (tool) { return tool.main; }), does.draw),
    el("details", { class: "close" }, el("summary", { text: "More to draw" }), toolList(TOOLS.filter(function (tool) { return !tool.main; }), does.draw)));
  if (blocks.length) {
    card.append(el("h2", { text: "Blocks" }), list(blocks, store, does.open));
  }
  const things = store.of("features").concat(store.of("strips"), store.of("plots"));
  const trees = store.of("keep_trees");
  if (things.length || trees.length) {
    const more = el("details", { class: "close" }, el("summary", { text: "What else is drawn: " + counted(things, trees) }));
    more.addEventListener("toggle", function () {
      if (more.open && more.children.length === 1) more.append(list(things.concat(trees.slice(0, 300)), store, does.open), trees.length > 300 && el("p", { class: "quiet", text: "The other trees open with a tap on the map." }));
    });
    card.append(more);
  }
  card.append(el("h2", { text: "What the tool makes of it" }), known(), el("h2", { text: "The plan" }), job());
  card.append(el("h2", { text: "The log" }), el("p", { text: "What was really done, as the record and for the next plan." }), button("Log work", does.log, { class: "wide", id: "log-work" }));
  card.append(more(does));
  return card;
}

function lead(store, blocks) {
  if (!blocks.length) return "Start with the blocks: patches of land that shall become one thing. Trees, water, roads and lines come after; each counts for where and how the work is done.";
  const unsaid = blocks.filter(function (row) { return !row.own.goal; });
  const trees = plural(store.of("keep_trees").length, "keep tree"), plots = store.of("plots").length;
  const all = "On the map: " + trees + (plots ? ", " + plural(plots, "sample plot") : "") + ".";
  return all + (unsaid.length ? " Nobody has said yet what " + (unsaid.length === 1 ? nameOf(unsaid[0], {}) : plural(unsaid.length, "block")) + " shall become: tap one to say so." : "");
}

function list(rows, store, open) {
  return el("ul", { class: "list" }, rows.map(function (row) {
    const tool = toolFor(row), what = row.wrong || !row.shape ? "it has no shape that can be shown" : row.layer === "blocks" ? row.own.goal ? "to become " + words(store, row) : "not said yet what it shall become" : tool ? tool.word.toLowerCase() : "";
    return el("li", {}, el("button", { type: "button", class: "row", "data-open": row.uid, on: { click: function () { open(row.uid, true); } } },
      el("span", { class: "name", text: nameOf(row, store.speciesWords) }), el("span", { class: "n", text: row.shape ? sizeOf(row, store.us) : "" }),
      el("span", { class: "sub", text: what })));
  }));
}

function words(store, row) {
  const field = store.forms.blocks.find(function (each) { return each.column === "goal"; });
  const pair = field.choices.find(function (each) { return each[0] === row.own.goal; });
  return pair ? pair[1] : row.own.goal;
}

function counted(things, trees) {
  return plural(things.length + trees.length, "shape");
}

function more(does) {
  const box = el("details", { class: "close" }, el("summary", { text: "Earlier versions and the photo" }));
  box.addEventListener("toggle", async function () {
    if (!box.open || box.children.length > 1) return;
    const found = await does.earlier();
    box.append(el("p", { class: "quiet", text: "The land as it was before a stroke. Bringing one back is a stroke that can be taken back, too." }),
      el("ul", { class: "list" }, found.slice(0, 12).map(function (pair) { return el("li", {}, el("button", { type: "button", class: "row", on: { click: function () { does.bringBack(pair[0]); } } }, el("span", { class: "name", text: "As it was at " + pair[1] }))); })),
      !found.length && el("p", { text: "There is none yet." }),
      does.pins && button("Place the photo anew", does.pins, { class: "wide" }));
  });
  return box;
}

export function showCard(card) {
  const old = find("card");
  const open = Array.from(old.querySelectorAll("details[open] > summary")).map(signOf);
  const same = old.querySelector("h1,h2.big"), next = card.querySelector("h1,h2.big");
  const stays = same && next && same.tagName === next.tagName && old.dataset.of === card.dataset.of;
  const top = find("scroll").scrollTop, had = old.contains(document.activeElement) ? placeOf(old, document.activeElement) : null;
  old.replaceWith(card);
  if (!stays) {
    find("scroll").scrollTop = 0;
    if (next && (had || document.activeElement === document.body)) next.focus({ preventScroll: true });
    return;
  }
  card.querySelectorAll("details").forEach(function (each) { if (open.includes(signOf(each.querySelector("summary")))) each.open = true; });
  find("scroll").scrollTop = top;
  const again = had && foundAt(card, had);
  if (again) again.focus({ preventScroll: true });
}

/* What makes a control the same one in a card that was made anew: its mark, else its words without figures. */
function signOf(control) {
  const data = control.dataset, mark = control.id || data.tool || data.open || data.more || data.less || data.species || data.shows || data.year;
  return control.tagName + "|" + (mark || (control.getAttribute("aria-label") || control.textContent).replace(/[\d,.]+/g, ""));
}

function placeOf(card, control) {
  const sign = signOf(control), alike = Array.from(card.querySelectorAll(control.tagName)).filter(function (each) { return signOf(each) === sign; });
  return { tag: control.tagName, sign: sign, number: alike.indexOf(control) };
}

function foundAt(card, had) {
  const alike = Array.from(card.querySelectorAll(had.tag)).filter(function (each) { return signOf(each) === had.sign; });
  return alike[Math.min(had.number, alike.length - 1)] || card.querySelector("h1,h2.big");
}

/* Notices: what the cleaning changed, what others did, what went wrong. */
export function notice(key, words, acts, urgent, closed) {
  const box = find("notices"), old = box.querySelector('[data-key="' + CSS.escape(key) + '"]');
  if (old) old.leave();
  if (!words) return;
  const made = el("div", { class: "notice" + (urgent ? " urgent" : ""), "data-key": key }, [].concat(words).map(function (line) { return el("p", { text: line }); }),
    el("div", { class: "row-of" }, (acts || []).map(function (act) { return button(act[0], function () { made.leave(); act[1](); }); }), button("Close", function () { made.leave(); })));
  made.leave = function () {
    made.remove();
    if (closed) closed();
  };
  box.append(made);
}

