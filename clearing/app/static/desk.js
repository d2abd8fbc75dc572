/* What the pieces of the page work on together. */

export const desk = {
  page: "", store: null, map: null, ground: null, stroke: null, corners: null, strokes: null, pins: null, knows: null, log: null, stopAt: null,
  planned: false, photo: null, placed: false,
  view: { card: "whole", uid: null, joining: null, splitting: null, shaping: null, tally: null },
  last: { tree: {}, made: null }
};
