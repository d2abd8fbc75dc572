"""Damages of what stands beside the shapes: ids, choices and numbers of the layers."""

from tests.hard.ground import LAND, Case, Damage, both, layer, written

ID = {
    "blocks": "block_id",
    "strips": "strip_id",
    "keep_trees": "tree_id",
    "plots": "plot_id",
    "features": "kind",
}
SECOND = {"blocks": "2", "strips": "S2", "keep_trees": "T2", "plots": "P2"}


def _case(name: str, done: str, damage: Damage) -> Case:
    """Return a case on land.gpkg."""
    return Case(name, LAND, done, damage)


def _gone(name: str, column: str) -> Damage:
    """Return a damage that takes a column out of a layer."""
    return layer(name, lambda frame: frame.drop(columns=column))


def _called(name: str, old: str, new: str) -> Damage:
    """Return a damage that calls a column otherwise."""
    return layer(name, lambda frame: frame.rename(columns={old: new}))


CASES = [
    *(
        _case(f"{name}_no_id", f"{name} have no column {key}", _gone(name, key))
        for name, key in ID.items()
    ),
    *(
        _case(f"{name}_blank_id", f"the second of {name} has a blank {key}", written(name, key, ""))
        for name, key in ID.items()
    ),
    *(
        _case(
            f"{name}_same_id",
            f"two of {name} have one {ID[name]}",
            written(name, ID[name], SECOND[name], 0),
        )
        for name in SECOND
    ),
    _case(
        "blocks_id_by_case",
        "blocks called a and A",
        both(
            written("blocks", "block_id", "a", 0),
            written("blocks", "block_id", "A"),
            written("strips", "block_id", "a", 0),
            written("strips", "block_id", "a", 1),
        ),
    ),
    _case(
        "blocks_id_by_blanks", "blocks called 2 and ' 2 '", written("blocks", "block_id", " 2 ", 0)
    ),
    _case(
        "blocks_id_a_number",
        "block numbers are numbers",
        layer("blocks", lambda f: f.assign(block_id=[1.0, 2.0])),
    ),
    _case(
        "blocks_id_climbs", "a block is called ../../x", written("blocks", "block_id", "../../x")
    ),
    _case(
        "blocks_id_long",
        "a block's name has 5,000 letters",
        written("blocks", "block_id", "b" * 5000),
    ),
    _case(
        "blocks_id_lines", "a block's name holds a line end", written("blocks", "block_id", "2\nb")
    ),
    _case(
        "blocks_id_bare", "block_id is called block-ID", _called("blocks", "block_id", "Block-ID")
    ),
    _case("blocks_goal_misspelt", "the goal is pastuer", written("blocks", "goal", "pastuer")),
    _case("blocks_goal_case", "the goal is in capitals", written("blocks", "goal", "WOODLAND")),
    _case("blocks_goal_heading", "the heading is goals", _called("blocks", "goal", "goals")),
    _case("blocks_goal_number", "the goal is 7", written("blocks", "goal", "7")),
    _case("blocks_hay_word", "hay is often", written("blocks", "hay", "often")),
    _case("blocks_slope_word", "the slope is steep", written("blocks", "slope_pct", "steep")),
    _case("blocks_slope_negative", "the slope is -5", written("blocks", "slope_pct", "-5")),
    _case("blocks_slope_endless", "the slope is endless", written("blocks", "slope_pct", "inf")),
    _case(
        "blocks_slope_enormous",
        "the slope is 10 to the 30th",
        written("blocks", "slope_pct", "1e30"),
    ),
    _case("blocks_slope_percent", "the slope is 12 %", written("blocks", "slope_pct", "12 %")),
    _case(
        "blocks_slope_unit",
        "the slope is given in degrees",
        _called("blocks", "slope_pct", "slope_deg"),
    ),
    _case("blocks_year_0", "ready in the year 0", written("blocks", "ready_year", "0")),
    _case(
        "blocks_year_10000", "ready in the year 10,000", written("blocks", "ready_year", "10000")
    ),
    _case("blocks_year_half", "ready in 2028.5", written("blocks", "ready_year", "2028.5")),
    _case("blocks_year_word", "ready in soon", written("blocks", "ready_year", "soon")),
    _case("blocks_priority_9", "a priority of 9", written("blocks", "priority", "9")),
    _case(
        "blocks_target_misspelt",
        "a target is misspelt",
        written("blocks", "targets", "calery_pear"),
    ),
    _case("blocks_target_any", "a target is any", written("blocks", "targets", "any")),
    _case(
        "blocks_two_goals",
        "a second heading GOAL",
        layer("blocks", lambda f: f.assign(**{"go_al": "x", "Goal ": f["goal"]})),
    ),
    _case(
        "blocks_own_column",
        "a column of the owner's own",
        layer("blocks", lambda f: f.assign(soil="clay")),
    ),
    _case("blocks_no_rows", "the layer blocks has no rows", layer("blocks", lambda f: f.iloc[:0])),
    _case("plots_no_rows", "the layer plots has no rows", layer("plots", lambda f: f.iloc[:0])),
    _case(
        "strips_lost_block",
        "a strip of a block that is not there",
        written("strips", "block_id", "9"),
    ),
    _case("strips_blank_block", "a strip without its block", written("strips", "block_id", "")),
    _case(
        "trees_species_lost", "a tree that nobody knows", written("keep_trees", "species", "lirio")
    ),
    _case("trees_species_blank", "a tree without a species", written("keep_trees", "species", "")),
    _case(
        "trees_species_words",
        "a species in capitals with blanks",
        written("keep_trees", "species", " White Oak "),
    ),
    _case("trees_no_species", "trees have no column species", _gone("keep_trees", "species")),
    _case("trees_dbh_word", "a diameter of big", written("keep_trees", "dbh_in", "big")),
    _case("trees_dbh_negative", "a diameter of -2", written("keep_trees", "dbh_in", "-2")),
    _case("trees_dbh_unit", "diameters in millimeters", _called("keep_trees", "dbh_in", "dbh_mm")),
    _case("trees_crown_enormous", "a crown of 9,000 ft", written("keep_trees", "crown_ft", "9000")),
    _case(
        "trees_crown_bare",
        "the crown's heading has no unit",
        _called("keep_trees", "crown_ft", "crown"),
    ),
    _case("features_kind_lost", "a kind that nobody knows", written("features", "kind", "swamp")),
    _case(
        "features_kind_near", "the kind is public raod", written("features", "kind", "public raod")
    ),
    _case(
        "features_kind_words",
        "the kind is Public Road",
        written("features", "kind", "Public Road", 0),
    ),
    _case("features_setback_word", "a distance of some", written("features", "setback_ft", "some")),
    _case(
        "features_setback_far", "a distance of 10 miles", written("features", "setback_ft", "52800")
    ),
    _case("plots_radius_0", "a radius of 0", written("plots", "radius_ft", "0")),
    _case("plots_radius_word", "a radius of wide", written("plots", "radius_ft", "wide")),
    _case("plots_radius_bare", "the radius has no unit", _called("plots", "radius_ft", "radius")),
    _case(
        "plots_inner_larger",
        "an inner circle larger than the plot",
        written("plots", "small_radius_ft", "60"),
    ),
    _case("plots_visited_word", "visited is soon", written("plots", "visited", "soon")),
    _case(
        "plots_not_visited",
        "a plot that was counted is not visited",
        written("plots", "visited", "no"),
    ),
]
