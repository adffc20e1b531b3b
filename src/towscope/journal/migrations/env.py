"""Alembic's environment on the store's own connection, inside its transaction."""

from alembic import context

if hasattr(context, "config"):  # not so when a tool merely imports this file
    context.configure(connection=context.config.attributes["connection"], target_metadata=None)
    context.run_migrations()
