/* Where is the place? Asked once, where neither a photo nor a shape says so. */
import { el, button } from "./build.js";
import { tell } from "./talk.js";

export function startCard(store, map, go) {
  const wrong = el("p", { class: "wrong", id: "start-wrong", role: "alert", hidden: true });
  const input = el("input", { type: "text", id: "start-place", placeholder: "38.12345, -84.54321", autocomplete: "off", "aria-describedby": "start-says" });
  async function read() {
    wrong.hidden = true;
    try {
      const at = await tell("/place", { text: input.value });
      go([at.lat, at.lng]);
    } catch (refused) {
      wrong.textContent = refused.message;
      wrong.hidden = false;
    }
  }
  input.addEventListener("keydown", function (event) { if (event.key === "Enter") read(); });
  return el("section", { class: "view", id: "card" },
    el("p", { class: "place", text: store.name }),
    el("h1", { tabIndex: -1, text: "Where is it?" }),
    el("p", { class: "lead", text: "There is no photo and nothing is drawn yet. Say where the place is, and you can draw on a measured grid." }),
    el("div", { class: "field" }, el("label", { htmlFor: "start-place", text: "Latitude and longitude of the gate" }), input,
      el("p", { class: "quiet", id: "start-says", text: "As your phone's map or compass shows them when you stand there." }), wrong),
    button("Go there", read, { class: "wide strong", id: "start-go" }),
    button("This computer is there now", function () {
      map.once("locationerror", function () {
        wrong.textContent = "This computer does not say where it is.";
        wrong.hidden = false;
      });
      map.once("locationfound", function (event) { go([event.latlng.lat, event.latlng.lng]); });
      map.locate({ setView: false });
    }, { class: "wide" }),
    el("p", { class: "quiet", text: "With an aerial photo in the folder, named aerial.tif or aerial.jpg, the photo is the ground to draw on." }));
}

