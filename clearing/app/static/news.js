/* What others do meanwhile: further windows, other programs, the photo, the plan. */
import { desk } from "./desk.js";
import { find } from "./build.js";
import { ask } from "./talk.js";
import { notice } from "./panel.js";
import { close, openHandles, render, takePhoto, whereFrom } from "./views.js";

let told = 0, many = 1, around = null, trouble = "", gone = false;

export async function news() {
  if (desk.strokes.waiting || desk.corners.dragging) return;
  try {
    const now = await ask("/news?page=" + desk.page + "&revision=" + desk.store.revision);
    status("here", "");
    if (now.sitting !== desk.store.sitting) return location.reload();
    if (now.revision !== desk.store.revision && !desk.strokes.waiting && !desk.corners.dragging) await refresh();
    heard(now);
    desk.planned = now.planned;
    if (JSON.stringify(now.photo) !== JSON.stringify(desk.photo)) takePhoto(now.photo);
    await desk.knows.heard(now.job, desk.planned);
  } catch (wrong) {
    status("away", wrong.message);
  }
}

export function heard(now) {
  if (now.outside && (now.outside_number || now.outside) !== told) notice("outside", now.outside);
  told = now.outside_number || now.outside;
  notice("trouble", now.trouble && now.trouble.length ? ["The land cannot be read now, so nothing is saved:"].concat(now.trouble) : "", [], true);
  if (now.pages > 1 && many < now.pages) notice("pages", "This place is open in another window, too. Both show and save the same land.");
  if (now.pages) many = now.pages;
}

export async function refresh() {
  const state = await ask("/state");
  const gone = Array.from(desk.store.rows.keys());
  desk.store.take(state);
  desk.ground.show(state.rows, gone.filter(function (uid) { return !desk.store.rows.has(uid); }));
  if (desk.view.card === "start") whereFrom();
  if (desk.view.uid && !desk.store.rows.has(desk.view.uid)) close(true);
  else if (desk.view.card === "shape") openHandles();
  render();
  lookAround();
}

export function lookAround() {
  clearTimeout(around);
  around = setTimeout(async function () {
    try {
      const found = await ask("/around");
      desk.ground.showAround(found);
      desk.knows.heardAround(found);
    } catch (wrong) { /* the land is drawn all the same */ }
  }, 150);
}

/* What stands beside the steps: "Not saved" stays there until a later stroke was saved. */
export function status(what, words) {
  if (what === "away" && !gone) notice("away", words, [], true);
  if (what !== "away" && gone) notice("away", "");
  gone = what === "away";
  if (what === "saved") trouble = "";
  if (what === "trouble") trouble = words;
  const state = what === "here" ? (desk.strokes.waiting ? "saving" : trouble ? "trouble" : "saved") : what;
  const said = { saving: "Saving\u2026", saved: "Saved", trouble: "Not saved", away: "Not saved: no answer" }[state], line = find("status");
  line.dataset.state = state;
  if (line.textContent !== said) line.textContent = said;
}
