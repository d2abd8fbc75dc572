/* What can be drawn: the word on its button, its layer, its kind, and how it is drawn. */

export const TOOLS = [
  { key: "block", word: "Block", layer: "blocks", as: "area", main: true, how: "A patch of land with one wish for it. Tap its corners one after another; tap the first one again to finish." },
  { key: "tree", word: "Keep tree", layer: "keep_trees", as: "point", main: true, how: "A tree that stays. Tap where each stem stands." },
  { key: "creek", word: "Creek", layer: "features", kind: "water", as: "line", main: true, how: "Tap along the water's edge; tap the last spot again to finish." },
  { key: "farm_road", word: "Farm road", layer: "features", kind: "farm_road", as: "line", main: true, how: "Your own road. Tap along it; tap the last spot again to finish." },
  { key: "property_line", word: "Property line", layer: "features", kind: "property_line", as: "line", main: true, how: "Tap along your boundary; tap the first corner again to close it. What lies beyond is the neighbors' side." },
  { key: "power_line", word: "Power line", layer: "features", kind: "power_line", as: "line", main: true, how: "Tap along the wires; tap the last pole again to finish. Near wires the utility or a line-clearance crew decides." },
  { key: "building", word: "Building", layer: "features", kind: "building", as: "area", main: true, how: "Tap its corners; tap the first one again to finish. The neighbors' buildings count too." },
  { key: "well", word: "Well", layer: "features", kind: "well", as: "point", main: true, how: "Tap where it is. Springs and cisterns count too." },
  { key: "fence", word: "Fence", layer: "features", kind: "fence", as: "line", how: "Tap along it; tap the last post again to finish." },
  { key: "trail", word: "Trail", layer: "features", kind: "trail", as: "line", how: "Tap along it; tap the last spot again to finish." },
  { key: "public_road", word: "Public road", layer: "features", kind: "public_road", as: "line", how: "Tap along it; tap the last spot again to finish." },
  { key: "pond", word: "Pond", layer: "features", kind: "water", as: "area", how: "Tap around its edge; tap the first spot again to finish." },
  { key: "crop", word: "Crop", layer: "features", kind: "crop", as: "area", how: "A field or garden that spray must not reach. Tap its corners; tap the first one again to finish." },
  { key: "gate", word: "Gate", layer: "features", kind: "gate", as: "point", how: "Tap where one drives or walks in." },
  { key: "neighbour_tree", word: "Neighbor's tree", layer: "features", kind: "neighbour_tree", as: "point", how: "A tree over the line whose roots may reach here. Tap its stem." },
  { key: "strip", word: "Strip", layer: "strips", as: "area", how: "Your own division of a block, if you want one: what a crew treats in one go. It is cut to its block." },
  { key: "plot", word: "Sample plot", layer: "plots", as: "point", how: "Tap its center. A plot you stood in counts, with or without stems." }
];

export const LAYER_WORD = { blocks: "Block", strips: "Strip", keep_trees: "Keep tree", plots: "Plot", features: "Shape" };

export function toolOf(key) {
  return TOOLS.find(function (tool) { return tool.key === key; });
}

/* The tool that a drawn shape came from: for its word and what it may be. */
export function toolFor(row) {
  const as = asOf(row);
  return TOOLS.find(function (tool) {
    return tool.layer === row.layer && (!tool.kind || (tool.kind === row.own.kind && tool.as === as));
  }) || TOOLS.find(function (tool) { return tool.layer === row.layer && (!tool.kind || tool.kind === row.own.kind); });
}

export function asOf(row) {
  const type = row.shape ? row.shape.type : "";
  return type.endsWith("Polygon") ? "area" : type.endsWith("LineString") ? "line" : "point";
}

const ID = { blocks: "block_id", strips: "strip_id", keep_trees: "tree_id", plots: "plot_id" };

export function idOf(row) {
  return row.own[ID[row.layer]] || "";
}

/* What a shape is called where the owner gave it a name, else by its number. */
export function nameOf(row, species) {
  if (row.layer === "keep_trees") return (species[row.own.species] || "tree") + (idOf(row) ? " " + idOf(row) : "");
  if (row.own.name) return row.own.name;
  if (row.layer !== "features") return LAYER_WORD[row.layer] + " " + idOf(row);
  const tool = toolFor(row);
  return tool ? tool.word : "Shape";
}

const SAMPLES = {
  block: '<rect x="3" y="3" width="26" height="14" class="line"/>',
  strip: '<rect x="3" y="3" width="26" height="14" class="line" stroke-dasharray="3 3"/><path d="M16 3V17" class="line" stroke-dasharray="3 3"/>',
  tree: '<circle cx="16" cy="10" r="8" class="crown"/><circle cx="16" cy="10" r="1.6" class="stem"/>',
  creek: '<path d="M2 13 Q10 3 16 10 T30 7" class="water"/>',
  pond: '<ellipse cx="16" cy="10" rx="12" ry="7" class="wet"/>',
  farm_road: '<path d="M2 10H30" class="line wide"/><path d="M2 10H30" class="gap" stroke-dasharray="7 4"/>',
  public_road: '<path d="M2 10H30" class="line wider"/><path d="M2 10H30" class="gap"/>',
  trail: '<path d="M2 12 Q12 4 30 9" class="line" stroke-dasharray="3 4"/>',
  fence: '<path d="M2 10H30" class="line" stroke-dasharray="8 2 2 2"/>',
  property_line: '<path d="M2 10H30" class="line" stroke-dasharray="12 4 2 4"/>',
  power_line: '<path d="M2 10H30" class="line" stroke-dasharray="1 4" stroke-linecap="round"/>',
  building: '<rect x="8" y="4" width="16" height="12" class="solid"/>',
  crop: '<rect x="4" y="3" width="24" height="14" class="line thin"/><path d="M8 6V14M14 6V14M20 6V14M26 6V14" class="line thin"/>',
  well: '<circle cx="16" cy="10" r="5" class="wet"/>',
  gate: '<circle cx="16" cy="10" r="5" class="spot"/>',
  neighbour_tree: '<circle cx="16" cy="10" r="8" class="crown" stroke-dasharray="3 3"/>',
  plot: '<circle cx="16" cy="10" r="7" class="line" stroke-dasharray="2 2"/>'
};

export function sample(key) {
  return '<svg class="sample" width="32" height="20" viewBox="0 0 32 20" aria-hidden="true" focusable="false">' + (SAMPLES[key] || "") + "</svg>";
}
