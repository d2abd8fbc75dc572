"""Pins are kept whole, and places are taken as phones show them."""

import pandas as pd
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from clearing.errors import InputError
from clearing.files.pins import parse_place, read_pins, save_pins

PINS = [
    {"pin": "gate", "column_px": 10.25, "row_px": 20, "longitude": -84.54321987, "latitude": 38.1},
    {"pin": "02", "column_px": 900, "row_px": 33.5, "longitude": -84.5, "latitude": 38.2},
]


def test_pins_come_back_as_they_were_kept(tmp_path):
    """Names as text, numbers to a hundredth of a pixel and a millimetre; no file, no pins."""
    assert read_pins(tmp_path).empty
    kept = save_pins(tmp_path, PINS)
    assert kept["pin"].tolist() == ["gate", "02"]
    pd.testing.assert_frame_equal(kept, read_pins(tmp_path))
    pd.testing.assert_frame_equal(kept.drop(columns="pin"), pd.DataFrame(PINS).drop(columns="pin"),
                                  check_dtype=False, atol=1e-8)  # fmt: skip
    assert save_pins(tmp_path, []).empty


def test_earlier_pins_are_kept(tmp_path):
    """What the pins were before lies in the folder of earlier versions, word for word."""
    save_pins(tmp_path, PINS)
    before = (tmp_path / "photo_pins.csv").read_text()
    save_pins(tmp_path, PINS[:1])
    (earlier,) = (tmp_path / "earlier").iterdir()
    assert earlier.read_text() == before


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"latitude": 138}, "'latitude' is '138' in pin gate"),
        ({"column_px": -4}, "'column_px' is '-4' in pin gate"),
        ({"longitude": float("nan")}, "'longitude' is blank in pin gate"),
        ({"pin": "02"}, "'pin' is used twice: 02"),
    ],
)
def test_what_is_no_pin_is_not_kept(tmp_path, change, words):
    """A wrong number is named, and the pins that were there stay."""
    save_pins(tmp_path, PINS)
    with pytest.raises(InputError, match=words):
        save_pins(tmp_path, [PINS[0] | change, PINS[1]])
    assert len(read_pins(tmp_path)) == 2


@pytest.mark.parametrize("text", ["", "pin,row_px\na,1\n", "pin\n\xff", "a;b\n1;2\n"])
def test_a_spoilt_file_is_told(tmp_path, text):
    """Empty, cut or in another form: a sentence that names the file or the column."""
    (tmp_path / "photo_pins.csv").write_bytes(text.encode("latin-1"))
    with pytest.raises(InputError, match=r"photo_pins\.csv|is missing"):
        read_pins(tmp_path)


@pytest.mark.parametrize(
    "text",
    [
        "38.12345, -84.54321", "38.12345 -84.54321", "38.12345 N 84.54321 W", "38.12345N,84.54321W",
        "84.54321 W, 38.12345 N", "(38.12345, -84.54321)", "Lat: 38.12345 Lon: -84.54321",
        "38.12345° N, 84.54321° W", "38,12345; -84,54321", "38,12345 -84,54321",
        "38,12345, -84,54321", "N 38 07.407 W 084 32.5926", "38° 07.407' N 84° 32.5926' W",
        "geo:38.12345,-84.54321", "geo:38.12345,-84.54321?z=17", "+38.12345, \u221284.54321",
        "38\u00b007\u203224.42\u2033N 84\u00b032\u203235.556\u2033W", "N38:07:24.42 W84:32:35.556",
        "38°07'24.42\"N 84°32'35.556\"W", "38 07 24.42 N, 84 32 35.556 W",
        "38°07'24.42\" -84°32'35.556\"", "38.12345 north, 84.54321 west",
    ],
)  # fmt: skip
def test_one_place_in_all_its_forms(text):
    """Twenty-two ways to write one place, signs and letters before or behind, are the same."""
    assert parse_place(text) == pytest.approx((-84.54321, 38.12345), abs=1e-6)


@pytest.mark.parametrize(
    ("text", "lon", "lat"),
    [
        # U.S. Geological Survey: 45 degrees, 37 minutes, 57 seconds are 45.63250
        ("45 37 57 N 0 0 0 E", 0, 45.6325),
        # RFC 5870: its own examples, with height, uncertainty, system, and words it does not know
        ("geo:13.4125,103.8667", 103.8667, 13.4125),
        ("geo:48.2010,16.3695,183", 16.3695, 48.2010),
        ("geo:48.198634,16.371648;crs=wgs84;u=40", 16.371648, 48.198634),
        ("geo:66,30;u=6.500;FOo=this%2dthat", 30, 66),
    ],
)
def test_published_places_are_read(text, lon, lat):
    """Worked examples of others come out as they say."""
    assert parse_place(text) == pytest.approx((lon, lat), abs=1e-9)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no place stands here"), ("the gate", "no latitude and longitude"),
        ("38.1", "no latitude and longitude"), ("38,12345,-84,54321", "no latitude"),
        ("-84.5, 38.1", "were the two exchanged"), ("95, 10", "no tree grows"),
        ("38.1, -184", "outside -180 to 180"), ("38 75 N 84 W", "75 minutes"),
        ("38 10 60 N 84 W", "60 seconds"), ("38.5 10 N 84 W", "fraction before its last"),
        ("38 N 84 N", "one of N and S and one of E and W"), ("38 N", "one of N and S"),
        ("-38 S 84 W", "both a sign and a letter"), ("geo:1..2,3", "no two numbers"),
        ("geo:38.1,-84.5;crs=other", "no geo address"), ("x" * 500, "too long"),
        ("38.1 N 84.5 W 12", "no latitude and longitude"),
    ],
)  # fmt: skip
def test_what_is_no_place_is_told_in_a_sentence(text, words):
    """Each is refused with what is wrong, never a guess."""
    with pytest.raises(ValueError, match=words):
        parse_place(text)


@given(st.text(max_size=60))
def test_any_text_is_a_place_or_a_sentence(text):
    """Nothing else comes out, whatever is typed."""
    try:
        lon, lat = parse_place(text)
    except ValueError as sentence:
        lon = lat = 0.0
        said = str(sentence)
    else:
        said = "a place on the globe"
    assert len(said) > 10
    assert -180 <= lon <= 180
    assert -90 <= lat <= 90


@given(st.floats(-56, 72.5), st.floats(-180, 180), st.sampled_from(["deg", "min", "sec"]))
def test_degrees_minutes_and_seconds_say_the_same(lat, lon, form):
    """A place written by its parts comes back to a hundred-thousandth of a second's worth."""

    def written(size: float) -> str:
        whole = int(size)
        minutes = (size - whole) * 60
        if form == "deg":
            return f"{size:.9f}"
        if form == "min":
            return f"{whole} {min(minutes, 59.99999999):.8f}"
        return f"{whole}°{int(minutes)}'{min((minutes - int(minutes)) * 60, 59.999999):.6f}\""

    north, east = "S" if lat < 0 else "N", "W" if lon < 0 else "E"
    assume(abs(lat) + abs(lon) > 1e-6)  # nought and nought are no place
    text = f"{written(abs(lat))} {north} {written(abs(lon))} {east}"
    assert parse_place(text) == pytest.approx((lon, lat), abs=2e-8)


@pytest.mark.parametrize(
    "text",
    [
        "38'07 N, 84'32 W", "N38'07 W084'32", "38' N 84' W", "38.5' N 84.5' W", "38', -84'",
        "38`07 N 084`32 W", "38.5', -84.5'", "38°30 -84", "38°-07",
        "38° 30.5", "38 12", "38,12", "38 30.5", "45 30", "38,12 34", "38 12 34",
        "- 38.1, 84.5", "38.1 \u2013 84.5", "38.1, - 84.5", "\u2013 38.1 N, 84.5 W",
        "0, 0", "geo:0,0", "geo:0,0?q=the+gate", "geo:38.1,-84.5?q=39.1,-84.5", "0 N 0 W",
        "lat 38.1, -84.5", "lat 38.1 lat 84.5", "lat 38.1 lon 84.5 height 250",
        "lat 38.1 W lon 84.5 N", "12 lat 38.1 lon 84.5", "lat, lon: 84.5 W 38.1 N",
        "38.1 Nord, 84.5 West", "38.1 N, 84.5 O",
    ],
)  # fmt: skip
def test_what_can_be_read_in_two_ways_is_refused(text):
    """An apostrophe for a degree sign, one angle alone, a dash of a list, a word that does not fit.

    A wrong place is far worse than none.
    """
    with pytest.raises(ValueError, match="as the phone shows them"):
        parse_place(text)


@pytest.mark.parametrize(
    "text",
    [
        "lon -54.6 lat -25.5",
        "Longitude: -54.6, Latitude: -25.5",
        "Lng: -54.6; Lat: -25.5",
        "lon/lat: -54.6, -25.5",
        "lat, lon: -25.5, -54.6",
        "long 54.6 W lat 25.5 S",
        "-54.6 lon, -25.5 lat",
        "lat=-25.5&lon=-54.6",
        "geo:0,0?q=-25.5,-54.6(Gate)",
        "geo:-25.5,-54.6?z=3&q=-25.5%2C-54.6",
        "Latitude S 25 30 Longitude W 54 36",
    ],
)
def test_the_words_beside_the_numbers_decide_which_is_which(text):
    """Longitude may come first where it is called so, and geo: may ask for its place."""
    assert parse_place(text) == pytest.approx((-54.6, -25.5), abs=1e-9)


pieces = st.lists(
    st.sampled_from(["38", "07", "-84", "12.5", "5,25", "0", "+7", "N", "S", "E", "W", "lat", "lon",
                     "°", "'", '"', " ", " ", ", ", ",", ";", "- ", ":", "deg", "min", "geo:"]),
    max_size=14,
)  # fmt: skip


@given(pieces)
def test_what_is_taken_is_the_same_place_in_other_forms(parts):
    """Any text that is a place, written anew with signs, letters and minutes, is that place."""
    try:
        lon, lat = parse_place("".join(parts))
    except ValueError:
        return
    letters = f"{abs(lat):.9f} {'S' if lat < 0 else 'N'} {abs(lon):.9f} {'W' if lon < 0 else 'E'}"
    minutes = " ".join(
        f"{letter[size < 0]} {int(abs(size))}° {abs(size) % 1 * 60:.8f}'"
        for size, letter in ((lat, "NS"), (lon, "EW"))
    )
    for text in (f"{lat:.9f}, {lon:.9f}", letters, minutes, f"lon {lon:.9f} lat {lat:.9f}"):
        assert parse_place(text) == pytest.approx((lon, lat), abs=2e-8)
