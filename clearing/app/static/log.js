/* The season's log: type what was done, see what is written down, correct it. */
import { el, button, find, sentence } from "./build.js";
import { ask, tell, away } from "./talk.js";

const FIRST_SHOWN = 12; /* rows before "all of them" */
const IN_HAND = "log-in-hand"; /* an entry on its way: it outlives a page or a program that is closed */

export class LogBook {
  constructor(does) {
    Object.assign(this, { does: does, box: null, known: null, form: null, entry: "", replaces: null, lost: null, busy: false });
  }

  get shown() {
    return Boolean(this.box && this.box.isConnected);
  }

  /* half a line typed is kept while another card is looked at */
  async open(place) {
    if (!this.box) this.box = el("section", { class: "view", id: "card" }, el("h2", { class: "big", tabIndex: -1, text: "Log" }), el("p", { text: "Opening\u2026" }));
    if (!(await this.look())) return;
    if (!this.form) this.build();
    this.list();
    const turned = this.replaces || this.lost ? "" : this.form.fresh();
    if (turned) this.said.textContent = turned;
    if (place && !this.replaces && (this.known.asked.places || []).some(function (one) { return one[0] === place; })) this.form.set("strip_id", place);
  }

  async look() {
    try {
      this.known = await ask("/log");
      return true;
    } catch (wrong) {
      if (!this.form) this.box.replaceChildren(button("\u2190 The whole place", this.does.back, { class: "back" }), el("h2", { class: "big", tabIndex: -1, text: "The log cannot be opened yet" }), el("ul", { class: "plain" }, wrong.problems.map(function (line) { return el("li", { text: sentence(line) }); })));
      else this.say(wrong.problems, true);
      return false;
    }
  }

  build() {
    const known = this.known;
    this.form = logForm(known.asked, {});
    this.title = el("h2", { class: "big", id: "log-title", tabIndex: -1 });
    this.said = el("p", { id: "log-said", role: "status" });
    this.wrong = el("div", { id: "log-wrong", role: "alert" });
    this.keep = button("", () => this.save(), { id: "log-keep", class: "strong" });
    this.stop = button("Leave it as it was", () => this.begin(null), { id: "log-stop" });
    this.rows = el("div", { id: "log-rows" });
    this.box.replaceChildren(button("\u2190 The whole place", this.does.back, { class: "back" }), this.title, this.said, this.form.box, this.wrong, el("div", { class: "log-do" }, this.keep, this.stop), this.rows);
    this.begin(null);
    this.takeUp();
  }

  hold(cells) {
    try {
      if (cells) localStorage.setItem(IN_HAND, JSON.stringify({ of: this.does.name(), entry: this.entry, replaces: this.replaces, cells: cells }));
      else localStorage.removeItem(IN_HAND);
    } catch (none) { /* a browser that keeps nothing: the form has it while the page is open */ }
  }

  takeUp() {
    let held = null;
    try {
      held = JSON.parse(localStorage.getItem(IN_HAND));
    } catch (none) { return; }
    if (!held || held.of !== this.does.name()) return;
    this.begin(held.replaces);
    this.form.fill(held.cells);
    Object.assign(this, { entry: held.entry, lost: held.cells });
    this.said.textContent = "This was sent and not answered when the page was closed. Press to send it again: it is written once.";
  }

  /* A new row, or one that takes the place of a row. */
  begin(row) {
    this.replaces = row;
    this.entry = logKey();
    this.lost = null;
    this.form.fill(row ? row.cells : { date: logToday() });
    this.title.textContent = row ? "Correct entry " + row.id : "Log work";
    this.keep.textContent = row ? "Write the correction" : "Write it down";
    this.stop.hidden = !row;
    this.said.textContent = row ? "The old row stays in records.csv; this one counts in its place." : "";
    this.wrong.replaceChildren();
    if (this.shown) {
      find("scroll").scrollTop = 0;
      this.title.focus({ preventScroll: true });
    }
  }

  /* One that was sent and not answered goes out again under its own key, so that it stands once; what
     was changed meanwhile becomes a correction of it, if it had arrived. */
  async save() {
    if (this.busy) return;
    const cells = this.form.cells(), missing = logProblems(this.known.asked, cells), words = logWords(this.known.asked, cells)[0];
    this.wrong.replaceChildren();
    this.form.say(missing);
    if (missing.length) {
      this.said.textContent = "Not written yet: " + (missing.length === 1 ? "one field wants" : missing.length + " fields want") + " another look.";
      return;
    }
    if (this.form.asks(() => this.save())) {
      this.said.textContent = "Not written yet: there is a question beside the herbicide.";
      return;
    }
    this.busy = true;
    this.said.textContent = "Writing it down\u2026";
    try {
      let replaces = this.replaces ? this.replaces.id : "";
      if (this.lost && JSON.stringify(this.lost) !== JSON.stringify(cells)) {
        const there = (await ask("/log")).taken[this.entry];
        if (there) {
          replaces = there;
          this.entry = logKey();
        }
        this.lost = null;
      }
      this.hold(cells);
      await tell("/log/add", { entry: this.entry, replaces: replaces, cells: cells });
      this.hold(null);
      this.begin(null);
      const day = this.form.day(cells.date);
      this.form.set("date", day[0]);
      this.said.textContent = "Written down: " + words + "." + day[1];
      if (await this.look()) this.list();
    } catch (wrong) {
      if (away(wrong)) this.lost = cells;
      else this.hold(null);
      this.said.textContent = "";
      if (wrong.status && !away(wrong) && await this.offerLater(wrong.problems)) {
        this.busy = false;
        return;
      }
      this.say(!wrong.problems ? ["The page met a fault of its own; see in the list below whether this is written down, and open the page anew."] : away(wrong) ? ["There was no answer, so nobody knows whether this was written down. Press again: it is written once."].concat(wrong.problems) : wrong.problems, away(wrong));
    }
    this.busy = false;
  }

  /* The entry was corrected elsewhere meanwhile: the one that counts now can be looked at, or corrected by this. */
  async offerLater(problems) {
    const old = this.replaces && this.replaces.id, book = this;
    if (!old || !(await this.look())) return false;
    const now = this.known.later[old], row = now && this.known.rows.find(function (one) { return one.id === now; });
    if (!row) return false;
    this.list();
    const others = problems.filter(function (line) { return !line.includes("'replaces'"); });
    this.say(others);
    this.wrong.prepend(el("p", { class: "wrong", text: "Entry " + old + " was corrected meanwhile: entry " + now + " counts in its place (" + logWords(this.known.asked, row.cells).join("; ") + ")." }),
      el("div", { class: "log-do" },
        button("Correct entry " + now, function () { book.begin(row); }, { id: "log-later" }),
        button("Write mine in place of entry " + now, function () {
          book.replaces = row;
          book.title.textContent = "Correct entry " + now;
          book.save();
        }, { id: "log-mine" })));
    return true;
  }

  /* A problem stands beside its field; one of no field stands above the button. */
  say(problems, general) {
    const columns = this.known.asked.fields.map(function (field) { return field[0]; });
    const beside = problems.map(function (line) {
      const named = general ? [] : Array.from(line.matchAll(/'(\w+)'/g), function (found) { return found[1]; });
      const column = named.map(function (name) { return columns.find(function (one) { return one === name || one === name + "_id" || one.replace(/_[a-z]+$/, "") === name.replace(/_[a-z]+$/, ""); }); }).find(Boolean);
      return [column || "", sentence(line.replace(/^records: /, ""))];
    });
    this.form.say(beside);
    this.wrong.replaceChildren(...beside.filter(function (pair) { return !pair[0]; }).map(function (pair) { return el("p", { class: "wrong", text: pair[1] }); }));
  }

  list() {
    const known = this.known, made = [], book = this;
    if (known.faults.length) made.push(el("h3", { text: "Set aside" }), el("ul", { class: "plain", id: "log-faults" }, known.faults.map(function (line) { return el("li", { text: sentence(line) }); })));
    made.push(el("h3", { text: known.rows.length ? "What is written down" : "Nothing is written down yet" }));
    function rows(part) {
      return el("ul", { class: "log-list" }, part.map(function (row) {
        const words = logWords(known.asked, row.cells);
        return el("li", { "data-row": row.id }, el("p", { class: "name", dir: "auto", text: words[0] }), el("p", { class: "sub", dir: "auto", text: words[1] }),
          button("Correct this entry", function () { book.begin(row); }, { "aria-label": "Correct entry " + row.id + ": " + words[0] }));
      }));
    }
    made.push(rows(known.rows.slice(0, FIRST_SHOWN)));
    if (known.rows.length > FIRST_SHOWN) made.push(el("details", { class: "close" }, el("summary", { text: "The earlier ones: " + (known.rows.length - FIRST_SHOWN) }), rows(known.rows.slice(FIRST_SHOWN))));
    this.rows.replaceChildren(...made);
  }
}
