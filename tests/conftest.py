from collections.abc import Callable, Iterator
from itertools import count
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from tests.databases import Postgres

# No test fails because the machine was busy: times are measured in tests/bench.
settings.register_profile("any machine", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("any machine")

ENGINES = ("sqlite", "postgresql")


@pytest.fixture(scope="session")
def postgres() -> Iterator[Postgres]:
    """A real PostgreSQL server, started when the first test asks for it."""
    server = Postgres()
    yield server
    server.stop()


@pytest.fixture
def fresh(request, tmp_path) -> Iterator[Callable[..., str]]:
    """Makes places for ledgers on the engine named: empty ones, or copies of the ledger at another place."""
    numbers = count(1)
    urls: list[str] = []

    def place(engine: str, copy_of: str = "") -> str:
        if engine == "postgresql":
            urls.append(request.getfixturevalue("postgres").fresh(copy_of))
            return urls[-1]
        path = tmp_path / f"farm-{next(numbers)}.db"
        if copy_of:
            path.write_bytes(Path(copy_of).read_bytes())
        return str(path)

    yield place
    for url in urls:
        request.getfixturevalue("postgres").drop(url)


@pytest.fixture(params=ENGINES)
def where(request, fresh) -> str:
    """A place for a new ledger, once as a SQLite file and once as a PostgreSQL database."""
    return fresh(request.param)
