"""Run by Alembic: uses the connection that `wasteledger.ledger.migrate` hands in, and leaves logging alone."""

from __future__ import annotations

from alembic import context

from wasteledger.ledger.tables import METADATA

context.configure(
    connection=context.config.attributes["connection"], target_metadata=METADATA, transaction_per_migration=False
)
context.run_migrations()
