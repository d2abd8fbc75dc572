"""Read the owner's folder: settings, layers and tables, with every problem at once."""

from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd

from clearing import land
from clearing.asking import as_written
from clearing.errors import InputError
from clearing.files.headings import own_headings
from clearing.files.last_plan import last_plan
from clearing.files.layers import ENDINGS, PACKED, find_layer, no_file, open_layer
from clearing.files.log_lines import LOG, log_table, take_apart
from clearing.files.outlines import (
    closed_lines,
    flat_shapes,
    no_system,
    single_points,
    strange_system,
)
from clearing.files.passed_over import passed_over
from clearing.files.photo import find_photo, photo_note, photo_outline, photo_problems
from clearing.files.plain_tables import plain_text, read_table
from clearing.files.strays import NOT_READ, strayed, strayed_layer
from clearing.files.together import healed
from clearing.files.toml_words import parsed
from clearing.files.twice import second_places
from clearing.files.two_units import unlike_units
from clearing.property import Property, Settings
from clearing.rates import handbook_table
from clearing.settings import settings_from
from clearing.tables import (
    cell_text,
    check,
    column_file,
    did_you_mean,
    name_list,
    rows_named,
    shortened,
    to_metric,
)

LAYERS = ("blocks", "strips", "keep_trees", "features", "plots")
POINTS = ("keep_trees", "plots")
UNREAD = "unread"  # marks a layer whose file cannot be read
AREAS = {"blocks": "block", "strips": "strip"}


def read(folder: str | Path) -> Property:
    """Return the property in a folder, checked and in metric.

    Parameters
    ----------
    folder : path
        Holds property.toml, tally.csv, records.csv, a photo (aerial.tif, .jpg or .png), and the
        layers: each in a file of its own (blocks.geojson, .gpkg, .shp, .kml, .kmz, .gpx) or
        together in land.gpkg, land.kml, land.kmz or land.gpx. Only the blocks and property.toml
        must be there.

    Raises
    ------
    InputError
        Lists every problem of every file at once.

    References
    ----------
    own reasoning
    """
    home = Path(folder)
    if not home.is_dir():
        raise InputError([f"there is no folder {home}; name the property's folder"], str(home))
    healed(home)
    settings, problems = read_settings(home)
    layers: dict[str, gpd.GeoDataFrame] = {}
    notes: list[str] = []
    for name in LAYERS:
        layers[name], found = _layer(home, name, settings is None or settings.us, notes)
        problems += found
    problems = _said_once(problems)
    out = home / "out"
    if out.is_symlink() or out.exists():
        problems += [] if out.is_dir() else [f"out {no_file(out, 'folder')}"]
    tables: dict[str, pd.DataFrame] = {}
    tables["tally"], found = _table(home, "tally")
    problems += found
    tables["records"], faults, found = read_log(home)
    problems += found
    problems += _cross_problems(layers, tables, settings)
    us = settings is None or settings.us
    photo, found = _photo(home)
    problems += land.shape_problems(layers, us, photo_outline(photo))
    problems += found
    if problems or settings is None:
        raise InputError(problems, home.name)
    note = photo_note(photo)
    notes = [*([note] if note else []), *notes, *passed_over(home)]
    return Property(
        settings=settings,
        **layers,
        **tables,
        photo=None if note else photo,
        notes=tuple(notes),
        log_faults=tuple(faults),
        last=last_plan(home),
    )


def _said_once(problems: list[str]) -> list[str]:
    """Return problems of layers in which what is said of several is said once, of the file."""
    tails = [problem.partition(": ")[2] for problem in problems]
    packed = {t for t in tails if tails.count(t) > 1 and (t.startswith(PACKED) or NOT_READ in t)}
    once = [
        tail if tail in packed else problem for tail, problem in zip(tails, problems, strict=True)
    ]
    return list(dict.fromkeys(once))


def _photo(home: Path) -> tuple[Path | None, list[str]]:
    """Return the photo and its problems."""
    try:
        photo = find_photo(home)
    except InputError as cause:
        return None, cause.problems
    return photo, photo_problems(photo)


def read_settings(home: Path) -> tuple[Settings | None, list[str]]:
    """Return the settings of a folder (none where they cannot be read) and their problems.

    References
    ----------
    own reasoning
    """
    path = home / "property.toml"
    if not path.exists():
        missing = strayed(home, path.name)
        missing = missing or f"property.toml is missing in {home.name}; 'clearing new' writes one"
        return None, [missing]
    try:
        raw = parsed(plain_text(path))
    except InputError as found:
        return None, found.problems
    return settings_from(raw)


def _layer(home: Path, name: str, us: bool, notes: list[str]) -> tuple[gpd.GeoDataFrame, list[str]]:
    """Return one layer from whichever file holds it, checked and in metric; remarks are added."""
    twice: list[str] = []
    try:
        source = find_layer(home, name)
        raw = None if source is None else open_layer(source)
        if source and source.beside:
            remarks, twice = second_places(source, name)
            notes += remarks
    except InputError as cause:
        empty = _empty_layer(name)
        empty.attrs[UNREAD] = True
        return empty, [f"{name}: {problem}" for problem in cause.problems]
    if source is None or raw is None:
        missing = f"blocks: no layer 'blocks' in {' or '.join(PACKED)} and no file blocks.geojson, "
        missing += f".{', .'.join(ENDINGS[1:])}; draw one"
        near = strayed_layer(home, name)
        said = [f"{name}: {near}"] if near else [missing] if name == "blocks" else []
        empty = _empty_layer(name)
        empty.attrs[UNREAD] = bool(near)
        return empty, said
    twice = [f"{name}: {problem}" for problem in twice]
    if not len(raw):
        none = [f"blocks: {source.path.name} holds no shapes; draw a block"]
        return _empty_layer(name), twice or (none if name == "blocks" else [])
    raw, problems = own_headings(raw, name, source.ending)
    problems += twice
    raw = flat_shapes(_apart(raw) if name == "features" else raw)
    lines: list[str] = []
    strange = "" if raw.crs is None else strange_system(raw.crs)
    if strange:
        problems.append(f"{name}: {source.path.name} states {strange}")
        raw = raw.set_crs(None, allow_override=True)
    elif raw.crs is None:
        problems.append(no_system(name, source.path, raw))
    elif name in AREAS:
        called = rows_named(pd.DataFrame(raw), f"{AREAS[name]}_id").tolist()
        raw, lines = closed_lines(raw, AREAS[name], called, us)
    typed, found = check(pd.DataFrame(raw).drop(columns=land.ENDS_APART, errors="ignore"), name)
    if lines:  # each has its own sentence
        found = [problem for problem in found if "line; an area is" not in problem]
    problems += [*lines, *unlike_units(typed, name)]
    metric = to_metric(typed)
    if name in POINTS:
        word = name.removesuffix("s").removeprefix("keep_")
        called = rows_named(metric, f"{word}_id")
        called = [f"{name}: {word} {each}" for each in called]
        metric["geometry"], several = single_points(metric["geometry"], called)
        found += several
    if land.ENDS_APART in raw:
        metric[land.ENDS_APART] = raw[land.ENDS_APART]
    return gpd.GeoDataFrame(metric, geometry="geometry", crs=raw.crs), problems + found


def _apart(layer: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """Return a layer in which each part of a collection is a row of its own."""
    while (mixed := layer.geom_type == "GeometryCollection").any():
        parts = layer[mixed].explode(index_parts=False)
        parts = parts[~parts.geometry.is_empty]
        layer = pd.concat([layer[~mixed], parts]).sort_index(kind="stable")
    return layer.reset_index(drop=True)


def _empty_layer(name: str) -> gpd.GeoDataFrame:
    """Return a layer without rows and with the described columns in metric."""
    described = column_file(name)["column"].tolist()
    frame = pd.DataFrame({column: pd.Series(dtype="object") for column in described})
    return gpd.GeoDataFrame(to_metric(frame), geometry="geometry", crs="EPSG:4326")


def _table(home: Path, name: str) -> tuple[pd.DataFrame, list[str]]:
    """Return a CSV table other than the log, checked and in metric."""
    path = home / f"{name}.csv"
    described = column_file(name)["column"].tolist()
    if not path.exists():
        near = strayed(home, path.name)
        empty = to_metric(pd.DataFrame({c: pd.Series(dtype="object") for c in described}))
        return empty, [f"{name}: {near}"] if near else []
    try:
        raw, odd = read_table(path, name)
    except InputError as found:
        return pd.DataFrame(columns=described), [f"{name}: {said}" for said in found.problems]
    typed, problems = check(raw, name)
    problems = [f"{name}: {said}" for said in odd] + problems + unlike_units(typed, name)
    if name == "tally" and {"dbh_in", "dbh_cm", "size"} <= set(typed):
        given = raw.reindex(columns=["dbh_in", "dbh_cm", "size"], fill_value="")
        unsized = (given.map(cell_text) == "").all(axis=1)
        unsized &= pd.to_numeric(typed["count"], errors="coerce").fillna(0) > 0
        if unsized.any() and not any("has no unit" in problem for problem in problems):
            which = name_list(rows_named(typed, None)[unsized])
            problems.append(
                f"tally: {which} {'has' if unsized.sum() == 1 else 'have'} neither a diameter nor "
                "a size; write dbh_in, dbh_cm or a size word"
            )
    return to_metric(typed).reset_index(drop=True), problems


def read_log(home: Path) -> tuple[pd.DataFrame, list[str], list[str]]:
    """Return the log in metric with each row's line, what was set aside, and its problems.

    A damaged row is set aside and told; the file itself stays as it is. Only a file of which
    nothing can be used is a problem.

    References
    ----------
    own reasoning
    """
    path = home / LOG
    described = column_file("records")["column"].tolist()
    empty = to_metric(pd.DataFrame({c: pd.Series(dtype="object") for c in described}))
    empty = _numbers_as_such(empty)
    empty["line"] = pd.Series(dtype=int)
    try:
        raw = path.read_bytes()
    except FileNotFoundError:
        near = strayed(home, LOG)
        return empty, [], [f"records: {near}"] if near else []
    except OSError as cause:
        words = "it is a folder" if path.is_dir() else (cause.strerror or str(cause)).lower()
        return empty, [], [f"records: {LOG} cannot be read: {words}"]
    try:
        file = take_apart(raw)
    except InputError as cause:
        return empty, [], cause.problems
    if not file.header:
        return empty, [f"{LOG} is empty; its first line names the columns, such as date"], []
    text, faults = log_table(file)
    typed, _ = check(text, "records")
    metric = _numbers_as_such(to_metric(typed))
    metric["line"] = text["line"].astype(int)
    metric.attrs["set_aside"] = text.attrs["set_aside"]
    return metric, faults, []


def _numbers_as_such(log: pd.DataFrame) -> pd.DataFrame:
    """Return the log with numbers in its number columns, also where nothing stands in one."""
    described = column_file("records").set_index("column")["kind"]
    numbers = [c for c in log if described[c] in ("number", "integer")]
    return log.assign(**{c: pd.to_numeric(log[c], errors="coerce").astype(float) for c in numbers})


def _cross_problems(
    layers: dict[str, gpd.GeoDataFrame],
    tables: dict[str, pd.DataFrame],
    settings: Settings | None,
) -> list[str]:
    """Return what does not fit between tables: plots, blocks and species that nobody knows."""
    problems = []
    plots = set(layers["plots"]["plot_id"].dropna()) if "plot_id" in layers["plots"] else set()
    tallied = tables["tally"]["plot_id"].dropna().unique()
    lost = [plot for plot in tallied if plot not in plots]
    unread = len(layers["plots"]) or layers["plots"].attrs.get(UNREAD)
    if lost and (plots or not unread):
        alike = {str(plot).lower(): plot for plot in plots}
        near = [alike[str(plot).lower()] for plot in lost if str(plot).lower() in alike]
        meant = f" (did you mean {name_list(near)}?)" if near else ""
        problems.append(
            f"tally: plot {name_list(lost)} is counted and not drawn in the layer plots{meant}"
        )
    problems += _unvisited_problems(layers["plots"], tallied)
    blocks = set(layers["blocks"]["block_id"].dropna()) if "block_id" in layers["blocks"] else set()
    if "block_id" in layers["strips"] and blocks:
        astray = [b for b in layers["strips"]["block_id"].dropna().unique() if b not in blocks]
        if astray:
            problems.append(f"strips: block {name_list(astray)} is not in the layer blocks")
    problems += _circle_problems(layers["plots"], settings)
    return problems + _species_problems(layers, tables, settings)


def _unvisited_problems(plots: gpd.GeoDataFrame, tallied: np.ndarray) -> list[str]:
    """Return a sentence when stems were counted in plots that are said to be unvisited."""
    if not {"plot_id", "visited"} <= set(plots):
        return []
    stray = plots["visited"].map(lambda cell: cell is False) & plots["plot_id"].isin(tallied)
    if not stray.any():
        return []
    return [
        f"plots: plot {name_list(plots['plot_id'][stray])} is not visited and has rows in "
        "tally.csv; write yes, or take the rows out"
    ]


def _circle_problems(plots: gpd.GeoDataFrame, settings: Settings | None) -> list[str]:
    """Return a sentence when plots have an inner circle larger than the whole plot."""
    if not {"plot_id", "radius_m", "small_radius_m"} <= set(plots):
        return []
    sizes = [settings.plot_radius_m, settings.small_radius_m] if settings else [None, None]
    outer, inner = (
        pd.to_numeric(plots[column], errors="coerce").fillna(np.nan if size is None else size)
        for column, size in zip(("radius_m", "small_radius_m"), sizes, strict=True)
    )
    problems = []
    if "small_below_cm" in plots:
        size = settings.small_below_cm if settings else None
        below = pd.to_numeric(plots["small_below_cm"], errors="coerce")
        open_ended = inner.notna() & below.fillna(np.nan if size is None else size).isna()
        if open_ended.any():
            problems.append(
                f"plots: plot {name_list(plots['plot_id'][open_ended])} has an inner circle and no "
                "small_below_in (or small_below_cm); say which stems were counted in it"
            )
    wrong = plots.index[inner > outer + 1e-9]
    if not len(wrong):
        return problems
    us = settings is None or settings.us
    first = [land.distance_words(circle[wrong[0]], us) for circle in (inner, outer)]
    return [
        *problems,
        f"plots: in plot {name_list(plots['plot_id'][wrong])} the inner circle ({first[0]}) is "
        f"larger than the whole plot ({first[1]}); the small stems belong in the smaller circle",
    ]


def _species_problems(
    layers: dict[str, gpd.GeoDataFrame],
    tables: dict[str, pd.DataFrame],
    settings: Settings | None,
) -> list[str]:
    """Return a sentence for every species that neither handbook nor settings know."""
    known = set(handbook_table("names")["species"]) - {"any"}
    own = settings.species if settings else {}
    problems = []
    for name, given in own.items():
        if str(given.get("like", "")) not in known and name not in known:
            like = f"is {as_written(given['like'])}" if "like" in given else "is missing"
            problems.append(
                f"property.toml: [species.{name}] like {like}; name a species of the handbook"
                f"{did_you_mean(str(given.get('like')), known)}"
            )
    known |= set(own)
    used = {
        "property.toml [targets]": settings.targets if settings else (),
        "blocks": _targets_of(layers["blocks"]),
        "tally": tables["tally"]["species"].dropna().unique(),
        "keep_trees": layers["keep_trees"].get("species", pd.Series(dtype=str)).dropna().unique(),
    }
    for where, names in used.items():
        for name in sorted(set(names) - known):
            near = did_you_mean(name, known)
            problems.append(
                f"{where}: species {shortened(name)!r} is not known{near}; use a name of the "
                f"handbook or add [species.{name}] with like = one of them"
            )
    return problems


def _targets_of(blocks: gpd.GeoDataFrame) -> list[str]:
    """Return the species that blocks name as their own targets."""
    texts = [text for text in blocks.get("targets", []) if isinstance(text, str)]
    return [name for text in texts for name in text.replace(",", " ").split()]
