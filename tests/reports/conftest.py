"""What the report tests share."""

import pytest

from wearline.catalogue.loading import load_catalogue


@pytest.fixture(scope="session")
def catalogue():
    return load_catalogue()
