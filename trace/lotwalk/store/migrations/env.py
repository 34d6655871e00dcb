"""Alembic's entry point: runs the migrations on the connection that the caller opened."""

from alembic import context

from lotwalk.store.tables import metadata

context.configure(connection=context.config.attributes["connection"], target_metadata=metadata)
with context.begin_transaction():
    context.run_migrations()
