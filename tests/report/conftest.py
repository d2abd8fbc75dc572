"""What the tests of the report share: a small place made by hand."""

import pypdfium2
import pytest

from clearing import report
from clearing.property import Results
from clearing.report.workplan import workplan_pdf
from tests.report.small_place import HOSTILE, small_results


@pytest.fixture(scope="session")
def small() -> Results:
    """Return the small place."""
    return small_results()


@pytest.fixture(scope="session")
def hostile() -> Results:
    """Return the small place, named by somebody who means harm."""
    return small_results(HOSTILE)


def pages_of(results: Results) -> list[str]:
    """Return the words of each page of the printed plan."""
    document = pypdfium2.PdfDocument(workplan_pdf(results, report.summarise(results), None))
    return [" ".join(page.get_textpage().get_text_range().split()) for page in document]


@pytest.fixture(scope="session")
def sample_pages(results) -> list[str]:
    """Return the words of the sample's pages."""
    return pages_of(results)


@pytest.fixture(scope="session")
def written(results) -> dict[str, bytes]:
    """Return every file of the sample property, without the photo."""
    return report.outputs(results)
