"""Show the ground by what is done there: a sign for each job, a piece for each job of a strip."""

from typing import Any

import geopandas as gpd
import pandas as pd

from clearing.property import Results
from clearing.report import look, names
from clearing.report.facts import Summary

ORANGE, BLUE, AMBER, GREEN = (
    look.sign(key).colour for key in ("standing_dead", "cut", "follow_up", "grass")
)
# jobs share the colour of the state that they leave; each has a second sign of its own
WAYS: tuple[look.Sign, ...] = (
    look.Sign("hack_and_squirt", names.JOBS["hack_and_squirt"], ORANGE, "rising", "solid"),
    look.Sign("basal_bark", names.JOBS["basal_bark"], ORANGE, "upright", "solid"),
    look.Sign("cut_and_spray", names.JOBS["cut_and_spray"], BLUE, "solid", "solid"),
    look.Sign("hand_work", names.JOBS["hand_work"], BLUE, "crosses", "solid"),
    look.Sign("mow_down", names.JOBS["mow_down"], GREEN, "level", "solid"),
    look.Sign("foliar", names.JOBS["foliar"], AMBER, "dots", "solid"),
    look.Sign("call_utility", names.JOBS["call_utility"], look.KEEP_OUT, "falling", "solid"),
    look.Sign("left", names.JOBS["left"], "", "none", "solid"),
    look.Sign("not_now", look.sign("not_now").words, "", "none", "dashed"),
)
SEEDLING_CM2 = 1e-6  # so that seedlings are weighed against each other alone
OF_METHOD = {  # where no recipe of a zone says more: what the method does with its trunks
    "hack_and_leave": "hack_and_squirt",
    "hack_then_fell": "hack_and_squirt",
    "split": "hack_and_squirt",
    "cut_and_spray": "cut_and_spray",
    "basal_bark": "basal_bark",
    "foliar": "foliar",
    "mow_then_spray": "mow_down",
}


def way_pieces(results: Results, summary: Summary) -> list[tuple[str, str, Any]]:
    """Return the pieces of each strip: strip_id, key of the sign, geometry in the grid.

    A zone carries the sign of the job that takes most of its wood in the first treatment; zones
    of the same sign are one piece.

    References
    ----------
    own reasoning
    """
    jobs = zone_jobs(results)
    shapes = results.zones.set_index("zone_id").geometry
    out: list[tuple[str, str, Any]] = []
    for strip in summary.strips:
        whole = results.strips.loc[results.strips["strip_id"] == strip.strip_id].geometry.iloc[0]
        if strip.start_year is None and strip.method_key == "not_now":
            out.append((strip.strip_id, "not_now", whole))
            continue
        rest = OF_METHOD.get(strip.method_key, "left")
        zones = results.zones.loc[results.zones["strip_id"] == strip.strip_id, "zone_id"]
        signs = [jobs.get((strip.strip_id, zone), rest) for zone in zones]
        own = gpd.GeoSeries(shapes.reindex(zones).to_numpy(), index=signs)
        parts = [(strip.strip_id, str(key), part.union_all()) for key, part in own.groupby(level=0)]
        out += parts or [(strip.strip_id, rest, whole)]
    return out


def zone_jobs(results: Results) -> dict[tuple[str, str], str]:
    """Return for each strip and zone the job that takes most of its wood in the chosen method.

    Stems weigh by their thickness squared, so that trunks speak and not the many seedlings; where
    there is nothing but seedlings, by their number.

    Parameters
    ----------
    results : Results
        What the walk gave; zones without stems are not in the answer.

    References
    ----------
    own reasoning
    """
    methods, options = results.methods, results.plan.options
    if not len(methods) or not len(options):
        return {}
    chosen = dict(zip(options["strip_id"], options["method_id"], strict=True))
    rows = methods[methods["method_id"] == methods["strip_id"].map(chosen)]
    middle = results.rates.sizes.set_index("size_class")["mid_cm"].astype(float)
    wood = rows["stems"] * (rows["size_class"].map(middle).fillna(0.0) ** 2 + SEEDLING_CM2)
    sums = wood.groupby([rows["strip_id"], rows["zone_id"], rows["job"]]).sum()
    sums = sums[sums > 0]
    if not len(sums):
        return {}
    most = pd.DataFrame(list(sums.groupby(level=[0, 1]).idxmax()), columns=["strip", "zone", "job"])
    return {(row.strip, row.zone): row.job for row in most.itertuples()}
