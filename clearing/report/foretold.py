"""Set what the last plan foretold beside what was logged and counted since."""

import pandas as pd

from clearing import effort, records, schedule
from clearing.property import LastPlan, Results
from clearing.rates import for_settings
from clearing.records.counts import follow_counts, parted_tally, plots_in_strips
from clearing.records.done import most_of
from clearing.records.jobs import job_key
from clearing.report import names, words
from clearing.report.lesson_words import recipe_words
from clearing.report.log_facts import Foretold, KillFound
from clearing.report.pieces import Pair, Pairs, Three, begun_in, finder
from clearing.report.visit_facts import plain_rows
from clearing.tables import cell_text


def foretold_rows(pairs: Pairs, us: bool) -> tuple[Foretold, ...]:
    """Return hours and product of each year, foretold and as the log has them.

    Ranges are joined as `schedule.together` joins them. Product is told for each herbicide, and
    where the log names the same one or none.

    Parameters
    ----------
    pairs : Pairs
        As `pieces.pair_up` gives them.
    us : bool
        Whether the owner speaks gallons.

    References
    ----------
    own reasoning
    """
    groups: dict[tuple[int, str, str], list[Pair]] = {}
    for pair in pairs.both:
        if pair.took["hours"] > 0:
            groups.setdefault((pair.year, "hours", ""), []).append(pair)
        if pair.took["product_l"] > 0 and pair.herbicide:
            groups.setdefault((pair.year, "product", pair.herbicide), []).append(pair)
    return tuple(_row(key, groups[key], us) for key in sorted(groups))


def _row(key: tuple[int, str, str], own: list[Pair], us: bool) -> Foretold:
    """Return one year's hours or product."""
    year, kind, herbicide = key
    name = "hours" if kind == "hours" else "product_l"
    parts: dict[str, list[Three]] = {}
    within = 0
    for pair in own:
        for strip, ends in pair.foretold[name].items():
            parts.setdefault(strip, []).extend(ends)
        _, least, most = schedule.together(pair.foretold[name])
        within += least <= pair.took[name] <= most
    value, low, high = schedule.together(parts)
    took = float(sum(pair.took[name] for pair in own))
    inside = low <= took <= high
    amount = words.hours(value, low, high)
    factor, spent = 1.0, f"{words.said(took)} hours"
    if kind == "product":
        amount = words.volume((value, low, high), us)
        factor = words.LITRES[amount.unit]
        spent = f"{words.said(took / factor)} {amount.unit}"
    of = f", {names.herbicide_name(herbicide)}" if herbicide else ""
    where = "inside that range" if inside else "over it" if took > high else "under it"
    many = f"{len(own)} {'piece' if len(own) == 1 else 'pieces'} of work"
    text = f"{year}{of}: {amount.words} foretold for {many}; the log has {spent}, {where}."
    return Foretold(
        year, kind, herbicide, amount.value, amount.low, amount.high, took / factor, amount.unit,
        bool(inside), len(own), int(within), text,
    )  # fmt: skip


def kills_found(results: Results, last: LastPlan) -> tuple[KillFound, ...]:
    """Return the kill that was thought of each recipe and species beside what was counted since.

    Thought: as the last plan had learned it, else the handbook's. Nothing is told of counts that
    the last plan knew.

    Parameters
    ----------
    results : Results
        What the walk gave.
    last : LastPlan
        The last plan.

    References
    ----------
    own reasoning
    """
    table = results.lessons
    if not len(table):
        return ()
    whole = table[(table["kind"] == "kill") & (table["season"] == "") & (table["rows"] > 0)]
    if not len(whole):
        return ()
    book = for_settings(results.property.settings).recipes
    book = book.drop_duplicates("recipe_id").set_index("recipe_id")
    dead = dead_counted(results)
    out = []
    for row in plain_rows(whole.sort_values(["subject", "item"])):
        key, counted = (str(row["item"]), str(row["subject"])), int(row["rows"])
        died, seen = dead.get(key, (0, 0))
        thought = last.learned.get(("kill", key[1], key[0], ""))
        if seen != counted or (thought is not None and thought[3] == counted):
            continue
        ends: tuple[float, ...] = (float(row["was"]),) * 3
        if thought is not None:
            ends = thought[:3]
        elif key[0] in book.index:
            ends = tuple(float(book.at[key[0], one]) for one in ("kill", "kill_low", "kill_high"))
        out.append(_kill(key, ends, (died, counted), results))
    return tuple(out)


def _kill(
    key: tuple[str, str], ends: tuple[float, ...], counts: tuple[int, int], results: Results
) -> KillFound:
    """Return one kill in words."""
    (recipe, species), (died, counted) = key, counts
    value, low, high = (100.0 * end for end in ends)
    share = 100.0 * died / counted
    inside = low <= share <= high
    thought = words.counted((value, low, high), "%").words
    where = "inside that range" if inside else "over it" if share > high else "under it"
    what = f"{recipe_words(results.rates, recipe)} on {names.species_name(species)}"
    text = (
        f"{what}: {thought} of the stems were thought to die; {died} of {counted} counted are "
        f"dead, {words.said(share)} %, {where}."
    )
    return KillFound(recipe, species, value, low, high, died, counted, share, bool(inside), text)


def dead_counted(results: Results) -> dict[tuple[str, str], tuple[int, int]]:
    """Return the stems found dead, and all that were counted, by recipe and species.

    As `records.learn_kills` counts them: on plots looked at after the first treatment of their
    strip, of the classes that were treated.

    Parameters
    ----------
    results : Results
        What the walk gave.

    References
    ----------
    own reasoning
    """
    begun, tally = _begun(results), results.property.tally
    if not len(begun) or not len(tally) or not len(results.methods):
        return {}
    strip_of = plots_in_strips(results.plots, results.strips)
    _, after = parted_tally(tally, strip_of, begun.set_index("strip_id")["day"].to_dict())
    found = follow_counts(after, strip_of, results.rates.sizes)
    own = effort.begun_methods(results.methods, begun)
    own = own[(own["method"] != "not_now") & (own["recipe_id"].map(cell_text) != "")]
    own = own.drop_duplicates(["strip_id", "species", "size_class"]).assign(season="")
    counts = records.kill_counts(
        found, own[["strip_id", "species", "size_class", "recipe_id", "season"]]
    )
    out: dict[tuple[str, str], tuple[int, int]] = {}
    for (recipe, species), part in counts.groupby(["recipe_id", "species"]):
        kin = results.rates.handbook_species(str(species))
        name = str(recipe).removeprefix(f"{kin}:") if _shared(str(recipe), kin) else str(recipe)
        died, lived = round(float(part["dead"].sum())), round(float(part["alive"].sum()))
        old = out.get((name, str(species)), (0, 0))
        out[name, str(species)] = (old[0] + died, old[1] + died + lived)
    return out


def _shared(recipe: str, species: str) -> bool:
    """Return whether a recipe is one for any species that counts have made a species' own."""
    return recipe.startswith(f"{species}:any:")


def _begun(results: Results) -> pd.DataFrame:
    """Return what was begun as `records.first_treatments` has it, and the day it was begun."""
    years, find = begun_in(results), finder(results)
    log = records.in_force(results.property.records)
    rows: dict[str, list[tuple[pd.Timestamp, str, str, object]]] = {}
    for row in log.to_dict("records"):
        day, job = pd.Timestamp(row["date"]), job_key(row["job"])
        if job not in effort.FIRST_JOBS:
            continue
        meant = records.products_meant(cell_text(row["herbicide"]), results.rates)
        product = meant[0] if len(meant) == 1 else ""
        for strip in find(row["strip_id"]):
            if strip in years and years[strip] <= day.year <= years[strip] + 1:
                rows.setdefault(strip, []).append((day, job, product, row["product_l"]))
    out = []
    for strip, own in rows.items():
        day, job, *_ = min(own, key=lambda one: one[0])
        jobs, products = {one[1] for one in own}, {one[2] for one in own} - {""}
        most = most_of(pd.Series([one[2] for one in own]), pd.Series([one[3] for one in own]))
        together = (" ".join(sorted(each)) for each in (jobs, products))
        out.append((strip, years[strip], job, most, day, *together))
    names_of = ["strip_id", "start_year", "job", "herbicide", "day", "jobs", "products"]
    return pd.DataFrame(out, columns=names_of)
