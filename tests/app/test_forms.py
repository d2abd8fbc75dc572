"""The forms ask what the column files say, in the owner's words and units."""

import pytest

from clearing.app.forms import LAYERS, form, typed
from clearing.tables import column_file


@pytest.mark.parametrize("layer", LAYERS)
def test_every_column_has_a_field_with_what_it_is_for(layer):
    """All described columns but the shape itself, each with a label and the file's description."""
    fields = {field["column"]: field for field in form(layer, True)}
    described = column_file(layer).set_index("column")
    assert set(fields) == set(described.index) - {"geometry"}
    for column, field in fields.items():
        assert field["says"] == described["description"][column]
        assert field["label"][0].isupper()
        assert "_" not in field["label"]


@pytest.mark.parametrize(("us", "shown"), [(True, "dbh_in"), (False, "dbh_cm")])
def test_fields_are_in_the_owners_units(us, shown):
    """Of two columns for one size the other units' is marked as such."""
    other = {f["column"]: f["other"] for f in form("keep_trees", us) if f["column"][:3] == "dbh"}
    assert [column for column, hidden in other.items() if not hidden] == [shown]


def test_cells_are_numbers_where_the_column_holds_numbers():
    """Numbers become numbers, also with a decimal comma; words that are none stay to be named."""
    cells = typed(
        "keep_trees", {"dbh_in": "14,5", "species": "White Oak", "notes": " by the lane "}
    )
    assert cells == {"dbh_in": 14.5, "species": "white_oak", "notes": "by the lane"}
    assert typed("keep_trees", {"dbh_in": "thick", "notes": ""}) == {
        "dbh_in": "thick",
        "notes": None,
    }
    assert typed("blocks", {"ready_year": "2031"}) == {"ready_year": 2031}


def test_a_column_that_is_none_is_named_with_the_nearest():
    """A misspelt column is refused with what was probably meant."""
    with pytest.raises(ValueError, match="did you mean 'goal'"):
        typed("blocks", {"gaol": "pasture"})
