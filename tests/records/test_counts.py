"""The tally parted: what stood before treatment, what came of it."""

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from clearing.rates import load
from clearing.records.counts import (
    counts_by_stage,
    follow_counts,
    kill_counts,
    parted_tally,
    plots_in_strips,
)

SIZES = load().sizes
STRIP_OF = pd.Series({"1": "a", "2": "a", "3": "b"})
TREATED = {"a": pd.Timestamp("2027-10-05")}
PLOTS = pd.DataFrame(
    {"plot_id": ["1", "2", "3"], "inside_ha": 0.04, "small_inside_ha": 0.01, "small_below_cm": 5.0}
)


def tally(*rows: dict) -> pd.DataFrame:
    """Return a tally of pears in plot 1, and what each row says otherwise."""
    usual = {"plot_id": "1", "species": "callery_pear", "dbh_cm": 10.0, "size": None, "count": 1,
             "keep": None, "status": None, "date": None}  # fmt: skip
    return pd.DataFrame([usual | row for row in rows], columns=list(usual))


def test_a_tally_without_dates_is_all_before():
    """As it was read: dead and sprouted stems of an old survey among it."""
    rows = tally({}, {"status": "dead"}, {"status": "resprout"})
    before, after = parted_tally(rows, STRIP_OF, TREATED)
    assert before is rows
    assert not len(after)


def test_counts_later_than_the_treatment_are_what_came_of_it():
    """On strip a, treated in October 2027; strip b is counted anew and was not treated."""
    rows = tally(
        {"date": "2026-11-01"}, {"date": "2028-06-01", "status": "dead"},
        {"date": "2028-06-01"}, {"plot_id": "3", "date": "2026-11-01", "count": 5},
        {"plot_id": "3", "date": "2028-06-01", "count": 7}, {"plot_id": "2", "count": 3},
    )  # fmt: skip
    before, after = parted_tally(rows, STRIP_OF, TREATED)
    assert before["count"].tolist() == [1, 7, 3]
    assert after.index.tolist() == [1, 2]


def test_a_survey_over_several_weeks_is_one_look():
    """Two species on two days of one winter stand side by side."""
    rows = tally({"date": "2026-11-01"}, {"date": "2026-12-20", "species": "privet"})
    assert len(parted_tally(rows, STRIP_OF, {})[0]) == 2


def test_a_look_that_found_nothing_is_a_look():
    """A row of nought without a size is one plot looked at, with no stem of any state."""
    rows = tally({"date": "2028-06-01", "dbh_cm": None, "count": 0})
    found = follow_counts(rows, STRIP_OF, SIZES)
    assert found[["plot_id", "dead", "resprout", "new", "live"]].to_numpy().tolist() == [
        ["1", 0, 0, 0, 0]
    ]


def test_states_of_later_looks_never_stand_for_the_survey():
    """Dated dead, resprouted or new stems of a plot whose strip is in no log are left out."""
    states = ("dead", "resprout", "new", "live")
    rows = tally(*({"plot_id": "3", "date": "2028-06-01", "status": s} for s in states))
    before, after = parted_tally(rows, STRIP_OF, TREATED)
    assert before["status"].tolist() == ["live"]
    assert not len(after)


def looked() -> pd.DataFrame:
    """Return a look at plot 1: of ten pears eight dead, one sprouted, one missed; twelve new."""
    day = {"date": "2028-06-01"}
    rows = tally({**day, "status": "dead", "count": 8}, {**day, "status": "resprout"},
                 {**day, "status": "live"}, {**day, "status": "new", "count": 12, "dbh_cm": 0.0},
                 {**day, "status": "live", "keep": True, "count": 9})  # fmt: skip
    return follow_counts(rows, STRIP_OF, SIZES)


def test_the_dead_and_the_living_are_told_by_their_recipe():
    """8 dead of 10; keep trees and new ones are no part of it."""
    method = pd.DataFrame([{"strip_id": "a", "species": "callery_pear", "size_class": "3_6in",
                            "recipe_id": "r", "season": "fall"}])  # fmt: skip
    (row,) = kill_counts(looked(), method).to_dict("records")
    assert (row["dead"], row["alive"], row["season"]) == (8, 2, "fall")


def test_only_the_last_look_at_a_plot_tells_its_kill():
    """Stems that leaf out a first spring may be dead in the second."""
    later = looked().assign(date=pd.Timestamp("2029-06-01"), dead=[9.0, 0.0], resprout=0.0)
    method = pd.DataFrame([{"strip_id": "a", "species": "callery_pear", "size_class": "3_6in",
                            "recipe_id": "r", "season": "fall"}])  # fmt: skip
    (row,) = kill_counts(pd.concat([looked(), later]), method).to_dict("records")
    assert row["dead"] == 9


def test_what_the_forecast_goes_on_from_has_its_ground():
    """New ones on the inner circle, clumps and thick ones on the whole plot, noughts for the rest.

    Before the follow-up it is the state of that year, after it that of the next.
    """
    rows = counts_by_stage(looked(), PLOTS, SIZES, {}).set_index("stage")
    assert rows.loc[["seedling", "resprout", "3_6in", "1_3in"], "stems"].tolist() == [12, 1, 1, 0]
    assert rows.at["seedling", "ground_ha"] == pytest.approx(0.01)
    assert rows.at["resprout", "ground_ha"] == pytest.approx(0.04)
    assert set(rows["year"]) == {2028}
    sprayed = {("a", 2028): pd.Timestamp("2028-05-01")}
    assert set(counts_by_stage(looked(), PLOTS, SIZES, sprayed)["year"]) == {2029}


def test_clumps_that_are_counted_on_the_small_plot_stand_for_those_of_the_whole():
    """Two thin ones on a quarter of the plot's ground are eight, beside a thick one: nine."""
    found = follow_counts(
        tally({"date": "2028-06-01", "status": "resprout"},
              {"date": "2028-06-01", "status": "resprout", "dbh_cm": 2.0, "count": 2}),
        STRIP_OF, SIZES,
    )  # fmt: skip
    rows = counts_by_stage(found, PLOTS, SIZES, {}).set_index("stage")
    assert rows.at["resprout", "stems"] == pytest.approx(9.0)
    assert rows.at["resprout", "ground_ha"] == pytest.approx(0.04)


def test_what_came_up_new_stands_in_its_own_class():
    """A seedling and two saplings of 2 cm that were not there before; nothing of it is a sprout."""
    usual = {"date": "2028-06-01", "status": "new"}
    looks = tally(usual | {"dbh_cm": None, "size": "seedling"}, usual | {"dbh_cm": 2.0, "count": 2})
    rows = counts_by_stage(follow_counts(looks, STRIP_OF, SIZES), PLOTS, SIZES, {})
    rows = rows.set_index("stage")["stems"]
    assert rows[["seedling", "under_1in", "resprout"]].tolist() == [1, 2, 0]


def test_plots_lie_in_the_strip_round_their_center():
    """One outside every strip is in none."""
    strips = gpd.GeoDataFrame(
        {"strip_id": ["a", "b"]}, geometry=[shapely.box(0, 0, 1, 1), shapely.box(1, 0, 2, 1)]
    )
    points = gpd.points_from_xy([0.5, 1.5, 5.0], [0.5, 0.5, 0.5])
    plots = gpd.GeoDataFrame({"plot_id": ["1", "2", "3"]}, geometry=points)
    assert plots_in_strips(plots, strips).to_dict() == {"1": "a", "2": "b"}


def test_what_nobody_counted_or_treated_tells_no_kill():
    """Neither looks without a method nor a method without looks."""
    found = follow_counts(tally({"date": "2028-06-01", "status": "dead"}), STRIP_OF, SIZES)
    nothing = pd.DataFrame(columns=["strip_id", "species", "size_class", "recipe_id", "season"])
    assert len(kill_counts(found, nothing)) == len(kill_counts(found.iloc[:0], nothing)) == 0
