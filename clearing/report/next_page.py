"""Write the next day as one small page for the phone: large type, ticks, nothing from a network."""

import base64
import hashlib
from importlib import resources

import jinja2

from clearing.report import look
from clearing.report.facts_next import LABEL_LAW, NextDay
from clearing.report.next_words import away_lines, job_line
from clearing.report.words import sentence

TEMPLATES = "clearing.report"
MUST = 3  # cautions that stand open; the others are folded; own choice


def next_day_html(day: NextDay) -> str:
    """Return the page; the same day gives the same page.

    Its policy allows its own style and nothing else: no script, no picture, no address. Ticks and
    what is written into its fields are kept nowhere but in the open page.

    Parameters
    ----------
    day : NextDay
        Everything that is said.

    References
    ----------
    own reasoning
    """
    style = f"{look.css_tokens()}\n{_text('next_day.css')}"
    mark = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    policy = f"default-src 'none'; style-src 'sha256-{mark}'; base-uri 'none'; form-action 'none'"
    return _environment().from_string(_text("next_day.html")).render(
        day=day, style=style, policy=policy, law=LABEL_LAW, away=away_lines(day),
        jobs=[(job, job_line(job, day)) for job in day.jobs], must=MUST,
    )  # fmt: skip


def _environment() -> jinja2.Environment:
    """Return the environment that escapes every value; the style is our own and has no sign."""
    environment = jinja2.Environment(
        autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=jinja2.StrictUndefined
    )
    environment.filters["capitalize_first"] = sentence
    return environment


def _text(name: str) -> str:
    """Return a template's text."""
    return (resources.files(TEMPLATES) / "templates" / name).read_text(encoding="utf-8")
