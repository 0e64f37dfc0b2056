"""Publications for the tests of the report room."""

import pytest
from publications import publication

from feedproof.report.model import Publication


@pytest.fixture(scope="session")
def report() -> Publication:
    """Give a realistic publication of invented figures."""
    return publication()
