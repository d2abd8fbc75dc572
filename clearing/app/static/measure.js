/* Ground distances and areas, as the map has them: distances.js, shared with it. */

export const { degreeSizes, lengthOf, areaOf, sayArea, sayLength, gridStep, sizeOf, M_PER_FT } = DISTANCES;
