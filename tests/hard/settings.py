"""Damages of property.toml: keys, kinds, ranges, encodings, seasons."""

import re

from tests.hard.ground import SETTINGS, TOML, Case, Damage, bytes_of, changed, cut, recoded, swapped


def _with(text: str) -> Damage:
    """Return a damage that puts a line below [property]'s heading."""
    return swapped(TOML, "[property]\n", f"[property]\n{text}\n")


def _after(text: str) -> Damage:
    """Return a damage that adds text at the end."""
    return changed(TOML, lambda raw: raw + text.encode())


def _section(name: str, body: str) -> Damage:
    """Return a damage that writes another body in the place of a section."""
    pattern = rf"(?ms)^\[\[?{re.escape(name)}\]\]?\n.*?(?=^\[)"
    return changed(TOML, lambda raw: re.sub(pattern, body + "\n", raw.decode()).encode())


def _season(months: str, name: str = "fall", more: str = "") -> Damage:
    """Return a damage that writes the season of fall anew."""
    old = '[[season]]\nname = "fall"\nmonths = [9, 10, 11]\n'
    return swapped(TOML, old, f"[[season]]\nname = {name!r}\nmonths = {months}\n{more}")


VALUES = {  # name -> what stands there, and what is written instead
    "name_number": ('name = "Wren Corner"', "name = 7"),
    "name_list": ('name = "Wren Corner"', "name = [1, 2]"),
    "name_empty": ('name = "Wren Corner"', 'name = ""'),
    "region_lost": ('"upper_south"', '"upper_sooth"'),
    "region_list": ('"upper_south"', '["upper_south"]'),
    "units_word": ('units = "us"', 'units = "imperial"'),
    "year_0": ("first_year = 2027", "first_year = 0"),
    "year_10000": ("first_year = 2027", "first_year = 10000"),
    "year_half": ("first_year = 2027", "first_year = 2027.5"),
    "year_word": ("first_year = 2027", 'first_year = "next year"'),
    "year_date": ("first_year = 2027", "first_year = 2027-01-01"),
    "year_digits": ("first_year = 2027", "first_year = " + "9" * 400),
    "years_0": ("years = 2\n", "years = 0\n"),
    "years_many": ("years = 2\n", "years = 400\n"),
    "years_yes": ("years = 2\n", "years = true\n"),
    "targets_empty": ('["callery_pear"]', "[]"),
    "targets_numbers": ('["callery_pear"]', "[1]"),
    "targets_misspelt": ('["callery_pear"]', '["calery_pear"]'),
    "targets_any": ('["callery_pear"]', '["any"]'),
    "who_word": ('"family"', '"neighbors"'),
    "people_0": ("people = 2", "people = 0"),
    "people_half": ("people = 2", "people = 2.5"),
    "people_nan": ("people = 2", "people = nan"),
    "sawyers_many": ("sawyers = 1", "sawyers = 5"),
    "hours_25": ("hours_per_day = 6", "hours_per_day = 25"),
    "hours_season": ("hours_per_day = 6", "hours_per_day = { winter = 6 }"),
    "wage_negative": ("wage_per_hour = 18", "wage_per_hour = -1"),
    "wage_text": ("wage_per_hour = 18", 'wage_per_hour = "$18"'),
    "job_lost": ("mowing_per_acre = 85", "moving_per_acre = 85"),
    "job_unit": ("mowing_per_acre = 85", "mowing_per_mile = 85"),
    "job_stem": ("mowing_per_acre = 85", "mowing_per_stem = 85"),
    "job_hires": ("mowing_per_acre = 85", 'hires = ["mowing"]'),
    "budget_endless": ("= 4500", "= inf"),
    "budget_negative": ("= 4500", "= -4500"),
    "budget_list": ("= 4500", "= [4500, 'x']"),
    "carry_word": ("carry_over = true", 'carry_over = "yes"'),
    "share_no_sum": ("dollars_per_acre = 100", ""),
    "share_two_sums": ("dollars_per_acre = 100", "dollars_per_acre = 100\ndollars_per_ha = 240"),
    "share_date_word": ("finish_by = 2031-12-31", 'finish_by = "some day"'),
    "share_date_year": ("finish_by = 2031-12-31", "finish_by = 99999"),
    "share_date_3000": ("finish_by = 2031-12-31", "finish_by = 3000-12-31"),
    "share_key": ("finish_by = ", "finish_till = "),
    "no_such_date": ("date = 2026-03-01", "date = 2026-02-30"),
    "date_word": ("date = 2026-03-01", 'date = "spring 2026"'),
    "date_year": ("date = 2026-03-01", "date = 2026"),
    "date_1066": ("date = 2026-03-01", "date = 1066-10-14"),
    "date_us": ("date = 2026-03-01", 'date = "03/01/2026"'),
    "date_text": ("date = 2026-03-01", 'date = "2026-03-01"'),
    "strength_0": ("lb_ae_per_gal = 4.0", "lb_ae_per_gal = 0"),
    "strength_gone": ("lb_ae_per_gal = 4.0", ""),
    "strength_differs": ("lb_ae_per_gal = 4.0", "lb_ae_per_gal = 4.0\nkg_ae_per_l = 1.2"),
    "prices_many": ("price = [38]", "price = [38, 40]"),
    "site_lost": ('"pasture", "woodland"]', '"pastur"]'),
    "method_lost": ('"foliar"]', '"leaves"]'),
    "active_lost": ('active_ingredient = "glyphosate"\n', ""),
    "active_other": ('active_ingredient = "glyphosate"', 'active_ingredient = "imazapyr"'),
    "limit_word": ("lb_ae_per_acre_year = 8.0", 'lb_ae_per_acre_year = "eight"'),
    "limit_misspelt": ("lb_ae_per_acre_year = 8.0", "lb_ae_per_acre_yaer = 8.0"),
    "limit_percent": ("lb_ae_per_acre_year = 8.0", "lb_ae_per_acre_year = 8.0, spot_percent = 150"),
    "limits_list": ("{ lb_ae_per_acre_year = 8.0 }", "[8.0]"),
    "confirmed_word": ("confirmed = true", 'confirmed = "yes"'),
    "confidence_90": ("confidence = 0.9", "confidence = 90"),
    "before_flat": ("confidence = 0.9", 'before = ["1", "2"]'),
    "before_circle": ("confidence = 0.9", 'before = [["1", "2"], ["2", "1"]]'),
    "before_lost": ("confidence = 0.9", 'before = [["1", "9"]]'),
    "clear_by_past": ("confidence = 0.9", "clear_by = 2020"),
    "done_unit": ("confidence = 0.9", "done_when = { seedlings_per_mile = 3 }"),
    "seed_word": ("confidence = 0.9", 'seed = "x"'),
    "blocks_0": ("confidence = 0.9", "most_blocks_a_season = 0"),
    "key_twice": ("people = 2", "people = 2\npeople = 3"),
    "section_twice": ("[plan]", "[crew]\n\n[plan]"),
    "no_bracket": ("[crew]", "[crew"),
    "no_quotes": ('"family"', "family"),
    "decimal_comma": ("wage_per_hour = 18", "wage_per_hour = 18,50"),
    "curly_quotes": ('"family"', "“family”"),
    "key_misspelt": ("wage_per_hour", "wage_per_hr"),
    "key_lost": ("wage_per_hour", "shoe_size"),
    "section_misspelt": ("[money]", "[mony]"),
    "season_single": ('[[season]]\nname = "summer"', '[season]\nname = "summer"'),
}
CASES = [
    *(
        Case(
            f"toml_{name}",
            TOML,
            f"{old.strip()[:30]!r} became {new.strip()[:40]!r}",
            swapped(TOML, old, new),
        )
        for name, (old, new) in VALUES.items()
    ),
    *(
        Case(f"toml_{name}", TOML, done, damage)
        for name, done, damage in [
            ("gone", "the file is gone", lambda home: (home / TOML).unlink()),
            (
                "folder",
                "a folder of its name",
                lambda home: ((home / TOML).unlink(), (home / TOML).mkdir()),
            ),
            ("empty", "the file holds no byte", bytes_of(TOML, b"")),
            ("zeros", "the file holds NUL bytes", bytes_of(TOML, b"\0" * 900)),
            ("utf16", "saved as UTF-16", recoded(TOML, "utf-16")),
            ("latin1", "an accent in latin-1", recoded(TOML, "latin-1", "Wren", "Crête")),
            ("mark", "a byte-order mark", changed(TOML, lambda raw: b"\xef\xbb\xbf" + raw)),
            ("crlf", "Windows line ends", changed(TOML, lambda raw: raw.replace(b"\n", b"\r\n"))),
            (
                "old_mac",
                "line ends of old Macs",
                changed(TOML, lambda raw: raw.replace(b"\n", b"\r")),
            ),
            ("accents", "accents in UTF-8", recoded(TOML, "utf-8", "Wren Corner", "Crête à Zoë")),
            ("half", "the second half is gone", cut(TOML, 0.5)),
            ("deep", "a list in a list, 3,000 deep", _with("deep = " + "[" * 3000 + "]" * 3000)),
            ("no_first_year", "first_year is gone", swapped(TOML, "first_year = 2027\n", "")),
            ("no_targets", "[targets] is gone", _section("targets", "")),
            (
                "property_number",
                "property is a number",
                bytes_of(TOML, b"property = 3\n" + SETTINGS.split("\n\n", 1)[1].encode()),
            ),
            ("crew_list", "crew is a list", _section("crew", "[[crew]]\npeople = 2\n")),
            (
                "money_text",
                "money is a text",
                changed(
                    TOML,
                    lambda raw: (
                        b'money = "4500"\n' + re.sub(rb"(?ms)^\[money\]\n.*?(?=^\[)", b"", raw)
                    ),
                ),
            ),
            (
                "closed_words",
                "closed months in words",
                changed(TOML, lambda raw: b'closed_months = ["May"]\n' + raw),
            ),
            (
                "closed_13",
                "the 13th month is closed",
                changed(TOML, lambda raw: b"closed_months = [13]\n" + raw),
            ),
            (
                "closed_all",
                "all months are closed",
                changed(TOML, lambda raw: b"closed_months = [1,2,3,4,5,6,7,8,9,10,11,12]\n" + raw),
            ),
            ("plots_negative", "a plot radius of -3", _after("[plots]\nradius_ft = -3\n")),
            ("plots_key", "a plot radius without its unit", _after("[plots]\nradius = 3\n")),
            (
                "species_list",
                "species is a list",
                changed(TOML, lambda raw: b'species = ["x"]\n' + raw),
            ),
            (
                "species_alone",
                "a species without a like",
                _after("[species.bush]\nmax_height_ft = 9\n"),
            ),
            (
                "species_like",
                "a species like nothing known",
                _after('[species.bush]\nlike = "bush"\n'),
            ),
            ("species_number", "a species is a number", _after("[species]\nbush = 3\n")),
            ("herbicide_number", "a herbicide is a number", _after("[herbicide]\nx = 3\n")),
            ("strips_0", "strips of no acre", _after("[strips]\nacres = 0\n")),
            ("season_empty", "a season without months", _season("[]")),
            ("season_twice", "a season's month stands twice", _season("[9, 9, 10]")),
            ("season_overlap", "two seasons share a month", _season("[8, 9, 10]")),
            ("season_words", "a season's months are words", _season('["Sep", "Oct"]')),
            ("season_13", "a season in the 13th month", _season("[13]")),
            ("season_text", "a season's months are a text", _season('"9-11"')),
            ("season_same_name", "two seasons of one name", _season("[9]", "summer")),
            ("season_no_name", "a season without a name", _season("[9]", "")),
            (
                "season_days_negative",
                "a season of -5 days",
                _season("[9]", more="work_days = -5\n"),
            ),
            ("season_days_many", "a season of 400 days", _season("[9]", more="work_days = 400\n")),
            ("season_days_nan", "a season of nan days", _season("[9]", more="work_days = nan\n")),
            ("season_key", "a season's key is misspelt", _season("[9]", more="work_day = 5\n")),
            ("season_alone", "a season is a number", _section("season", "")),
        ]
    ),
]
