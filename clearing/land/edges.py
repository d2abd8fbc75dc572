"""Draw neighbours' edges together where they gape or lie over each other by a slip of the hand."""

import numpy as np
import shapely

from clearing.land.overlay import FINE_M, areas_of, ground, less, shared
from clearing.land.rings import is_crumb

OVERLAP_SHARE = 0.03  # of the smaller block may lie over its neighbour and be mended; own choice
SNAP_M = 1.0  # corners this near are one corner; a strip of 2 m vanishes at 3 m; own choice, tried
GAP_M = 2.5  # a closed gap between blocks no wider than this is a slip; own choice
SNAPS_M = (0.01, 0.1, 0.3, SNAP_M)  # tried in this order: the least that mends is taken
SLIP_M2 = 0.01  # less ground than this is rounding, and nothing is done; own choice
GAPE_M2 = 0.05  # less open ground than this between two blocks is rounding; own choice
BETWEEN_SHARE = 0.75  # of a gap's outline lies along blocks, else it is a corner's; own choice
TOUCH_M = 1e-5  # nearer than this is touching: rounding
CHANGE_SHARE = 0.05  # of a block may change when edges are drawn together; own choice


def overlaps(shapes: np.ndarray) -> list[tuple[int, int, float]]:
    """Return each two shapes that lie over each other, with the ground they share [m2].

    References
    ----------
    own reasoning
    """
    one, two = shapely.STRtree(shapes).query(shapes, predicate="intersects")
    pairs = one < two
    one, two = one[pairs], two[pairs]
    both = shapely.area(shapely.intersection(shapes[one], shapes[two], grid_size=FINE_M))
    found = zip(one.tolist(), two.tolist(), both.tolist(), strict=True)
    return sorted(row for row in found if row[2] > SLIP_M2)


def heavy(shapes: np.ndarray, pair: tuple[int, int, float]) -> bool:
    """Return whether an overlap is more than a slip of the hand.

    References
    ----------
    own reasoning
    """
    return pair[2] > OVERLAP_SHARE * min(shapes[pair[0]].area, shapes[pair[1]].area)


def drawn_together(shapes: np.ndarray, barriers: np.ndarray) -> np.ndarray:
    """Return blocks without small gaps and overlaps; those that are well drawn as they were.

    Parameters
    ----------
    shapes : array of Polygon and MultiPolygon
        Valid, in the grid [m].
    barriers : array of Geometry
        Roads and creeks: a gap along one that is wider than `SNAP_M` is meant.

    References
    ----------
    own reasoning
    """
    out, sound = shapes.copy(), areas_of(shapes)
    beyond = {side for pair in overlaps(sound) if heavy(sound, pair) for side in pair[:2]}
    good = [i for i in range(len(shapes)) if i not in beyond and shapes[i].is_valid]
    for group in _groups(shapes, good):
        before = shapes[group]
        if shapely.coverage_is_valid(before, gap_width=GAP_M):
            continue
        slips, kept_open = _slips(before, barriers)
        if not len(slips):
            continue
        region = shapely.buffer(shapely.union_all(slips), SNAP_M)
        near = shapely.intersects(region, before)
        for chosen in (near, np.ones(len(group), dtype=bool)):
            after = before.copy()
            after[chosen] = _cleaned(before[chosen], kept_open, barriers)
            if not len(_slips(after, barriers)[0]):
                break
        out[group] = after
    return out


def _groups(shapes: np.ndarray, good: list[int]) -> list[list[int]]:
    """Return the blocks that touch or nearly touch, group by group (two blocks at least)."""
    parent = {i: i for i in good}

    def root(i: int) -> int:
        while parent[i] != i:
            i = parent[i]
        return i

    some = shapes[good]
    pairs = shapely.STRtree(some).query(some, predicate="dwithin", distance=GAP_M)
    for one, two in pairs.T.tolist():
        parent[root(good[two])] = root(good[one])
    groups: dict[int, list[int]] = {}
    for i in good:
        groups.setdefault(root(i), []).append(i)
    return [group for group in groups.values() if len(group) > 1]


def _slips(shapes: np.ndarray, barriers: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the overlaps and gaps of a group that are slips, and the gaps that are meant."""
    over = [shared(shapes[i], shapes[j]) for i, j, _ in overlaps(shapes)]
    gaps = shapely.get_parts(less(ground(_clean(shapes, SNAP_M)), ground(shapes)))
    gaps = gaps[shapely.area(gaps) > GAPE_M2]
    gaps = gaps[np.array([_between(gap, shapes) for gap in gaps], dtype=bool)]
    meant = np.array([_meant(gap, barriers) for gap in gaps], dtype=bool)
    return np.array([*over, *gaps[~meant]], dtype=object), gaps[meant]


def _between(gap: shapely.Geometry, shapes: np.ndarray) -> bool:
    """Return whether open ground lies between two blocks or more, not at a corner of one."""
    near = shapes[shapely.dwithin(gap, shapes, TOUCH_M)]
    if len(near) < 2:
        return False
    edges = shapely.buffer(shapely.union_all(shapely.boundary(near)), TOUCH_M)
    return shapely.intersection(gap.boundary, edges).length > BETWEEN_SHARE * gap.length


def _meant(gap: shapely.Geometry, barriers: np.ndarray) -> bool:
    """Return whether a road or creek runs along a gap that is wider than the snapping."""
    if not len(barriers) or 2 * gap.area <= SNAP_M * gap.length:  # width is about 2 area / length
        return False
    near = shapely.intersection(barriers, shapely.buffer(gap, SNAP_M))
    along = 2 * shapely.length(near) / gap.length  # a narrow gap's outline is twice its length
    over = shapely.area(shapely.intersection(barriers, gap)) / gap.area
    share = np.where(shapely.get_dimensions(barriers) == 2, over, along)
    return bool((share > 0.5).any())


def _cleaned(shapes: np.ndarray, kept_open: np.ndarray, barriers: np.ndarray) -> np.ndarray:
    """Return blocks as one coverage with the least snapping that leaves no slip.

    Blocks that come out as the same ground keep their own corners where the coverage allows it.
    Should a block vanish or change by more than `CHANGE_SHARE`, only the overlaps are cut.
    """
    count = len(shapes)
    best, least = _cut_apart(shapes), np.inf
    for snap in SNAPS_M:
        new = _clean(np.concatenate([shapes, kept_open]), snap)[:count]
        if not _bearable(shapes, new) or not _bearable(shapes, new := _swept(new)):
            continue
        left = float(shapely.area(_slips(new, barriers)[0]).sum())
        if left < least - GAPE_M2:
            best, least = new, left
    same = shapely.area(shapely.symmetric_difference(shapes, best)) < 1e-6
    own = np.where(same, shapes, best)
    return own if shapely.coverage_is_valid(own) else best


def _clean(shapes: np.ndarray, snap_m: float) -> np.ndarray:
    """Return shapes as a coverage; overlaps go to the smaller."""
    return shapely.coverage_clean(
        shapes, gap_width=GAP_M, snapping_distance=snap_m, merge_strategy="min_area"
    )


def _swept(shapes: np.ndarray) -> np.ndarray:
    """Return a coverage in which crumbs of a block went to the neighbour they lie along."""
    out, crumbs = shapes.copy(), []
    for i, shape in enumerate(shapes):
        parts = shapely.get_parts(shape)
        tiny = is_crumb(shapely.area(parts)) if len(parts) > 1 else np.zeros(len(parts), dtype=bool)
        if tiny.any():
            kept = parts[~tiny]
            out[i] = kept[0] if len(kept) == 1 else shapely.MultiPolygon(kept.tolist())
            crumbs += [(i, part) for part in parts[tiny]]
    for i, part in crumbs:
        along = shapely.length(shapely.intersection(shapely.boundary(out), part.boundary))
        along[i] = 0.0
        home = int(np.argmax(along))
        if along[home] > 0:
            out[home] = shapely.coverage_union(out[home], part)
    return out


def _bearable(old: np.ndarray, new: np.ndarray) -> bool:
    """Return whether every block is still there and about as large as before."""
    change = np.abs(shapely.area(new) - shapely.area(old))
    there = ~shapely.is_empty(new) & (shapely.get_dimensions(new) == 2) & shapely.is_valid(new)
    return bool((there & (change <= CHANGE_SHARE * shapely.area(old))).all())


def _cut_apart(shapes: np.ndarray) -> np.ndarray:
    """Return shapes with each overlap left to the smaller of two."""
    out = shapes.copy()
    for one, two, _ in overlaps(shapes):
        large, small = (one, two) if shapes[one].area > shapes[two].area else (two, one)
        rest = less(out[large], out[small])
        out[large] = out[large] if rest.is_empty else rest
    return out
