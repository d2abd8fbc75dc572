/* Count stems at a plot: large buttons, each tap saved at once. */
import { el, button } from "./build.js";

export function tallyCard(store, row, state, does) {
  const plot = row.own.plot_id;
  const card = el("section", { class: "view tally", id: "card" },
    button("\u2190 Plot " + plot, does.back, { class: "back" }),
    el("h2", { class: "big", tabIndex: -1, text: "Plot " + plot + ": " + total(state.rows) }));
  const pick = el("div", { class: "pick", role: "radiogroup", "aria-label": "Species" });
  const others = Array.from(new Set(state.rows.map(function (each) { return each.species; }))).filter(Boolean);
  Array.from(new Set(store.targets.concat(others, state.species ? [state.species] : []))).forEach(function (key) {
    pick.append(el("button", { type: "button", role: "radio", "aria-checked": String(key === state.species), "data-species": key, text: store.speciesWords[key] || key.replace(/_/g, " "), on: { click: function () { does.set({ species: key }); } } }));
  });
  card.append(pick);
  const other = el("input", { type: "text", id: "other-species", list: "species-list", autocomplete: "off", placeholder: "another species", "aria-label": "Another species", on: { change: function () { if (other.value.trim()) does.set({ species: store.speciesKey(other.value) }); } } });
  const keep = el("label", { class: "check" }, el("input", { type: "checkbox", checked: state.keep, on: { change: function (event) { does.set({ keep: event.target.checked }); } } }), "These trees stay");
  card.append(el("div", { class: "row-of" }, other, keep));
  const taps = el("ul", { class: "taps" });
  store.sizes.forEach(function (size) {
    const word = size[0].charAt(0).toUpperCase() + size[0].slice(1);
    const stem = { species: state.species, size: size[0], keep: state.keep ? "yes" : "" };
    taps.append(el("li", {}, el("span", {}, el("b", { text: word }), el("span", { class: "quiet", text: size[1] === size[0] ? "under breast height" : size[1] })),
      button("\u2212", function () { does.count(stem, -1); }, { "aria-label": "One " + size[0] + " less", disabled: !held(state.rows, stem) || !state.species, "data-less": size[0] }),
      el("output", { "data-count": size[0], text: String(held(state.rows, stem)) }),
      button("+", function () { does.count(stem, 1); }, { "aria-label": "One " + size[0] + " more", disabled: !state.species, class: "strong", "data-more": size[0] })));
  });
  card.append(taps);
  const unit = store.us ? "dbh_in" : "dbh_cm";
  const thick = el("input", { type: "text", inputMode: "decimal", id: "tally-dbh", autocomplete: "off", "aria-label": "Diameter at breast height in " + (store.us ? "inches" : "centimeters"), placeholder: store.us ? "inches" : "cm" });
  card.append(el("div", { class: "row-of" }, el("span", { text: "By tape:" }), thick, button("Add one", function () {
    if (thick.value.trim()) does.count({ species: state.species, [unit]: thick.value.trim(), keep: state.keep ? "yes" : "" }, 1);
  }, { disabled: !state.species })));
  card.append(el("p", { class: "wrong", id: "tally-wrong", role: "alert", text: state.wrong || "", hidden: !state.wrong }));
  card.append(rowsOf(store, state.rows, does));
  card.append(el("p", { class: "quiet", text: "A plot with nothing in it is a count, too: mark that somebody stood there." }), button("Nothing grows here", does.nothing, { class: "wide", disabled: row.own.visited === "yes" }));
  return card;
}

function total(rows) {
  const sum = rows.reduce(function (all, row) { return all + (Number(row.count) || 0); }, 0);
  return sum === 1 ? "1 stem" : sum + " stems";
}

function held(rows, stem) {
  return rows.reduce(function (sum, row) {
    const fits = row.species === stem.species && (row.size || "") === stem.size && /^(yes|true|1)$/i.test(row.keep || "") === Boolean(stem.keep) && (!row.status || row.status === "live");
    return sum + (fits ? Number(row.count) || 0 : 0);
  }, 0);
}

function rowsOf(store, rows, does) {
  const body = el("tbody");
  rows.forEach(function (row) {
    const name = store.speciesWords[row.species] || row.species, how = row.size || (row.dbh_in ? row.dbh_in + " in" : row.dbh_cm ? row.dbh_cm + " cm" : "");
    const stem = Object.fromEntries(["species", "size", "dbh_in", "dbh_cm", "keep", "status", "date"].filter(function (k) { return row[k]; }).map(function (k) { return [k, row[k]]; }));
    const kept = /^(yes|true|1)$/i.test(row.keep || "");
    body.append(el("tr", {}, el("th", { scope: "row", text: name + (kept ? ", stays" : "") + (row.status && row.status !== "live" ? ", " + row.status : "") }), el("td", { text: how }), el("td", { class: "n", text: row.count }),
      el("td", { class: "n" }, button("\u2212", function () { does.count(stem, -1); }, { "aria-label": "One less of " + name + " " + how }), button("+", function () { does.count(stem, 1); }, { "aria-label": "One more of " + name + " " + how }))));
  });
  return el("details", { class: "close" }, el("summary", { text: "All that is counted here" }), el("table", { class: "rows" }, body));
}
