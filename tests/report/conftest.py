"""Publications for the tests of the report room."""

import pytest

from feedproof.report.model import Publication
from tests.report.publications import publication


@pytest.fixture(scope="session")
def report() -> Publication:
    """Give a realistic publication of invented figures."""
    return publication()
