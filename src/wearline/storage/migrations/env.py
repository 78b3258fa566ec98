"""What Alembic runs: the migrations, inside the transaction of the connection that the program gives."""

from __future__ import annotations

from alembic import context

from wearline.storage.tables import VERSION_TABLE, metadata
from wearline.storage.web_tables import WEB_APPEND_ONLY

assert WEB_APPEND_ONLY, "the tables of the web app stand in the metadata"
context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=metadata,
    version_table=VERSION_TABLE,
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
