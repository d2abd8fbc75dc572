"""Turn the seasons of a plan into days: when one begins and ends, and when it opens again."""

import datetime as dt

Span = tuple[dt.date, dt.date]


def season_spans(year: int, months: tuple[int, ...]) -> list[Span]:
    """Return the first day and the day after the last of each piece of a season.

    A season belongs to the year it starts in; months listed after December lie in the next.

    Parameters
    ----------
    year : int
        Year of the season.
    months : tuple of int
        Months in the order in which they follow each other.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> season_spans(2028, (12, 1, 2))
    [(datetime.date(2028, 12, 1), datetime.date(2029, 3, 1))]
    """
    out: list[Span] = []
    now = year
    for place, month in enumerate(months):
        if place and month < months[place - 1]:
            now += 1
        first = dt.date(now, month, 1)
        after = dt.date(now + month // 12, month % 12 + 1, 1)
        if out and out[-1][1] == first:
            out[-1] = (out[-1][0], after)
        else:
            out.append((first, after))
    return out


def next_span(day: dt.date, months: tuple[int, ...]) -> Span:
    """Return the piece of a season that a day lies in, else the next one that comes.

    Parameters
    ----------
    day : date
        Any day.
    months : tuple of int
        Months of the season in the order in which they follow each other; one or more.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> next_span(dt.date(2028, 1, 20), (12, 1, 2))[0], next_span(dt.date(2028, 3, 1), (12,))[0]
    (datetime.date(2027, 12, 1), datetime.date(2028, 12, 1))
    """
    years = (day.year - 1, day.year, day.year + 1)
    spans = sorted(span for year in years for span in season_spans(year, months))
    return next(span for span in spans if span[1] > day)


def day_words(day: dt.date, us: bool) -> str:
    """Return a day as the owner writes it.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> day_words(dt.date(2027, 6, 1), True), day_words(dt.date(2027, 6, 1), False)
    ('June 1, 2027', '1 June 2027')
    """
    return f"{day:%B} {day.day}, {day.year}" if us else f"{day.day} {day:%B} {day.year}"
