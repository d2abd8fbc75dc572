"""Make the sample property Sourwood Hollow, an invented farm, from one seed.

    python sample_data/make_sample.py [--seed 1] [--folder FOLDER] [--truth FILE] [--no-photo]

The farm's files go to sample_data/sourwood_hollow; the true counts, which only tests read, go to
tests/data/sourwood_truth.csv.
"""

import argparse
from pathlib import Path

from maker.files import whole, write_property, write_table
from maker.land import make_land
from maker.photo import write_photo
from maker.sample import native_trees, simulate

HERE = Path(__file__).resolve().parent
SEED = 1


def main() -> None:
    """Read the command line and write the files."""
    ask = argparse.ArgumentParser(description="Make the sample property from one seed.")
    ask.add_argument("--seed", type=int, default=SEED)
    ask.add_argument("--folder", type=Path, default=HERE / "sourwood_hollow")
    truth = HERE.parent / "tests" / "data" / "sourwood_truth.csv"
    ask.add_argument("--truth", type=Path, default=truth)
    ask.add_argument("--no-photo", action="store_true")
    said = ask.parse_args()
    sample = simulate(said.seed)
    write_property(sample, said.folder)
    write_table(sample.truth, said.truth)
    if not said.no_photo:
        natives = native_trees(make_land())
        photo = said.folder / "aerial.tif"
        whole(photo, lambda path: write_photo(sample, natives, path, said.seed))
    print(f"{len(sample.stems):,} stems, {len(sample.plots)} plots in {said.folder.name}")


if __name__ == "__main__":
    main()
