"""What alembic runs: the migrations, on the connection and in the transaction it is given."""

from alembic import context

from yardfall.store.tables import metadata

context.configure(connection=context.config.attributes["connection"], target_metadata=metadata)
context.run_migrations()
