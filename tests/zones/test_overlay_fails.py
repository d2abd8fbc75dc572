"""Where an overlay does not close or does not join, another way keeps the strip whole."""

import pytest
import shapely

from tests.zones.farm import walk_features, zones_of

SHAPE = shapely.box(0, 0, 200, 200)
ROADS = (("public_road", shapely.LineString([(100, -50), (100, 250)])),
         ("farm_road", shapely.LineString([(-50, 90), (250, 110)])))  # fmt: skip


@pytest.fixture
def zones():
    """Return the way to the zones of a strip that two roads cross."""
    return lambda: zones_of(walk_features(*ROADS), shape=SHAPE)


def fails(*_args, **_words):
    """Fail as the geometry library does."""
    raise shapely.GEOSException("side location conflict")


def test_faces_that_do_not_join_are_joined_another_way(monkeypatch, zones):
    """The quick way fails, or loses ground without a word: the zones are the same."""
    for broken in (fails, lambda faces: faces[0]):
        with monkeypatch.context() as patch:
            patch.setattr(shapely, "coverage_union_all", broken)
            again = zones()
        assert again["flags"].tolist() == zones()["flags"].tolist()
        assert again["area_ha"].to_numpy() == pytest.approx(zones()["area_ha"].to_numpy())


@pytest.mark.parametrize("times", [1, 9])
def test_a_net_that_does_not_close_is_drawn_again_on_a_grid(monkeypatch, zones, times):
    """Once, or however often: the zones are the strip to a millionth."""
    asked, good = [], shapely.coverage_is_valid

    def closes(faces):
        asked.append(len(faces))
        return len(asked) > times and bool(good(faces))

    monkeypatch.setattr(shapely, "coverage_is_valid", closes)
    again = zones()
    assert len(asked) > 1
    assert again["area_ha"].sum() == pytest.approx(SHAPE.area / 1e4, rel=1e-6)


def test_where_no_way_joins_exactly_the_nearest_is_taken(monkeypatch, zones):
    """Each way loses a corner of 1 m2: the zones still miss the strip by no more than that."""
    whole, corner = shapely.union_all, shapely.box(-1e-9, 0, 1, 1)

    def short(faces, **words):
        joined = whole(faces, **words)
        return joined.difference(corner) if joined.area > 0 else joined

    wanted = zones()
    monkeypatch.setattr(shapely, "coverage_union_all", short)
    monkeypatch.setattr(shapely, "union_all", short)
    assert zones()["area_ha"].sum() == pytest.approx(wanted["area_ha"].sum(), abs=len(wanted) / 1e4)
