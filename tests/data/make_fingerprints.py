"""Write the fingerprints of the handbook anew, once its tables were checked against their sources.

Run from the root of the project: python tests/data/make_fingerprints.py [TABLE ...]
"""

import hashlib
import sys
from pathlib import Path

import pandas as pd

import clearing
from clearing.rates import handbook_table

HANDBOOK = Path(clearing.__file__).parent / "data" / "handbook"
FILE = Path(__file__).parents[1] / "published" / "handbook_fingerprints.csv"


def table_names():
    """Return the names of all tables of the handbook."""
    return sorted(path.stem for path in HANDBOOK.glob("*.csv"))


def fingerprint(name):
    """Return one table's rows: the sum of each number column, and the words' own mark."""
    table = handbook_table(name)
    words = table.select_dtypes(exclude="number")
    text = "\n".join("\t".join(row) for row in [tuple(words), *words.itertuples(index=False)])
    rows = [
        (name, column, len(table), f"{table[column].sum():.10g}")
        for column in table.select_dtypes(include="number")
    ]
    mark = hashlib.sha256(text.encode()).hexdigest()[:16]
    return [*rows, (name, "words", len(table), mark)]


def main(names):
    """Write the fingerprints of the named tables, or of all."""
    known = table_names()
    old = pd.read_csv(FILE, dtype=str) if FILE.exists() and names else None
    rows = [row for name in known if not names or name in names for row in fingerprint(name)]
    table = pd.DataFrame(rows, columns=["table", "column", "rows", "total"]).astype(str)
    if old is not None:
        keep = old[old["table"].isin(known) & ~old["table"].isin(names)]
        table = pd.concat([keep, table]).sort_values("table", kind="stable")
    table.to_csv(FILE, index=False, lineterminator="\n")


if __name__ == "__main__":
    main(sys.argv[1:])
