from datetime import datetime
from zoneinfo import ZoneInfo

import pytest
from tests.checks.farm import Farm
from tests.checks.small import Small
from tests.checks.stocked import STORES
from tests.conftest import ENGINES
from tests.sample import ledger

from lotwalk.book import Book
from lotwalk.checks.by_subject import CHECKS
from lotwalk.checks.findings import find


@pytest.fixture
def farm(tmp_path):
    """A farm on SQLite."""
    found = Farm(str(tmp_path / "farm.db"))
    yield found
    found.book.ledger.engine.dispose()


@pytest.fixture(params=ENGINES)
def farm_anywhere(request, fresh):
    """The same, once on SQLite and once on PostgreSQL."""
    found = Farm(fresh(request.param))
    yield found
    found.book.ledger.engine.dispose()


@pytest.fixture
def lite(tmp_path):
    """A farm with little in it, on SQLite."""
    made = Small(str(tmp_path / "farm.db"))
    yield made
    made.book.ledger.engine.dispose()


@pytest.fixture
def stocked(lite):
    """The same with a store of sanitisers and detergents."""
    lite.load(STORES)
    return lite


@pytest.fixture(scope="session")
def sample_farm():
    """Every finding of the sample farm on the day after its last one, by its id."""
    book = Book.open(str(ledger()))
    now = int(datetime(2026, 3, 2, 8, tzinfo=ZoneInfo("America/New_York")).timestamp())
    with book.ledger.reading() as connection:
        standing = find(book.records(connection, now), CHECKS)
    book.ledger.engine.dispose()
    return {one.finding.id: one for one in standing}
