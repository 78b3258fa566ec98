"""What Alembic runs: the migrations, inside the transaction of the connection that the program gives."""

from __future__ import annotations

from alembic import context

from wearline.storage.tables import VERSION_TABLE, metadata

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    version_table=VERSION_TABLE,
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
