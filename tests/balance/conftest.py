import pytest
from tests.balance.farm import start
from tests.conftest import ENGINES

from lotwalk.book import Book


@pytest.fixture(scope="session")
def registers(request, tmp_path_factory):
    """Where the farm with nothing but its register stands, on either engine, for tests to copy."""
    known: dict[str, str] = {}

    def place(engine: str) -> str:
        if engine not in known:
            server = request.getfixturevalue("postgres") if engine == "postgresql" else None
            known[engine] = server.fresh() if server else str(tmp_path_factory.mktemp("balance") / "farm.db")
            start(known[engine]).ledger.engine.dispose()
        return known[engine]

    return place


@pytest.fixture
def opened(registers, fresh):
    """Opens a copy of the farm on an engine."""
    books: list[Book] = []

    def opened(engine: str) -> Book:
        books.append(Book.open(fresh(engine, registers(engine))))
        return books[-1]

    yield opened
    for book in books:
        book.ledger.engine.dispose()


@pytest.fixture
def farm(opened) -> Book:
    """The farm's book in a SQLite file."""
    return opened("sqlite")


@pytest.fixture(params=ENGINES)
def book(request, opened) -> Book:
    """The farm's book: once in a SQLite file, once on PostgreSQL."""
    return opened(request.param)
