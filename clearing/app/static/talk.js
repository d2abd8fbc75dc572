/* Talk with the program that keeps the drawing: one stroke after another, each until it is saved. */

class Said extends Error {
  constructor(problems, status) {
    super(problems.join(" "));
    this.problems = problems;
    this.status = status;
  }
}

const AWAY = "The program that keeps your drawing does not answer. If its window was closed, start 'clearing draw' again and open the address it tells; your last strokes wait here.";

async function answer(path, options) {
  let reply;
  try {
    reply = await fetch(path, options);
  } catch (lost) {
    throw new Said([AWAY], 0);
  }
  let body = {};
  try {
    body = await reply.json();
  } catch (none) {
    body = { problems: [reply.status === 403 ? "The program that keeps your drawing was started anew. Open the address that it tells where 'clearing draw' runs; your last strokes wait here." : AWAY] };
  }
  if (!reply.ok) throw new Said(body.problems || [AWAY], reply.status);
  return body;
}

export function ask(path) {
  return answer(path, { cache: "no-store" });
}

export function tell(path, body) {
  return answer(path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
}

/* Whether a stroke may have been kept all the same, or will be once the program is back. */
export function away(wrong) {
  return wrong.status === 0 || wrong.status === 403;
}

export function newName() {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return Array.from(bytes, function (b) { return b.toString(16).padStart(2, "0"); }).join("");
}

const KEPT = "strokes-in-hand:";

/* Strokes wait in one line and go out one at a time, as data: what is written down here outlives the
   page. One whose answer was lost is asked for again under its own name, so that it is never done twice.

   fill(draft) gives the stroke as it goes out (or null when its shape is gone), taken(delta, draft) takes
   what came of it, before the next one is filled; both come from sending.js. */
export class Strokes {
  constructor(page, told) {
    Object.assign(this, { page: page, told: told, line: [], busy: false, sitting: "", fill: null, taken: null });
  }

  send(draft) {
    const strokes = this;
    return new Promise(function (done, failed) {
      strokes.line.push({ op: newName(), draft: draft, done: done, failed: failed });
      strokes.keep();
      strokes.go();
    });
  }

  get waiting() {
    return this.line.length;
  }

  async go() {
    if (this.busy || !this.line.length) return;
    this.busy = true;
    const next = this.line[0];
    let delta = null, wrong = null;
    try {
      const stroke = this.fill(next.draft);
      if (stroke) {
        this.told("saving", "");
        delta = await this.until(Object.assign({ op: next.op, page: this.page, sitting: this.sitting }, stroke));
      }
    } catch (cause) {
      wrong = cause.problems ? cause : new Said([String(cause)], -1);
    }
    this.line.shift();
    this.keep();
    if (wrong) this.told("trouble", wrong.message);
    else if (delta) {
      this.told("saved", "");
      try {
        this.taken(delta, next.draft);
      } catch (cause) { /* it is saved; what is shown comes right with the next news */
        console.error(cause);
      }
    }
    this.busy = false;
    if (wrong) next.failed(wrong);
    else next.done(delta);
    this.go();
  }

  async until(stroke) {
    for (let pause = 300; ; pause = Math.min(pause * 2, 4000)) {
      try {
        return await tell("/stroke", stroke);
      } catch (wrong) {
        if (!away(wrong)) throw wrong;
        this.told("away", wrong.message);
        await new Promise(function (on) { setTimeout(on, pause); });
      }
    }
  }

  keep() {
    const line = this.line.map(function (each) { return { op: each.op, draft: each.draft }; });
    try {
      if (line.length) localStorage.setItem(KEPT + this.page, JSON.stringify({ sitting: this.sitting, line: line }));
      else localStorage.removeItem(KEPT + this.page);
    } catch (none) { /* a browser that keeps nothing: the strokes in hand are all that can be lost */ }
  }

  /* What a page that is gone left in its line: [[sitting, line], ...]; it is taken over once. */
  left() {
    const found = [];
    try {
      Object.keys(localStorage).filter(function (name) { return name.startsWith(KEPT); }).forEach(function (name) {
        const kept = JSON.parse(localStorage.getItem(name));
        localStorage.removeItem(name);
        found.push(kept);
      });
    } catch (none) { /* as above */ }
    return found;
  }

  /* Strokes of this sitting go out under their own names: what was done already is not done again. */
  again(line) {
    const strokes = this;
    line.forEach(function (each) { strokes.line.push({ op: each.op, draft: each.draft, done: function () {}, failed: function () {} }); });
    this.keep();
    this.go();
  }
}
