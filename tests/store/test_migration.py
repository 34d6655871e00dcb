"""The migrations make exactly the tables that the program is written for, on both databases."""

import pytest
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import text
from tests.conftest import ENGINES

from lotwalk.store import engine as store
from lotwalk.store.tables import metadata


def described(engine) -> set[tuple[str, ...]]:
    """All that the database itself says of its tables and indexes, down to the conditions of partial ones."""
    if engine.dialect.name == "sqlite":
        statements = [
            "SELECT name, sql FROM sqlite_master WHERE type = 'index' AND sql > ''",
            "SELECT name, type, wr, strict FROM pragma_table_list WHERE schema = 'main'",
            'SELECT t.name, c.name, c.type, c."notnull", c.dflt_value, c.pk FROM pragma_table_list t'
            " JOIN pragma_table_xinfo(t.name) c WHERE t.schema = 'main'",
            'SELECT t.name, i.name, i."unique", i.origin, x.seqno, x.name FROM pragma_table_list t'
            " JOIN pragma_index_list(t.name) i JOIN pragma_index_xinfo(i.name) x WHERE t.schema = 'main'",
            'SELECT t.name, f."from", f."table", f."to" FROM pragma_table_list t'
            " JOIN pragma_foreign_key_list(t.name) f WHERE t.schema = 'main'",
        ]
    else:
        statements = [
            "SELECT table_name, column_name, data_type || is_nullable || coalesce(column_default, '')"
            " FROM information_schema.columns WHERE table_schema = 'public'",
            "SELECT tablename, indexname, indexdef FROM pg_indexes WHERE schemaname = 'public'",
            "SELECT conrelid::regclass::text, contype::text, pg_get_constraintdef(oid) FROM pg_constraint"
            " WHERE connamespace = 'public'::regnamespace",
        ]
    with engine.connect() as connection:
        rows = {tuple(map(str, row)) for statement in statements for row in connection.execute(text(statement))}
    return {row for row in rows if "alembic_version" not in " ".join(row)}


@pytest.mark.parametrize("engine", ENGINES)
def test_the_migrations_give_the_tables_of_the_metadata(fresh, engine):
    migrated = store.open_engine(fresh(engine), create=True)
    store.migrate(migrated)
    with migrated.connect() as connection:
        assert compare_metadata(MigrationContext.configure(connection), metadata) == []
    created = store.open_engine(fresh(engine), create=True)
    metadata.create_all(created)
    assert described(migrated) == described(created)
    assert len(described(migrated)) > len(metadata.tables)
    for one in (migrated, created):
        one.dispose()


def test_migrating_again_changes_nothing(where):
    engine = store.open_engine(where, create=True)
    store.migrate(engine)
    before = described(engine)
    store.migrate(engine)
    assert described(engine) == before
    engine.dispose()


def test_the_newest_migration_is_the_one_that_ordinary_commands_expect(where):
    engine = store.open_engine(where, create=True)
    assert store.version(engine) is None
    store.migrate(engine)
    assert store.version(engine) == store.HEAD
    store.check_version(engine)
    config = Config()
    config.set_main_option("script_location", "lotwalk.store:migrations")
    assert ScriptDirectory.from_config(config).get_current_head() == store.HEAD
    engine.dispose()
