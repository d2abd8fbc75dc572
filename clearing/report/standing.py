"""Keep the sentences that stand in every report: what the tool does not decide."""

NOT_DECIDED = (
    "The label on the container in your hand is the law. Rates, sites, seasons, waits, clothing "
    "and what may be mixed are the label's to say, and it may differ from what is reckoned here.",
    "Local codes, setbacks, burning rules and a license to apply are for the state and the county "
    "to say. Ask before you begin.",
    "A tree that leans toward a road, a building or a line is for licensed people to judge. Near "
    "a power line the utility is asked first.",
    "Where a saw is used, two tree lengths are kept clear of everybody else (29 CFR 1910.266). "
    "Under standing dead stems nobody rests, and nobody works there on a windy day.",
    "Nothing here says that ground is free of buried lines, wells, rare plants or nests. Walk it "
    "first.",
)

UNCONFIRMED = "confirm it on your label first; no mixing table until then"
MONEY_THERE_IS = (
    "There is: the year's budget, what earlier years left over where it carries over, and what "
    "cost share paid back by then."
)
