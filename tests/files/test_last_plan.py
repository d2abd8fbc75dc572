"""The last plan is read where it can be, and is none where it cannot."""

import json
from dataclasses import replace

import pytest

from clearing import report
from clearing.files import last_plan as room
from clearing.files.last_plan import last_plan
from tests.report.small_place import HOSTILE, small_results


def laid(folder, raw: bytes):
    """Return the folder with these bytes as its last plan."""
    (folder / "out").mkdir(exist_ok=True)
    (folder / "out" / "plan.json").write_bytes(raw)
    return folder


@pytest.fixture(scope="module")
def raw() -> bytes:
    """Return plan.json of the small place."""
    return report.outputs(small_results())["plan.json"]


def test_a_plan_is_read_in_metric(raw, tmp_path):
    """10 hours (8 to 13) and 1 l (0.8 to 1.3) of the first visit, 2 ha of the first strip."""
    last = last_plan(laid(tmp_path, raw))
    first = last.visits.iloc[0]
    hours = tuple(first[["hours", "hours_low", "hours_high"]])
    product = tuple(first[["product_l", "product_low_l", "product_high_l"]])
    assert hours == pytest.approx((10, 8, 13))
    assert product == pytest.approx((1, 0.8, 1.3), rel=2e-3)  # written to a tenth of an ounce
    assert last.strips["1a"]["area_ha"] == pytest.approx(2.0)
    assert last.since_last is None


def test_a_metric_plan_is_read_in_the_same_units(tmp_path):
    """The owner's units do not matter."""
    last = last_plan(laid(tmp_path, report.outputs(small_results(units="metric"))["plan.json"]))
    assert last.visits.iloc[0]["product_l"] == pytest.approx(1.0)
    assert last.strips["1a"]["area_ha"] == pytest.approx(2.0)


@pytest.mark.parametrize(
    "damage",
    [b"", b"{", b"[]", b"{}", b"\xff\xfe", b"null", b'{"strips": NaN}', b"[" * 100_000,
     b'{"strips": [], "visits": [], "years": []}'],
)  # fmt: skip
def test_a_damaged_plan_is_no_problem(damage, tmp_path):
    """It is as if there were none."""
    assert last_plan(laid(tmp_path, damage)) is None


def test_a_missing_plan_is_none(tmp_path):
    """A new folder has none."""
    assert last_plan(tmp_path) is None


@pytest.mark.parametrize("keep", [0.1, 0.5, 0.999])
def test_half_a_plan_is_none(raw, keep, tmp_path):
    """A file that was cut off is not used."""
    assert last_plan(laid(tmp_path, raw[: int(keep * len(raw))])) is None


@pytest.mark.parametrize("name", ["inputs", "since_last", "learned", "visits", "strips", "years"])
def test_a_plan_of_another_version_is_none(raw, name, tmp_path):
    """Without one of its parts it is of another version."""
    said = {key: one for key, one in json.loads(raw).items() if key != name}
    assert last_plan(laid(tmp_path, json.dumps(said).encode())) is None


@pytest.mark.parametrize("cell", ["1e999", '"ten"', "[]", "true"])
def test_a_number_that_is_none_spoils_the_plan(raw, cell, tmp_path):
    """Hours that are no finite number are not read as hours."""
    said = json.loads(raw)
    said["visits"][0]["hours"] = "here"
    text = json.dumps(said).replace('"here"', cell, 1)
    assert last_plan(laid(tmp_path, text.encode())) is None


def test_a_huge_plan_is_none(raw, tmp_path, monkeypatch):
    """A file over the limit is not read."""
    monkeypatch.setattr(room, "MOST_BYTES", len(raw) - 1)
    assert last_plan(laid(tmp_path, raw)) is None


def test_hostile_names_are_read_as_they_are(tmp_path):
    """Names that mean harm are texts."""
    made = small_results(HOSTILE)
    strips = made.strips.assign(strip_id=made.strips["strip_id"].replace("3", HOSTILE))
    plan = report.outputs(replace(made, strips=strips))["plan.json"]
    assert HOSTILE in last_plan(laid(tmp_path, plan)).strips
