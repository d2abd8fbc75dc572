/* All shapes as the program has them, and the words that go with them. */

export class Store {
  constructor(state) {
    this.rows = new Map();
    this.take(state);
  }

  take(state) {
    this.us = state.us;
    this.name = state.name;
    this.forms = state.forms;
    this.targets = state.targets;
    this.sizes = state.sizes;
    this.plotRadius = state.plot_radius_m;
    this.species = state.species;
    this.speciesWords = Object.fromEntries(state.species);
    this.speciesKeys = Object.fromEntries(state.species.map(function (pair) { return [pair[1].toLowerCase(), pair[0]]; }));
    this.rows.clear();
    state.rows.forEach((row) => { this.rows.set(row.uid, row); });
    this.heard(state);
  }

  heard(state) {
    this.revision = state.revision;
    this.sitting = state.sitting;
    this.undo = state.undo;
    this.redo = state.redo;
  }

  change(delta) {
    delta.gone.forEach((uid) => { this.rows.delete(uid); });
    delta.rows.forEach((row) => { this.rows.set(row.uid, row); });
    this.heard(delta);
  }

  of(layer) {
    return Array.from(this.rows.values()).filter(function (row) { return row.layer === layer; });
  }

  /* What a species is called here, by what somebody typed. */
  speciesKey(text) {
    const plain = text.trim().toLowerCase();
    return this.speciesKeys[plain] || plain.replace(/[\s-]+/g, "_");
  }
}
