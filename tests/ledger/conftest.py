from collections.abc import Callable, Iterator

import pytest
from tests.conftest import ENGINES
from tests.ledger.farm import Clock, start

from lotwalk.book import Book


@pytest.fixture(scope="session")
def farms(request, tmp_path_factory) -> Callable[[str], str]:
    """Where the farm of REGISTER stands, on either engine: a file to copy, and a database to put back."""
    known: dict[str, str] = {}

    def farm(engine: str) -> str:
        if engine not in known:
            server = request.getfixturevalue("postgres") if engine == "postgresql" else None
            place = server.fresh() if server else str(tmp_path_factory.mktemp("register") / "farm.db")
            start(place).ledger.engine.dispose()
            if server:
                server.keep(place)
            known[engine] = place
        return known[engine]

    return farm


@pytest.fixture
def opened(request, farms, fresh) -> Iterator[Callable[[str], Book]]:
    """Opens the farm on the engine named. Its connections are closed after the test, and what was done is undone."""
    books: list[Book] = []
    used: list[Callable[[], None]] = []

    def open_book(engine: str) -> Book:
        farm = farms(engine)
        if engine == "postgresql":
            assert not used, "a test opens the farm on PostgreSQL once"
            server = request.getfixturevalue("postgres")
            used.append(lambda: server.put_back(farm))
        books.append(Book.open(farm if engine == "postgresql" else fresh(engine, farm), clock=Clock()))
        return books[-1]

    yield open_book
    for book in books:
        book.ledger.engine.dispose()
    for put_back in used:
        put_back()


@pytest.fixture(params=ENGINES)
def book(request, opened) -> Book:
    """The farm's book: once in a SQLite file, once on PostgreSQL."""
    return opened(request.param)


@pytest.fixture
def lite(opened) -> Book:
    """The farm's book in a SQLite file, for what no database has a say in."""
    return opened("sqlite")
