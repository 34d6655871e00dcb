import pytest
from tests.physics.book import started


@pytest.fixture(scope="session")
def template(tmp_path_factory):
    """The book on the farm's first morning, to be copied."""
    return started(tmp_path_factory.mktemp("physics") / "template.db")
