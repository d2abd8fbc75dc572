"""Take shapes into another coordinate system and back, each corner to the bit as it was."""

import numpy as np
import shapely
from pyproj import CRS, Transformer
from shapely.geometry.base import BaseGeometry


class Corners:
    """Return a way between two coordinate systems that remembers each corner it took.

    A transformation there and back leaves rounding of a millionth of a millimetre, enough to part
    corners that two neighbours share. So each pair is kept: a corner that was taken there comes
    back as it was, and a new one has the same bits for all shapes that have it.

    Parameters
    ----------
    source_crs, target_crs : anything that pyproj understands
        Coordinates are x and y (longitude and latitude) in this order on both sides.
    """

    def __init__(self, source_crs: object, target_crs: object) -> None:
        source, target = CRS.from_user_input(source_crs), CRS.from_user_input(target_crs)
        self._same = source == target
        self._forth = Transformer.from_crs(source, target, always_xy=True)
        self._back = Transformer.from_crs(target, source, always_xy=True)
        self._targets: dict[bytes, bytes] = {}
        self._sources: dict[bytes, bytes] = {}

    def there(self, what: BaseGeometry | np.ndarray) -> BaseGeometry | np.ndarray:
        """Return a shape, or an array of shapes, or of corners (n, 2), in the target system.

        Two corners that would fall on one are kept apart by the last bit, so that both come back.

        References
        ----------
        own reasoning
        """
        return self._taken(what, self._there)

    def back(self, what: BaseGeometry | np.ndarray) -> BaseGeometry | np.ndarray:
        """Return a shape, or an array of shapes, or of corners (n, 2), in the source system.

        References
        ----------
        own reasoning
        """
        return self._taken(what, self._home)

    def _taken(self, what, way):  # type: ignore[no-untyped-def]
        """Return shapes or corners taken one way."""
        if self._same:
            return what
        if isinstance(what, np.ndarray) and what.dtype != object:
            return way(what)
        return shapely.transform(what, way)

    def _there(self, points: np.ndarray) -> np.ndarray:
        """Return corners (n, 2) in the target system and remember each pair."""
        keys = _keys(points)
        for key, place in _moved(self._forth, points, keys, self._targets):
            while self._sources.get(place, key) != key and np.isfinite(np.frombuffer(place)).all():
                place = _next(place)
            self._targets[key] = place
            self._sources[place] = key
        return _points([self._targets[key] for key in keys])

    def _home(self, points: np.ndarray) -> np.ndarray:
        """Return corners (n, 2) in the source system and remember each new pair."""
        keys = _keys(points)
        for key, place in _moved(self._back, points, keys, self._sources):
            self._sources[key] = place
            self._targets.setdefault(place, key)
        return _points([self._sources[key] for key in keys])


def _moved(
    way: Transformer, points: np.ndarray, keys: list[bytes], known: dict[bytes, bytes]
) -> list[tuple[bytes, bytes]]:
    """Return each corner that is not known yet, once, with its place on the other side."""
    new = {key: i for i, key in enumerate(keys) if key not in known}
    if not new:
        return []
    places = np.column_stack(way.transform(*points[list(new.values()), :2].T))
    return list(zip(new, _keys(places), strict=True))


def _keys(points: np.ndarray) -> list[bytes]:
    """Return the bits of each corner; minus nought is nought."""
    flat = np.ascontiguousarray(np.asarray(points, dtype=float)[:, :2] + 0.0)
    return flat.view("V16").ravel().tolist()


def _points(keys: list[bytes]) -> np.ndarray:
    """Return corners (n, 2) from their bits."""
    return np.frombuffer(b"".join(keys), dtype=float).reshape(-1, 2).copy()


def _next(key: bytes) -> bytes:
    """Return the nearest place to the east of one."""
    x, y = np.frombuffer(key)
    return np.array([np.nextafter(x, np.inf), y]).tobytes()
