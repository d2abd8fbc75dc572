"""A cheap measure that covers every block is offered when it helps, and not when it does not."""

import numpy as np
import pandas as pd
import pytest
import shapely

from clearing import land, survey
from clearing.rates import for_settings
from tests.zones.farm import at, farm

STEMS = [0.4, 1.0, 2.1, 3.9, 8.2, 6.0]  # stems per plot of the first six of eight blocks
PHOTO = [4, 10, 20, 40, 80, 60, 30, 100]


def eight_blocks(measure: list[float] | None, column: str = "photo_count"):
    """Return what an estimate asks for: eight blocks of 1 ha, six of them with ten plots."""
    draw = np.random.default_rng(2)
    blocks, plots, tally = [], [], []
    for i in range(8):
        given = {} if measure is None else {column: measure[i]}
        blocks.append({"block_id": str(i + 1), "brush": "open", **given,
                       "geometry": at(shapely.box(300 * i, 0, 300 * i + 100, 100))})  # fmt: skip
        for j in range(10 if i < 6 else 0):
            spot = shapely.Point(300 * i + 10 + 9 * j, 50)
            plots.append({"plot_id": f"{i}-{j}", "geometry": at(spot), "radius_m": 5.0,
                          "visited": "yes"})  # fmt: skip
            tally.append({"plot_id": f"{i}-{j}", "species": "callery_pear", "dbh_in": 2.0,
                          "count": int(draw.poisson(3 * STEMS[i]))})  # fmt: skip
    place = farm(blocks, plots, tally, settings={"targets": ("callery_pear",)})
    rates = for_settings(place.settings)
    ground = land.lay_out(place, rates)
    return ground.blocks, ground.plots, place.tally, 0.9, rates


def surveyed(measure: list[float] | None, column: str = "photo_count"):
    """Return totals and offers of the eight blocks."""
    asked = eight_blocks(measure, column)
    totals = survey.estimate_totals(*asked)
    return totals.set_index("block_id"), survey.offer_measures(asked[0], totals, 0.9)


def offer(offers: pd.DataFrame, measure: str, estimator: str = "ratio") -> pd.Series:
    """Return one row of the offers."""
    return offers.set_index(["measure", "estimator"]).loc[(measure, estimator)]


def test_a_photo_count_that_goes_with_the_stems_is_offered_and_used():
    """Stems in proportion to the count: the error falls, and bare blocks follow the photo."""
    totals, offers = surveyed(PHOTO)
    good = offer(offers, "photo_count")
    assert good["helps"]
    assert good["se"] < 0.5 * offer(offers, "ground")["se"]
    assert "standard error" in good["why"]
    assert totals.loc[["7", "8"], "basis"].tolist() == ["photo", "photo"]
    ratio = totals.loc["8", "stems_per_ha"] / totals.loc["7", "stems_per_ha"]
    assert ratio == pytest.approx(100 / 30, rel=1e-6)


def test_size_classes_of_a_bare_block_follow_the_photo_as_its_total_does():
    """Their sum is the total by the photo, and each says that it rests on it."""
    asked = eight_blocks(PHOTO)
    stocking, totals = survey.estimate_stocking(*asked), survey.estimate_totals(*asked)
    wanted = totals.set_index("block_id")["stems_per_ha"]
    for block in ("7", "8"):
        own = stocking[stocking["block_id"] == block]
        assert set(own["basis"]) == {"photo"}
        assert own["stems_per_ha"].sum() == pytest.approx(wanted[block])


def test_a_measure_that_says_nothing_is_not_offered():
    """The same counts in the wrong order: plain ground is surer, blocks borrow from their kind."""
    totals, offers = surveyed([80, 10, 60, 4, 20, 40, 30, 100])
    assert not offers["helps"].any()
    assert totals.loc[["7", "8"], "basis"].tolist() == ["kind", "kind"]


def test_a_measure_must_cover_every_block():
    """One blank and it is no full cover: nothing is offered but plain ground."""
    _, offers = surveyed([*PHOTO[:7], None])
    assert offers["measure"].tolist() == ["ground"]
    assert offer(surveyed(None)[1], "ground")["blocks"] == 6


def test_cover_in_percent_serves_as_well():
    """Share of the ground under crowns, by the same rule."""
    totals, offers = surveyed([p / 2 for p in PHOTO], "cover_pct")
    assert offer(offers, "cover_pct")["helps"]
    assert totals.loc["7", "basis"] == "cover"


def test_offers_are_the_textbook_estimators():
    """Without an error inside blocks they are ratio_total and regression_total (dead firs)."""
    y, x = [18, 42, 24, 36, 24, 36, 14, 10, 48, 54], [12, 30, 24, 24, 18, 30, 12, 6, 36, 42]
    rest = (4200 - sum(x)) / 190
    names = [str(i) for i in range(200)]
    blocks = pd.DataFrame({"block_id": names, "area_ha": 1.0, "photo_count": [*x, *[rest] * 190]})
    totals = pd.DataFrame({"block_id": names[:10], "stems_per_ha": y, "se": 0.0, "basis": "plots"})
    offers = survey.offer_measures(blocks, totals, 0.95)
    for estimator, wanted in (
        ("ratio", survey.ratio_total(y, x, 4200, 200)),
        ("regression", survey.regression_total(y, x, 4200, 200)),
    ):
        found = offer(offers, "photo_count", estimator)
        assert [found["total"], found["se"]] == pytest.approx([wanted.value, wanted.se])
        assert [found["low"], found["high"]] == pytest.approx([wanted.low, wanted.high])
