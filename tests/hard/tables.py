"""Damages of the tables: tally, log and pins."""

from tests.hard.ground import (
    COUNTS,
    LOG,
    PINS,
    TALLY,
    WORK,
    Case,
    both,
    bytes_of,
    cell,
    changed,
    column_gone,
    recoded,
    rows_of,
    swapped,
)


def _decimal_commas(raw: bytes) -> bytes:
    """Return a table as a European spreadsheet saves it."""
    return raw.replace(b",", b";").replace(b"1.4", b"1,4").replace(b"12.5", b"12,5")


def _with_nul(raw: bytes) -> bytes:
    """Return a table with a NUL byte in its first row."""
    head, end, rest = raw.partition(b"\n")
    return head + end + rest.replace(b",", b"\0,", 1)


def _of(name: str, rows: dict[str, tuple[str, object]]) -> list[Case]:
    """Return cases on one file: name -> what was done, and the damage."""
    stem = name.partition(".")[0].replace("photo_", "").replace("records", "log")
    return [Case(f"{stem}_{case}", name, done, damage) for case, (done, damage) in rows.items()]


def _cells(name: str, values: dict[str, tuple[str, str]]) -> list[Case]:
    """Return cases in which one cell of the first row says something else."""
    return _of(
        name,
        {
            case: (f"{column} is {value!r:.30} in the first row", cell(name, column, value))
            for case, (column, value) in values.items()
        },
    )


FORMS = {
    "empty_file": ("the file holds no byte", b""),
    "only_blanks": ("the file holds blank lines", b"\n \n\n"),
    "only_mark": ("the file holds a byte-order mark alone", b"\xef\xbb\xbf"),
    "no_table": ("the file is a picture", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR" + bytes(range(256))),
    "zip": ("the file is a spreadsheet's own file", b"PK\x03\x04\x14\0\x06\0" + b"\0\xff\xfe" * 90),
    "no_heading": ("the line of headings is gone", b""),
}
NO_HEADING = {TALLY: COUNTS, LOG: WORK}
CASES: list[Case] = []
for _name, _text in ((TALLY, COUNTS), (LOG, WORK), (PINS, "")):
    for _case, (_done, _bytes) in FORMS.items():
        if _case == "no_heading":
            _damage = changed(_name, lambda raw: raw.split(b"\n", 1)[1])
        else:
            _damage = bytes_of(_name, _bytes)
        CASES += _of(_name, {_case: (_done, _damage)})
    CASES += _of(
        _name,
        {
            "mark": (
                "a byte-order mark before the text",
                changed(_name, lambda r: b"\xef\xbb\xbf" + r),
            ),
            "crlf": ("Windows line ends", changed(_name, lambda r: r.replace(b"\n", b"\r\n"))),
            "old_mac": ("line ends of old Macs", changed(_name, lambda r: r.replace(b"\n", b"\r"))),
            "no_last_end": ("no line end at the end", changed(_name, lambda r: r.rstrip())),
            "blank_lines": (
                "blank lines between rows",
                changed(_name, lambda r: r.replace(b"\n", b"\n\n")),
            ),
            "utf16": ("saved as UTF-16", recoded(_name, "utf-16")),
            "semicolons": (
                "divided by semicolons",
                changed(_name, lambda r: r.replace(b",", b";")),
            ),
            "tabs": ("divided by tabs", changed(_name, lambda r: r.replace(b",", b"\t"))),
            "nul": ("a NUL byte in the first row", changed(_name, _with_nul)),
            "extra_cell": (
                "one cell too many in the first row",
                rows_of(_name, lambda r: r[1].append("x")),
            ),
            "extra_cells": (
                "one cell too many in every row",
                rows_of(_name, lambda r: [row.append("x") for row in r[1:]]),
            ),
            "cell_gone": (
                "the last cell of the first row is gone",
                rows_of(_name, lambda r: r[1].pop()),
            ),
            "heading_twice": (
                "the second heading stands twice",
                rows_of(_name, lambda r: [row.insert(2, row[1]) for row in r]),
            ),
            "headings_large": (
                "headings in capitals",
                rows_of(_name, lambda r: r.__setitem__(0, [c.upper() for c in r[0]])),
            ),
            "headings_blank": (
                "blanks around headings",
                rows_of(_name, lambda r: r.__setitem__(0, [f" {c} " for c in r[0]])),
            ),
            "heading_nameless": (
                "a column without a name",
                rows_of(_name, lambda r: [row.append("") for row in r]),
            ),
            "heading_more": (
                "a column of the owner's own",
                rows_of(_name, lambda r: [row.append("mine") for row in r]),
            ),
            "quote_open": (
                "a quotation mark is not closed",
                changed(
                    _name,
                    lambda r: (
                        r.replace(b"P2", b'"P2')
                        .replace(b"mark,", b'"mark,')
                        .replace(b"barn", b'"barn')
                    ),
                ),
            ),
            "folder": (
                "a folder of the file's name",
                lambda home, n=_name: ((home / n).unlink(), (home / n).mkdir()),
            ),
        },
    )
CASES += _of(
    TALLY,
    {
        **{
            f"no_{c}": (f"the column {c} is gone", column_gone(TALLY, c))
            for c in ("plot_id", "species", "dbh_in", "size", "count", "keep", "status", "date")
        },
        "latin1": ("an accent in latin-1", recoded(TALLY, "latin-1", "white_oak", "chêne")),
        "cp1252": ("curly quotes of Windows", recoded(TALLY, "cp1252", "white_oak", "“oak”")),
        "decimal_commas": ("semicolons and decimal commas", changed(TALLY, _decimal_commas)),
        "thousands_comma": (
            "semicolons, and 1,000 for a count",
            both(changed(TALLY, _decimal_commas), swapped(TALLY, ";;2;", ";;1,000;")),
        ),
        "misspelt": ("the heading count is misspelt", swapped(TALLY, "count", "cuont")),
        "other_unit": (
            "the diameter's heading has a unit nobody uses",
            swapped(TALLY, "dbh_in", "dbh_mm"),
        ),
        "no_unit": ("the diameter's heading has no unit", swapped(TALLY, "dbh_in", "dbh")),
        "blank_plot": ("a plot's name is blank", cell(TALLY, "plot_id", "", 2)),
        "blank_count": ("a count is blank", cell(TALLY, "count", "", 2)),
        "unsized": ("a row has neither a diameter nor a size", cell(TALLY, "dbh_in", "", 2)),
        "plot_other_case": ("a plot's name in other letters", cell(TALLY, "plot_id", "p1", 2)),
        "plot_blanks": ("blanks around a plot's name", cell(TALLY, "plot_id", "  P1  ", 2)),
        "species_spelt": ("a species is misspelt", cell(TALLY, "species", "calery pear", 2)),
        "bad_row_after_blank": (
            "a wrong count below a blank line",
            changed(TALLY, lambda r: r.replace(b"\nP2", b"\n\nP2").replace(b",5,", b",x,")),
        ),
        "many_faults": (
            "forty wrong counts",
            changed(TALLY, lambda r: r + b"P1,callery_pear,1.0,,x,no,live,2026-10-05\n" * 40),
        ),
        "twice_the_size": ("a diameter and a size that differ", cell(TALLY, "size", "bigger")),
        "long_cell": ("a cell of 100,000 letters", cell(TALLY, "status", "x" * 100_000)),
        "long_plot": ("a plot's name of 100,000 letters", cell(TALLY, "plot_id", "x" * 100_000)),
        "newline_in_cell": ("a line end in a quoted cell", cell(TALLY, "plot_id", "P\n1")),
        "formula": ("a plot's name is a formula", cell(TALLY, "plot_id", "=1+1")),
        "gone": ("the file is gone and plots are visited", lambda home: (home / TALLY).unlink()),
    },
)
CASES += _cells(
    TALLY,
    {
        "word_for_number": ("dbh_in", "thick"),
        "decimal_comma": ("dbh_in", "1,4"),
        "unit_in_cell": ("dbh_in", "1.4 in"),
        "fraction": ("dbh_in", "1 1/2"),
        "negative": ("dbh_in", "-3"),
        "enormous": ("dbh_in", "1e9"),
        "endless": ("dbh_in", "inf"),
        "nan": ("dbh_in", "nan"),
        "count_nan": ("count", "nan"),
        "count_inf": ("count", "-inf"),
        "count_half": ("count", "2.5"),
        "count_negative": ("count", "-1"),
        "count_enormous": ("count", "1e9"),
        "count_hex": ("count", "0x10"),
        "count_underscore": ("count", "1_0"),
        "count_arabic": ("count", "٣"),
        "size_word": ("size", "thumb"),
        "size_near": ("size", "pencl"),
        "keep_word": ("keep", "maybe"),
        "status_word": ("status", "alive"),
        "us_date": ("date", "04/05/2026"),
        "no_such_day": ("date", "2026-02-30"),
        "year_0": ("date", "0000-01-01"),
        "year_10000": ("date", "10000-01-01"),
        "year_1": ("date", "0001-01-01"),
        "year_9999": ("date", "9999-12-31"),
        "lost_plot": ("plot_id", "P99"),
    },
)
CASES += _of(
    LOG,
    {
        **{
            f"no_{c}": (f"the column {c} is gone", column_gone(LOG, c))
            for c in ("record_id", "date", "strip_id", "job", "people")
        },
        "latin1": ("an accent in latin-1", recoded(LOG, "latin-1", "first", "première")),
        "misspelt": ("the heading hours is misspelt", swapped(LOG, "hours", "huors")),
        "id_twice": (
            "two entries of one number",
            changed(LOG, lambda r: r + b"1,2026-11-03,S1,mark,2,3,again\n"),
        ),
        "id_blank": ("an entry without a number", cell(LOG, "record_id", "")),
        "strip_lost": ("a strip that is not there", cell(LOG, "strip_id", "S99")),
        "job_word": ("a job that nobody knows", cell(LOG, "job", "hoeing")),
        "hours_negative": ("hours below none", cell(LOG, "hours", "-2")),
        "hours_endless": ("endless hours", cell(LOG, "hours", "inf")),
        "date_word": ("a day in words", cell(LOG, "date", "last Saturday")),
        "year_9999": ("a day in the year 9999", cell(LOG, "date", "9999-12-31")),
        "year_1": ("a day in the year 1", cell(LOG, "date", "0001-01-01")),
        "huge_id": ("a number of 400 figures", cell(LOG, "record_id", "9" * 400)),
    },
)
CASES += _of(
    PINS,
    {
        **{
            f"no_{c}": (f"the column {c} is gone", column_gone(PINS, c))
            for c in ("pin", "column_px", "latitude")
        },
        "latitude_95": ("a latitude of 95", cell(PINS, "latitude", "95")),
        "longitude_nan": ("a longitude that is no number", cell(PINS, "longitude", "nan")),
        "column_negative": ("a pixel left of the photo", cell(PINS, "column_px", "-4")),
        "pin_twice": ("two pins of one name", cell(PINS, "pin", "barn")),
        "swapped": (
            "latitude and longitude exchanged",
            rows_of(PINS, lambda r: [row.__setitem__(slice(3, 5), row[:2:-1]) for row in r[1:]]),
        ),
    },
)
# what is read by the same hand as the tally needs only a few looks at the pins
FEW = ("empty_file", "utf16", "semicolons", "quote_open", "extra_cell", "heading_twice", "folder")
FORM = {case.name.removeprefix("tally_") for case in CASES if case.file == TALLY}
CASES = [
    case
    for case in CASES
    if case.file != PINS or (short := case.name.removeprefix("pins_")) in FEW or short not in FORM
]
