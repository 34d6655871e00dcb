import pytest
from tests.walk.farm import started


@pytest.fixture(scope="module")
def template(tmp_path_factory):
    """A ledger with nothing but what a random farm starts with, to be copied."""
    return started(tmp_path_factory.mktemp("walk") / "template.db")
