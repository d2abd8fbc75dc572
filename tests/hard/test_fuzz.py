"""Whatever bytes stand in a file, reading gives a property or sentences, and changes nothing.

CLEARING_FUZZ=200 runs two hundred times as many damages, with other seeds.
"""

import os
import random
import shutil
import time
import zipfile
from pathlib import Path

import geopandas as gpd
import pytest
import shapely
from PIL import Image

import clearing
from clearing.files.log_file import file_rows, keyed
from clearing.property import Property
from tests.files.formats import save
from tests.hard.damage import content
from tests.hard.ground import GRID, LAND, LOG, PINS, TALLY, TOML, WORK, lay_out, layers

ROUNDS = int(os.environ.get("CLEARING_FUZZ", "1"))
EACH = 5  # damages of a file in a round
LONGEST_S = 20.0  # a read takes a tenth of a second; a loaded machine is no hang
WORDS = [b"0", b"-1", b"1e400", b"nan", b'"', b",", b"\n", b"\0", b"\xff\xfe", b"{", b"]", b"<",
         b"\xc3", b"999999999999999999999", b"=", b"[[", b"../", b"%s"]  # fmt: skip
PACKED = {"geojson": "GeoJSON", "kml": "LIBKML", "gpx": "GPX", "shp": "ESRI Shapefile"}
# file that is damaged -> the format of the blocks beside it
KINDS = {
    TOML: "geojson", TALLY: "gpkg", LOG: "geojson", PINS: "geojson", LAND: "gpkg",
    "aerial.tif": "geojson", "aerial.jpg": "geojson", "aerial.png": "geojson",
    "blocks.geojson": "geojson", "blocks.kml": "kml", "blocks.kmz": "kmz", "blocks.gpx": "gpx",
    "blocks.shp": "shp", "blocks.shx": "shp", "blocks.dbf": "shp", "blocks.prj": "shp",
}  # fmt: skip


def blocks_in(home: Path, ending: str) -> None:
    """Put the blocks into a file of another format, in the place of the package."""
    (home / LAND).unlink()
    (home / TALLY).unlink()
    frame = gpd.GeoDataFrame(layers()["blocks"], crs=GRID)
    frame = frame if ending == "shp" else frame.to_crs(4326)
    if ending == "gpx":
        lines = [shapely.MultiLineString([shape.exterior]) for shape in frame.geometry]
        frame = frame[["name"]].set_geometry(gpd.GeoSeries(lines, crs=frame.crs))
    written = "kml" if ending == "kmz" else ending
    layer = "tracks" if ending == "gpx" else "blocks"
    save(frame, home / f"blocks.{written}", layer, PACKED[written])
    if ending == "kmz":
        with zipfile.ZipFile(home / "blocks.kmz", "w", zipfile.ZIP_DEFLATED) as packed:
            packed.write(home / "blocks.kml", "doc.kml")
        (home / "blocks.kml").unlink()


@pytest.fixture(scope="module")
def homes(tmp_path_factory):
    """Return a sound small property for each kind of file."""
    root = tmp_path_factory.mktemp("sound")
    sound = lay_out(root / "sound")
    out = {}
    for name, ending in KINDS.items():
        home = out[name] = root / name.replace(".", "_")
        shutil.copytree(sound, home)
        if ending != "gpkg":
            blocks_in(home, ending)
        if name.startswith("aerial") and name != "aerial.tif":
            Image.effect_noise((32, 16), 40).convert("RGB").save(home / name)
        if name != "aerial.tif":
            (home / "aerial.tif").unlink()
    return out


def damaged(raw: bytes, dice: random.Random) -> bytes:
    """Return bytes with a few flipped, cut out, put in, said twice or in another order."""
    out = bytearray(raw)
    for _ in range(dice.choice((1, 1, 2, 8))):
        at = dice.randrange(len(out) + 1)
        far = min(len(out), at + dice.choice((1, 2, 16, 400)))
        match dice.randrange(7):
            case 0:
                out[at:far] = bytes(dice.randrange(256) for _ in range(far - at))
            case 1:
                del out[at:]
            case 2:
                del out[at:far]
            case 3:
                out[at:at] = dice.choice(WORDS)
            case 4:
                out[at:at] = out[at:far]
            case 5 if at < len(out):
                out[at] ^= 1 << dice.randrange(8)
            case _:
                out[at : at + 1] = dice.choice(WORDS)
    return bytes(out)


@pytest.mark.parametrize("name", KINDS)
@pytest.mark.parametrize("turn", range(ROUNDS))
def test_any_bytes_are_a_property_or_sentences(name, turn, homes):
    """A file with damaged bytes is read or refused in words, soon, and stays as it is."""
    home, dice = homes[name], random.Random(f"{name} {turn}")
    sound = (home / name).read_bytes()
    try:
        for _ in range(EACH):
            (home / name).write_bytes(damaged(sound, dice))
            before, started = content(home), time.perf_counter()
            try:
                found = clearing.read(home)
            except clearing.InputError as told:
                found = told
            assert isinstance(found, Property) or all(said.strip() for said in found.problems)
            assert isinstance(found, Property) or found.problems
            assert time.perf_counter() - started < LONGEST_S
            assert content(home) == before
    finally:
        (home / name).write_bytes(sound)


@pytest.mark.parametrize("turn", range(ROUNDS))
def test_any_bytes_from_the_phone_are_rows_or_sentences(turn):
    """A damaged log of a phone gives rows that can be keyed, or says in words why not."""
    sound, dice = WORK.replace("record_id,", "").replace("\n1,", "\n").encode(), random.Random(turn)
    for _ in range(40):
        try:
            rows, refused = file_rows(damaged(sound, dice), "phone.csv")
        except clearing.InputError as told:
            rows, refused = {}, dict(enumerate(told.problems))
            assert refused
        assert len(keyed(rows.values())) == len(rows)
        assert all(said for said in refused.values())
