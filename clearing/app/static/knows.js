/* What the tool makes of the land: strips and zones, stems, the plan's colors by year, the plan's making. */
import { el, button, plural, sentence } from "./build.js";
import { ask, tell } from "./talk.js";
import { notice } from "./panel.js";

export class Knows {
  constructor(map, ground, changed) {
    Object.assign(this, { map: map, ground: ground, changed: changed, known: null, said: [], plan: null, job: {}, year: 0, looking: false, shows: { strips: false, zones: false, plan: false } });
    this.layer = L.layerGroup().addTo(map);
  }

  /* The card's part on strips, zones and stems. */
  card() {
    const box = el("div", { id: "known" });
    this.said.forEach(function (line) { box.append(el("p", { class: "quiet", text: sentence(line) })); });
    if (!this.known) {
      box.append(el("p", { text: "How the blocks are cut into strips for a crew, where which rules hold, how many stems there are so far." }),
        button(this.looking ? "Looking\u2026" : "Look", () => this.look(), { class: "wide", id: "look", disabled: this.looking }));
      return box;
    }
    const known = this.known;
    if (known.problems.length) {
      box.append(el("p", { text: "Before it can say more:" }), lines(known.problems));
    } else {
      const whole = known.stems.filter(function (each) { return !each.block_id; }), blocks = known.stems.filter(function (each) { return each.block_id; });
      (whole.length ? whole : blocks).forEach(function (each) { box.append(el("p", { text: sentence(each.words) })); });
      if (whole.length && blocks.length) box.append(el("details", { class: "close" }, el("summary", { text: "Block by block" }), lines(blocks.map(function (each) { return each.words + (each.basis ? ", " + each.basis : ""); }))));
      box.append(this.box("strips", "Show strips (" + known.strips.length + ")"), this.box("zones", "Show where rules hold"));
      const notes = (known.notes || []).concat(known.left || []);
      if (notes.length) box.append(el("details", { class: "close" }, el("summary", { text: plural(notes.length, "remark") + " on the ground" }), lines(notes)));
    }
    box.append(button(this.looking ? "Looking\u2026" : this.old ? "Look again: the land has changed" : "Look again", () => this.look(), { class: "wide", id: "look", disabled: this.looking }));
    return box;
  }

  /* Remarks on what lies around the drawn things, such as a property line that does not close. */
  heardAround(found) {
    const said = (found.line_note ? [found.line_note] : []).concat(found.notes || []);
    if (said.join() === this.said.join()) return;
    this.said = said;
    this.changed();
  }

  /* The card's part on the plan: making one, its years, the map. */
  planCard(has) {
    const box = el("div", { id: "planned" }), job = this.job;
    if (job.running) {
      box.append(el("p", { class: "hand", role: "status", text: sentence((job.room_words || job.room || "starting") + (job.near ? ", " + job.near : "")) + " " + Math.round(job.seconds || 0) + " s so far." }),
        el("progress", { max: job.steps || 1, value: job.step || 0, "aria-label": "How far the plan is" }), button("Take the best so far", () => this.make("stop"), { class: "wide", id: "plan-stop" }));
      return box;
    }
    if (job.problems && job.problems.length) box.append(el("p", { text: "No plan yet:" }), lines(job.problems));
    if (job.reasons && job.reasons.length) box.append(el("p", { text: "No plan fits:" }), lines(job.reasons));
    if (has && this.plan && this.plan.years) {
      box.append(el("p", { text: sentence(this.plan.headline || "") }));
      if ((this.plan.stale || []).length) box.append(el("p", { class: "quiet", text: this.plan.stale.join(" ") }));
      box.append(this.box("plan", "Show the plan's years on the ground"));
      if (this.shows.plan) box.append(this.years());
    }
    if (has) box.append(el("a", { class: "as-button", href: "/out/map.html", target: "_blank", rel: "noopener", text: "Open the map" }), el("a", { class: "as-button", href: "/out/workplan.pdf", target: "_blank", rel: "noopener", text: "Open the work plan" }));
    box.append(button(has ? "Plan anew" : "Make a plan", () => this.make("start"), { class: "wide strong", id: "plan" }));
    box.append(el("p", { class: "quiet", text: "Crew, money, herbicides and wishes stand in property.toml. The label in your hand is the law; what it asks is not decided here." }));
    return box;
  }

  box(what, words) {
    return el("label", { class: "check" }, el("input", { type: "checkbox", checked: this.shows[what], "data-shows": what, on: { change: async (event) => {
      this.shows[what] = event.target.checked;
      this.show();
      this.changed();
    } } }), words);
  }

  years() {
    const row = el("div", { class: "rule", role: "group", "aria-label": "Year" });
    this.plan.years.forEach((year, n) => {
      row.append(button(String(year), () => { this.year = n; this.show(); this.changed(); }, { class: "year" + (n === this.year ? " on" : ""), "aria-pressed": String(n === this.year), "data-year": n }));
    });
    const states = new Set(this.plan.strips.map((strip) => strip.years[this.year][0])), key = el("ul", { class: "signs" });
    this.plan.signs.filter((sign) => states.has(sign.key)).forEach(function (sign) {
      const made = el("li");
      made.insertAdjacentHTML("afterbegin", '<svg width="30" height="20" aria-hidden="true"><rect x="1" y="1" width="28" height="18" class="swatch ' + (sign.outline === "dashed" ? "dashed" : "") + '"' + (sign.pattern !== "none" ? ' fill="url(#state-' + sign.key + ')"' : "") + "/></svg>");
      made.append(sign.words);
      key.append(made);
    });
    return el("div", {}, row, key);
  }

  async look() {
    this.looking = true;
    this.changed();
    try {
      this.known = await ask("/known");
      this.old = false;
    } catch (wrong) {
      this.known = { problems: wrong.problems, strips: [], zones: [] };
    }
    this.looking = false;
    this.show();
    this.changed();
  }

  async make(what) {
    try {
      const told = await tell("/plan", { do: what });
      this.heard(told.job, false);
    } catch (wrong) {
      notice("plan", wrong.problems);
    }
    this.changed();
  }

  /* News of the plan's making; a plan that was just finished is fetched and shown. */
  async heard(job, has) {
    const ended = this.job.running && !job.running, moved = JSON.stringify(job) !== JSON.stringify(this.job);
    this.job = job;
    if (has && (ended || !this.plan)) {
      try {
        const plan = await ask("/planned");
        this.plan = plan.years ? plan : { none: true, problems: plan.problems };
        if (ended && plan.years) {
          this.shows.plan = true;
          notice("plan", ["The plan is made. " + (plan.headline || "")], [["Open the map", function () { window.open("/out/map.html", "_blank", "noopener"); }]]);
        }
      } catch (wrong) {
        this.plan = { none: true };
      }
      this.show();
      this.changed();
    } else if (moved) this.changed();
  }

  stale() {
    if (this.known && !this.old) {
      this.old = true;
    }
  }

  show() {
    this.layer.clearLayers();
    const pen = { renderer: this.ground.renderers.known, pane: "known", interactive: false };
    const known = this.known && !this.known.problems.length ? this.known : null;
    if (known && this.shows.zones) known.zones.forEach((zone) => {
      L.polygon(zone.shape, Object.assign({ color: COLOURS("keep-out"), weight: 0.8, fillColor: "url(#keep-out)", fillOpacity: 0.9 }, pen)).addTo(this.layer);
    });
    if (this.plan && this.plan.years && this.shows.plan) this.plan.strips.forEach((strip) => {
      const state = strip.years[this.year][0], sign = this.plan.signs.find(function (each) { return each.key === state; }) || {};
      const style = { color: COLOURS("ink"), weight: 1.4, dashArray: sign.outline === "dashed" ? "7 7" : null, fillOpacity: 0 };
      if (sign.pattern && sign.pattern !== "none") Object.assign(style, { fillColor: "url(#state-" + state + ")", fillOpacity: 0.85 });
      L.polygon(strip.shape, Object.assign(style, pen)).addTo(this.layer);
    });
    if (known && this.shows.strips) known.strips.forEach((strip) => {
      L.polygon(strip.shape, Object.assign({ color: COLOURS("paper"), weight: 3, opacity: 0.7, fill: false }, pen)).addTo(this.layer);
      L.polygon(strip.shape, Object.assign({ color: COLOURS("ink"), weight: 1.3, dashArray: "5 4", fill: false }, pen)).addTo(this.layer);
    });
  }
}

function lines(list) {
  return el("ul", { class: "plain" }, list.map(function (line) { return el("li", { text: sentence(line) }); }));
}
