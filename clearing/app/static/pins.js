/* Place a photo that does not say where it lies: three spots in it, three places on the ground. */
import { el, button, find, sentence } from "./build.js";
import { tell } from "./talk.js";
import { nameOf } from "./signs.js";
import { ringsOf, linesOf, pointsOf } from "./ground.js";

export class Pins {
  /* done(photo) is told when the photo has its place. */
  constructor(store, showCard, done) {
    Object.assign(this, { store: store, showCard: showCard, done: done, pins: [], told: null, map: null });
  }

  open(photo) {
    this.photo = photo;
    this.pins = photo.pins.map(function (p) { return { column: p.column_px, row: p.row_px, lat: p.latitude, lng: p.longitude, place: p.latitude + ", " + p.longitude }; });
    find("map").inert = true;
    find("paper").hidden = false;
    document.body.classList.add("pinning");
    if (this.map) this.map.remove();
    const deepest = photo.plain_deepest, size = photo.size;
    const map = L.map("paper", { crs: L.CRS.Simple, minZoom: -deepest, maxZoom: 3, zoomControl: false, attributionControl: false, zoomSnap: 0.25 });
    this.map = map;
    const Plain = L.TileLayer.extend({ getTileUrl: function (at) { return "/plain/" + encodeURIComponent(photo.stamp) + "/" + (at.z + deepest) + "/" + at.x + "/" + at.y; } });
    const box = L.latLngBounds([[-size[1], 0], [0, size[0]]]);
    new Plain("", { bounds: box, minZoom: -deepest, maxNativeZoom: 0, maxZoom: 3, noWrap: true }).addTo(map);
    map.fitBounds(box);
    this.layer = L.layerGroup().addTo(map);
    map.on("click", (event) => this.set(event.latlng));
    find("paper").addEventListener("keydown", (event) => {
      if (event.key === "Enter" && event.target === find("paper") && this.map === map) this.set(map.getCenter());
    });
    this.look();
  }

  set(place) {
    const at = { column: place.lng, row: -place.lat, place: "" }, size = this.photo.size;
    if (at.column < 0 || at.row < 0 || at.column > size[0] || at.row > size[1]) return;
    this.pins.push(at);
    this.look(this.pins.length);
  }

  close() {
    find("map").inert = false;
    find("paper").hidden = true;
    document.body.classList.remove("pinning");
    if (this.map) this.map.remove();
    this.map = null;
  }

  async look(focus) {
    try {
      this.told = await tell("/pins", { pins: this.pins });
    } catch (wrong) {
      this.told = { problems: wrong.problems, wrong: {}, errors: {}, placed: false };
    }
    this.show(focus);
  }

  async keep() {
    try {
      const told = await tell("/pins", { pins: this.pins, keep: true });
      this.close();
      this.done(told.photo);
    } catch (wrong) {
      this.told = Object.assign({}, this.told, { problems: wrong.problems });
      this.show();
    }
  }

  show(focus) {
    this.layer.clearLayers();
    this.pins.forEach((pin, i) => {
      const marker = L.marker([-pin.row, pin.column], { draggable: true, icon: L.divIcon({ className: "pin", html: "<span>" + (i + 1) + "</span>", iconSize: [44, 44] }), title: "Pin " + (i + 1) }).addTo(this.layer);
      marker.on("dragend", () => {
        pin.column = marker.getLatLng().lng;
        pin.row = -marker.getLatLng().lat;
        this.look();
      });
    });
    const told = this.told || { problems: [], wrong: {}, errors: {} };
    const card = el("section", { class: "view", id: "card" },
      button("\u2190 Not now", () => { this.close(); this.done(null); }, { class: "back" }),
      el("h2", { class: "big", tabIndex: -1, text: "Where does this photo lie?" }),
      el("p", { class: "lead", text: "Tap a spot in the photo that you can find on the ground, such as a gate post or the corner of a barn, and say where it is. Three spots that lie far apart will do; more make it better. With keys alone: arrow keys move the photo, Enter sets a pin at the cross." }));
    this.pins.forEach((pin, i) => { card.append(this.pinFields(pin, i, told)); });
    if (told.error) card.append(el("p", { class: "strong-words", id: "pin-error", text: "The photo fits your pins to " + told.error + "." }));
    (told.problems || []).forEach(function (line) { card.append(el("p", { class: told.error ? "wrong" : "quiet", text: sentence(line) })); });
    card.append(button("Keep it so", () => this.keep(), { class: "wide strong", id: "keep-pins", disabled: !told.placed }));
    this.showCard(card);
    const field = focus && find("pin-place-" + (focus - 1));
    if (field) field.focus();
  }

  pinFields(pin, i, told) {
    const id = "pin-place-" + i, number = String(i + 1), wrong = pin.place ? told.wrong[number] : "";
    const places = this.places();
    const input = el("input", { type: "text", id: id, value: pin.place || "", placeholder: "38.12345, -84.54321", autocomplete: "off", on: { input: () => { pin.place = input.value; delete pin.lat; delete pin.lng; }, change: () => { pin.place = input.value; delete pin.lat; delete pin.lng; this.look(); } } });
    const choose = el("select", { id: id + "-drawn", "aria-label": "Pin " + number + ": a place already drawn", on: { change: () => {
      const found = places[Number(choose.value)];
      if (found) { pin.lat = found.at[0]; pin.lng = found.at[1]; pin.place = found.at[0].toFixed(6) + ", " + found.at[1].toFixed(6); this.look(); }
    } } }, el("option", { value: "", text: "or a place already drawn" }), places.map(function (place, n) { return el("option", { value: String(n), text: place.name }); }));
    return el("div", { class: "field" }, el("label", { htmlFor: id, text: "Pin " + number + ": what your phone shows there" }), input, places.length ? choose : null,
      told.errors[number] && el("p", { class: "quiet", text: "This pin is " + told.errors[number] + " off." }),
      wrong && el("p", { class: "wrong", role: "alert", text: wrong }),
      button("Take pin " + number + " out", () => { this.pins.splice(i, 1); this.look(); }, { class: "link" }));
  }

  places() {
    const list = [], species = this.store.speciesWords;
    this.store.rows.forEach(function (row) {
      if (!row.shape || row.layer === "keep_trees") return;
      const name = nameOf(row, species);
      if (row.shape.type.endsWith("Point")) list.push({ name: name, at: pointsOf(row.shape)[0] });
      else if (row.shape.type.endsWith("LineString")) { const line = linesOf(row.shape)[0]; list.push({ name: name + ", one end", at: line[0] }, { name: name + ", other end", at: line[line.length - 1] }); }
      else if (row.own.kind === "building" || row.layer === "blocks") ringsOf(row.shape)[0][0].slice(0, 8).forEach(function (at, n) { list.push({ name: name + ", corner " + (n + 1), at: at }); });
    });
    return list.slice(0, 200);
  }
}

