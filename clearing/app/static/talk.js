/* Talk with the program that keeps the drawing: one stroke after another, each until it is saved. */

export class Said extends Error {
  constructor(problems, status) {
    super(problems.join(" "));
    this.problems = problems;
    this.status = status;
  }
}

const AWAY = "The program that keeps your drawing does not answer.";

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
    body = { problems: [reply.status === 403 ? "This window is an old one. Open the address that stands where 'clearing draw' runs." : AWAY] };
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

export function newName() {
  const bytes = crypto.getRandomValues(new Uint8Array(12));
  return Array.from(bytes, function (b) { return b.toString(16).padStart(2, "0"); }).join("");
}

const KEPT = "stroke-in-hand";

/* Strokes go out one at a time. One whose answer was lost is asked for again under its own name, so
   that it is never done twice; a reload in between asks for it again, too. */
export class Strokes {
  constructor(page, told) {
    this.page = page;
    this.told = told;
    this.line = [];
    this.busy = false;
  }

  /* make gives the stroke when its turn comes, so that it stands on what was saved before it. */
  send(make) {
    const strokes = this;
    return new Promise(function (done, failed) {
      strokes.line.push({ make: make, done: done, failed: failed });
      strokes.go();
    });
  }

  get waiting() {
    return this.line.length + (this.busy ? 1 : 0);
  }

  async go() {
    if (this.busy || !this.line.length) return;
    this.busy = true;
    const next = this.line.shift();
    try {
      const stroke = next.make();
      if (stroke === null) return next.done(null);
      this.told("saving", "");
      const reply = await this.until(Object.assign({ op: newName(), page: this.page }, stroke));
      this.told("saved", "");
      next.done(reply);
    } catch (wrong) {
      this.told("trouble", wrong.message);
      next.failed(wrong);
    } finally {
      this.busy = false;
      this.go();
    }
  }

  async until(stroke) {
    keep(JSON.stringify(stroke));
    for (let pause = 300; ; pause = Math.min(pause * 2, 5000)) {
      try {
        const reply = await tell("/stroke", stroke);
        keep(null);
        return reply;
      } catch (wrong) {
        if (wrong.status !== 0) {
          keep(null);
          throw wrong;
        }
        this.told("away", wrong.message + " Your last stroke waits here; it is tried again.");
        await new Promise(function (on) { setTimeout(on, pause); });
      }
    }
  }

  /* What a reload cut off is asked for again. */
  async again() {
    let text = null;
    try { text = sessionStorage.getItem(KEPT); } catch (none) { return false; }
    if (!text) return false;
    try {
      await this.until(JSON.parse(text));
    } catch (refused) {
      this.told("trouble", refused.message);
    }
    return true;
  }
}

function keep(text) {
  try {
    if (text === null) sessionStorage.removeItem(KEPT);
    else sessionStorage.setItem(KEPT, text);
  } catch (none) { /* a browser that keeps nothing: the stroke in hand is all that can be lost */ }
}
