"""Stems on a block's page: which species are named, which together, which were not found."""

import dataclasses

from clearing.report import summarise
from clearing.report.block_stems import MOST_KINDS, charted, size_table, stems_said
from clearing.report.words import stems


def block_of(small, counts):
    """Return a block in words with one species a count."""
    block = summarise(small).blocks[0]
    rows = [dataclasses.replace(block.stems[0], species=f"kind_{n}", name=f"kind {n}", stems=one)
            for n, one in enumerate(counts)]  # fmt: skip
    sizes = [dataclasses.replace(block.sizes[0], species=f"kind_{n}", name=f"kind {n}")
             for n in range(len(counts))]  # fmt: skip
    return dataclasses.replace(block, stems=tuple(rows), sizes=tuple(sizes))


def test_species_past_the_first_few_stand_together(small):
    """Of fifteen species the first eight are named and seven with 100 stems each are 700."""
    block = block_of(small, [stems(100, 50, 200)] * 15)
    assert "and 7 more kinds, about 700 stems, on the map" in stems_said(block)
    assert size_table(block)[-1][0] == "and 7 more kinds"
    assert len(size_table(block)) == MOST_KINDS + 2
    assert charted(block) == ()


def test_a_species_that_was_not_found_has_no_row(small):
    """Nought stems are told as none found with what may be there, not as about 0."""
    block = block_of(small, [stems(100, 50, 200), stems(0, 0, 160)])
    assert "None found of kind 1 (up to 160)." in stems_said(block)
    assert "about 0" not in stems_said(block)
    assert [row[0] for row in size_table(block)[1:]] == ["Kind 0"]
    assert [one.species for one in charted(block)] == ["kind_0"]
