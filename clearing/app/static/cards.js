/* The card of a shape: what it is, what the owner says of it, what can be done with it. */
import { el, button } from "./build.js";
import { idOf, nameOf, sample, toolFor, LAYER_WORD, TOOLS } from "./signs.js";
import { sizeOf } from "./measure.js";

/* What is asked first; the rest waits under "More". */
const FIRST = {
  blocks: ["name", "goal", "brush", "density_guess", "ground", "wet", "stock"],
  strips: ["name"], keep_trees: ["species", "dbh_in", "dbh_cm", "crown_ft", "crown_m"],
  features: ["name", "setback_ft", "setback_m"], plots: ["visited", "radius_ft", "radius_m"]
};

export function shapeCard(store, row, does) {
  const tool = toolFor(row), area = row.layer === "blocks" || row.layer === "strips";
  const kind = row.layer === "features" && tool ? tool.word : LAYER_WORD[row.layer];
  const name = nameOf(row, store.speciesWords), known = kind + " " + idOf(row);
  const card = el("section", { class: "view", id: "card" },
    button("\u2190 The whole place", does.back, { class: "back" }),
    name.toLowerCase() !== known.trim().toLowerCase() && el("p", { class: "place", text: known.trim() }),
    el("h2", { class: "big", tabIndex: -1, text: name }),
    el("p", { class: "lead", id: "card-size", text: row.shape ? sizeOf(row, store.us) : "" })
  );
  if (!row.shape) card.append(el("p", { class: "wrong", text: row.wrong || "It has no shape yet." }), button("Draw its shape", does.reshape, { class: "wide strong", id: "reshape" }));
  if (area && row.shape) card.append(button("Log work here", does.log, { class: "wide", id: "log-work" }));
  if (row.layer === "plots") card.append(button("Count stems here", does.tally, { class: "wide strong" }));
  const form = store.forms[row.layer].filter(function (field) { return !field.other || row.own[field.column]; });
  const first = FIRST[row.layer].map(function (column) { return form.find(function (field) { return field.column === column; }); }).filter(Boolean);
  const rest = form.filter(function (field) { return !first.includes(field) && !(row.layer === "strips" && field.column === "block_id"); });
  first.forEach(function (field) { card.append(fieldOf(store, row, field, does.say)); });
  if (rest.length) card.append(el("details", {}, el("summary", { text: "More about it" }), rest.map(function (field) { return fieldOf(store, row, field, does.say); })));
  const doing = el("div", { class: "doing" });
  if (row.shape && row.shape.type !== "Point") doing.append(el("p", { class: "quiet", text: "Drag a corner to move it; a small dot makes a new one. Tap a corner, then take it out." }), button("Take out this corner", does.takeOut, { id: "take-out", disabled: true }));
  if (row.shape && row.shape.type === "Point") doing.append(el("p", { class: "quiet", text: "Drag it to move it." }));
  if (area && row.shape) doing.append(button("Split with a line", does.split, { id: "split" }), button("Join with a neighbor", does.join, { id: "join" }));
  doing.append(button("Delete " + name, does.remove, { id: "delete", class: "warn" }));
  card.append(doing);
  return card;
}

/* One field: its label, what the column is for, and what was wrong with what was typed. */
function fieldOf(store, row, field, say) {
  const id = "field-" + field.column, value = row.own[field.column] || "";
  const wrong = el("p", { class: "wrong", id: id + "-wrong", role: "alert", hidden: true });
  const common = { id: id, "aria-describedby": id + "-says " + id + "-wrong", "data-column": field.column };
  const control = controlOf(store, field, value, common);
  control.addEventListener("change", async function () {
    const text = field.kind === "species" ? store.speciesKey(control.value) : control.value;
    wrong.hidden = true;
    control.removeAttribute("aria-invalid");
    try {
      await say({ [field.column]: text });
    } catch (refused) {
      wrong.textContent = refused.message;
      wrong.hidden = false;
      control.setAttribute("aria-invalid", "true");
    }
  });
  return el("div", { class: "field" },
    el("label", { htmlFor: id, text: field.label + (field.unit ? " (" + field.unit + ")" : "") }), control,
    el("p", { class: "quiet", id: id + "-says", text: field.says }), wrong);
}

function controlOf(store, field, value, common) {
  if (field.kind === "choice" || field.kind === "yes_no") {
    const choices = field.kind === "yes_no" ? [["yes", "yes"], ["no", "no"]] : field.choices;
    const given = choices.some(function (pair) { return pair[0] === value; });
    return el("select", common, el("option", { value: "", text: field.required ? "" : "not said", selected: !value }),
      choices.map(function (pair) { return el("option", { value: pair[0], text: pair[1], selected: pair[0] === value }); }),
      value && !given && el("option", { value: value, text: value, selected: true }));
  }
  if (field.kind === "species") return el("input", Object.assign({ type: "text", value: store.speciesWords[value] || value, list: "species-list", autocomplete: "off" }, common));
  if (field.kind === "number" || field.kind === "integer") return el("input", Object.assign({ type: "text", inputMode: field.kind === "integer" ? "numeric" : "decimal", value: value, autocomplete: "off" }, common));
  if (field.column === "notes") return el("textarea", Object.assign({ value: value, rows: 3 }, common));
  return el("input", Object.assign({ type: "text", value: value, autocomplete: "off", maxLength: 2000 }, common));
}

export function toolList(list, draw) {
  return el("ul", { class: "tool-list" }, list.map(function (tool) {
    return el("li", {}, button("", function () { draw(tool); }, { class: "tool", "data-tool": tool.key, markup: sample(tool.key) + "<span>" + tool.word + "</span>" }));
  }));
}

export function toolCard(store, stroke, last, does) {
  const tool = stroke.tool, point = tool.as === "point";
  const card = el("section", { class: "view", id: "card" },
    el("h2", { class: "big", tabIndex: -1, text: tool.card || tool.word }),
    el("p", { class: "lead", text: tool.how }));
  if (tool.key === "tree") {
    ["species", store.us ? "dbh_in" : "dbh_cm"].forEach(function (column) {
      const field = store.forms.keep_trees.find(function (each) { return each.column === column; });
      card.append(fieldOf(store, { own: last.tree }, field, async function (own) { Object.assign(last.tree, own); }));
    });
  }
  if (!point) card.append(el("label", { class: "check" }, el("input", { type: "checkbox", checked: stroke.snaps, on: { change: function (event) { stroke.snaps = event.target.checked; } } }), "Catch corners and edges that are near"));
  card.append(el("p", { class: "quiet", text: "Without a mouse: tap Tab until the map has its frame, move it with the arrow keys, and press Enter to set " + (point ? "one" : "a corner") + " at the cross." }));
  if (does.describe) card.append(button("Describe " + does.describe.name, does.describe.work, { class: "wide", id: "describe" }));
  if (does.draw) card.append(el("details", { class: "close", open: true }, el("summary", { text: "Draw something else" }), toolList(TOOLS.filter(function (each) { return each.key !== tool.key; }), does.draw)));
  return card;
}
