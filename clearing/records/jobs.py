"""Know the jobs of the log however they are written, and which of them put product out."""

import pandas as pd

from clearing.tables import cell_text, did_you_mean

SPRAYS = ("hack_and_squirt", "cut_and_spray", "basal_bark", "foliar", "follow_up", "upkeep")
JOBS = (
    *SPRAYS, "hand_work", "fell_dead", "haul_tops", "burn_tops", "chip_tops", "mow", "mow_down",
    "mark", "seed", "call_utility",
)  # fmt: skip
SAID = {"leaf_spray": "foliar", "follow_up_spray": "follow_up", "pull_or_cut_by_hand": "hand_work"}


def job_key(words: object) -> str:
    """Return a job of the log as a key: small letters with underscores.

    References
    ----------
    own reasoning
    """
    key = cell_text(words).lower().replace(" ", "_").replace("-", "_")
    return SAID.get(key, key)


def job_meant(words: object) -> str:
    """Return the key of a job that is known, else the words as they were written.

    References
    ----------
    own reasoning

    Examples
    --------
    >>> job_meant("Cut-and-spray"), job_meant("Leaf spray"), job_meant("Picnic")
    ('cut_and_spray', 'foliar', 'Picnic')
    """
    key = job_key(words)
    return key if key in JOBS else cell_text(words)


def unknown_jobs(records: pd.DataFrame) -> list[str]:
    """Return a sentence for each row whose job is none that is known.

    Parameters
    ----------
    records : DataFrame
        As ``owner/records``, rows in force.

    References
    ----------
    own reasoning
    """
    return [
        f"records.csv row {cell_text(number)}: {cell_text(words)!r} is no job of the plan"
        f"{did_you_mean(job_key(words), JOBS)}, so it counts as no work of the plan; jobs are "
        f"{', '.join(JOBS)}"
        for number, words in zip(records["record_id"], records["job"], strict=True)
        if job_meant(words) not in JOBS
    ]
