/* Count stems at a plot: large buttons, each tap saved at once. */
import { el, button } from "./build.js";

/* A plot is visited again after the work: what stood is dead, sprouts again, or came up new. */
const STATES = [["live", "Live"], ["dead", "Dead"], ["resprout", "Sprouts again"], ["new", "Came up new"]];

export function tallyCard(store, row, state, does) {
  const plot = row.own.plot_id;
  const card = el("section", { class: "view tally", id: "card" },
    button("\u2190 Plot " + plot, does.back, { class: "back" }),
    el("h2", { class: "big", tabIndex: -1, text: "Plot " + plot + ": " + total(ofDay(state.rows, state.date)) }));
  const before = Array.from(new Set(state.rows.map(function (each) { return each.date; }))).filter(function (day) { return day && day !== state.date; }).sort();
  if (before.length) card.append(el("p", { class: "quiet", id: "tally-days", text: "Counted before: " + before.map(function (day) { return total(state.rows.filter(function (each) { return each.date === day; })) + " on " + day; }).join("; ") + "." }));
  const pick = el("div", { class: "pick", role: "radiogroup", "aria-label": "Species" });
  const others = Array.from(new Set(state.rows.map(function (each) { return each.species; }))).filter(Boolean);
  Array.from(new Set(store.targets.concat(others, state.species ? [state.species] : []))).forEach(function (key) {
    pick.append(el("button", { type: "button", role: "radio", "aria-checked": String(key === state.species), "data-species": key, text: store.speciesWords[key] || key.replace(/_/g, " "), on: { click: function () { does.set({ species: key }); } } }));
  });
  card.append(pick);
  const other = el("input", { type: "text", id: "other-species", list: "species-list", autocomplete: "off", placeholder: "another species", "aria-label": "Another species", on: { change: function () { if (other.value.trim()) does.set({ species: store.speciesKey(other.value) }); } } });
  const keep = el("label", { class: "check" }, el("input", { type: "checkbox", checked: state.keep, on: { change: function (event) { does.set({ keep: event.target.checked }); } } }), "These trees stay");
  card.append(el("div", { class: "row-of" }, other, keep));
  const status = el("select", { id: "tally-status", on: { change: function () { does.set({ status: status.value }); } } }, STATES.map(function (pair) { return el("option", { value: pair[0], text: pair[1], selected: pair[0] === state.status }); }));
  const day = el("input", { type: "date", id: "tally-date", value: state.date, on: { change: function () { if (day.value) does.set({ date: day.value, dayChosen: true }); } } });
  card.append(el("div", { class: "visit log-form" }, el("label", { htmlFor: "tally-status", text: "They are" }), el("label", { htmlFor: "tally-date", text: "Day" }), status, day));
  if (state.status === "dead" || state.status === "resprout") card.append(el("p", { class: "quiet", id: "tally-size-says", text: "Count each by the size of the stem that stood there, small ones on the small plot as before." }));
  const more = Object.assign({ keep: state.keep ? "yes" : "" }, state.status === "live" ? {} : { status: state.status });
  const taps = el("ul", { class: "taps" });
  store.sizes.forEach(function (size) {
    const word = size[0].charAt(0).toUpperCase() + size[0].slice(1);
    const stem = Object.assign({ species: state.species, size: size[0] }, more), there = held(state.rows, stem, state.date);
    taps.append(el("li", {}, el("span", {}, el("b", { text: word }), el("span", { class: "quiet", text: size[1] === size[0] ? "under breast height" : size[1] })),
      button("\u2212", function () { does.count(Object.assign({ date: state.date }, stem), -1); }, { "aria-label": "One " + size[0] + " less", disabled: !there || !state.species, "data-less": size[0] }),
      el("output", { "data-count": size[0], text: String(there) }),
      button("+", function () { does.count(Object.assign({ date: state.date }, stem), 1); }, { "aria-label": "One " + size[0] + " more", disabled: !state.species, class: "strong", "data-more": size[0] })));
  });
  card.append(taps);
  const unit = store.us ? "dbh_in" : "dbh_cm";
  const thick = el("input", { type: "text", inputMode: "decimal", id: "tally-dbh", autocomplete: "off", "aria-label": "Diameter at breast height in " + (store.us ? "inches" : "centimeters"), placeholder: store.us ? "inches" : "cm" });
  card.append(el("div", { class: "row-of" }, el("span", { text: "By tape:" }), thick, button("Add one", function () {
    if (thick.value.trim()) does.count(Object.assign({ species: state.species, [unit]: thick.value.trim(), date: state.date }, more), 1);
  }, { disabled: !state.species })));
  card.append(el("p", { class: "wrong", id: "tally-wrong", role: "alert", text: state.wrong || "", hidden: !state.wrong }));
  card.append(rowsOf(store, state.rows, does));
  /* A later visit that finds nothing is a row of its own: without it nobody would know of the visit. */
  if (before.some(function (day) { return day < state.date; }) || state.status !== "live") {
    const own = state.rows.filter(function (each) { return each.date === state.date; }), species = store.targets[0] || state.species;
    card.append(el("p", { class: "quiet", id: "tally-nothing-says", text: own.length && !own.some(function (each) { return Number(each.count); }) ? "It is written down that nothing was found on " + state.date + "." : "When this visit finds no stem, living or dead, write that down, too." }),
      button("Nothing found", function () { does.count({ species: species, status: "live", date: state.date }, 0); }, { id: "tally-nothing", class: "wide", disabled: Boolean(own.length) || !species }));
  }
  card.append(el("p", { class: "quiet", text: "A plot with nothing in it is a count, too: mark that somebody stood there." }), button("Nothing grows here", does.nothing, { class: "wide", disabled: row.own.visited === "yes" }));
  return card;
}

function total(rows) {
  const sum = rows.reduce(function (all, row) { return all + (Number(row.count) || 0); }, 0);
  return sum === 1 ? "1 stem" : sum + " stems";
}

/* The rows of one visit; a row without a day belongs to every one, as in the file. */
function ofDay(rows, day) {
  return rows.filter(function (row) { return !row.date || row.date === day; });
}

function held(rows, stem, day) {
  return ofDay(rows, day).reduce(function (sum, row) {
    const fits = row.species === stem.species && (row.size || "") === stem.size && /^(yes|true|1)$/i.test(row.keep || "") === Boolean(stem.keep) && (row.status || "live") === (stem.status || "live");
    return sum + (fits ? Number(row.count) || 0 : 0);
  }, 0);
}

function rowsOf(store, rows, does) {
  const body = el("tbody");
  rows.forEach(function (row) {
    const name = store.speciesWords[row.species] || row.species, how = row.size || (row.dbh_in ? row.dbh_in + " in" : row.dbh_cm ? row.dbh_cm + " cm" : "");
    const stem = Object.fromEntries(["species", "size", "dbh_in", "dbh_cm", "keep", "status", "date"].filter(function (k) { return row[k]; }).map(function (k) { return [k, row[k]]; }));
    const kept = /^(yes|true|1)$/i.test(row.keep || "");
    body.append(el("tr", {}, el("th", { scope: "row", text: name + (kept ? ", stays" : "") + (row.status && row.status !== "live" ? ", " + (STATES.find(function (pair) { return pair[0] === row.status; }) || ["", row.status])[1].toLowerCase() : "") + (row.date ? ", " + row.date : "") }), el("td", { text: how }), el("td", { class: "n", text: row.count }),
      el("td", { class: "n" }, how && button("\u2212", function () { does.count(stem, -1); }, { "aria-label": "One less of " + name + " " + how }), how && button("+", function () { does.count(stem, 1); }, { "aria-label": "One more of " + name + " " + how }))));
  });
  return el("details", { class: "close" }, el("summary", { text: "All that is counted here" }), el("table", { class: "rows" }, body));
}
