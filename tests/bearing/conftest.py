from collections.abc import Iterator
from pathlib import Path

import pytest
from tests.bearing.farm import start

from lotwalk.book import Book


@pytest.fixture(scope="session")
def template(tmp_path_factory) -> Path:
    """The farm with nothing but who and what there is, to be copied."""
    where = tmp_path_factory.mktemp("bearing") / "farm.db"
    start(str(where)).ledger.engine.dispose()
    return where


@pytest.fixture
def book(template, tmp_path) -> Iterator[Book]:
    """The farm's book."""
    where = tmp_path / "farm.db"
    where.write_bytes(template.read_bytes())
    opened = Book.open(str(where), clock=lambda: 1_774_500_000)
    yield opened
    opened.ledger.engine.dispose()
