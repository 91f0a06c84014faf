"""The journal with its guards, and the standing that is computed from it.

Revision: 0001 (first form of a ledger).
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op
from sqlmodel.sql.sqltypes import UTCDateTime

from wasteledger.ledger.guards import sqlite_guards

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make every table, then the guards of the journal."""
    op.create_table(
        "chain_end",
        sa.Column("site", sa.String(), nullable=False),
        sa.Column("entries", sa.BigInteger(), nullable=False),
        sa.Column("digest", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("site", name="pk_chain_end"),
    )
    op.create_table(
        "container",
        sa.Column("site", sa.String(), nullable=False),
        sa.Column("container", sa.String(), nullable=False),
        sa.Column("container_type", sa.String(), nullable=False),
        sa.Column("streams", sa.String(), nullable=False),
        sa.Column("status", sa.String(), nullable=False),
        sa.Column("place", sa.String(), nullable=False),
        sa.Column("opened_seq", sa.BigInteger(), nullable=False),
        sa.Column("opened_at", UTCDateTime(), nullable=False),
        sa.Column("last_at", UTCDateTime(), nullable=False),
        sa.Column("tare_mg", sa.BigInteger(), nullable=False),
        sa.Column("tare_twelfths_mg2", sa.BigInteger(), nullable=False),
        sa.Column("fill_ml", sa.Integer(), nullable=True),
        sa.Column("mass_limit_mg", sa.BigInteger(), nullable=True),
        sa.Column("items_limit", sa.Integer(), nullable=True),
        sa.Column("plan_at_permille", sa.Integer(), nullable=False),
        sa.Column("close_at_permille", sa.Integer(), nullable=False),
        sa.Column("closed_at", UTCDateTime(), nullable=True),
        sa.Column("pickup", sa.String(), nullable=True),
        sa.Column("first_waste_at", UTCDateTime(), nullable=True),
        sa.Column("weighed_at", UTCDateTime(), nullable=True),
        sa.Column("level_permille", sa.Integer(), nullable=True),
        sa.Column("level_at", UTCDateTime(), nullable=True),
        sa.Column("level_seq", sa.BigInteger(), nullable=False),
        sa.Column("volume_since_level_ml", sa.BigInteger(), nullable=False),
        sa.Column("volumes_unknown", sa.Integer(), nullable=False),
        sa.Column("swaps", sa.Integer(), nullable=False),
        sa.Column("deposits", sa.Integer(), nullable=False),
        sa.Column("pieces", sa.Integer(), nullable=False),
        sa.Column("received_mg", sa.BigInteger(), nullable=True),
        sa.Column("base_mg", sa.BigInteger(), nullable=False),
        sa.Column("base_twelfths_mg2", sa.BigInteger(), nullable=False),
        sa.Column("base_seq", sa.BigInteger(), nullable=False),
        sa.Column("added_mg", sa.BigInteger(), nullable=False),
        sa.Column("added_twelfths_mg2", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("site", "container", name="pk_container"),
    )
    op.create_index("ix_container_site_status", "container", ["site", "status"], unique=False)
    op.create_table(
        "container_tally",
        sa.Column("site", sa.String(), nullable=False),
        sa.Column("container", sa.String(), nullable=False),
        sa.Column("source", sa.String(), nullable=False),
        sa.Column("grade", sa.String(), nullable=False),
        sa.Column("count", sa.BigInteger(), nullable=False),
        sa.Column("dentists_permille", sa.BigInteger(), nullable=False),
        sa.Column("dentist_days_permille", sa.BigInteger(), nullable=False),
        sa.Column("inserts_mg", sa.BigInteger(), nullable=False),
        sa.Column("inserts_unknown", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("site", "container", "source", "grade", name="pk_container_tally"),
    )
    op.create_table(
        "governing_correction",
        sa.Column("site", sa.String(), nullable=False),
        sa.Column("corrects", sa.BigInteger(), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("action", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("site", "corrects", name="pk_governing_correction"),
    )
    op.create_table(
        "journal",
        sa.Column("site", sa.String(), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("kind", sa.String(), nullable=False),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.Column("happened_at", UTCDateTime(), nullable=False),
        sa.Column("recorded_at", UTCDateTime(), nullable=False),
        sa.Column("recorded_by", sa.String(), nullable=False),
        sa.Column("door", sa.String(), nullable=False),
        sa.Column("body", sa.Text(), nullable=False),
        sa.Column("trap", sa.String(), nullable=True),
        sa.Column("container", sa.String(), nullable=True),
        sa.Column("pickup", sa.String(), nullable=True),
        sa.Column("key", sa.String(), nullable=False),
        sa.Column("previous", sa.String(), nullable=False),
        sa.Column("digest", sa.String(), nullable=False),
        sa.PrimaryKeyConstraint("site", "seq", name="pk_journal"),
        sa.UniqueConstraint("site", "key", name="uq_journal_site_key"),
    )
    op.create_index("ix_journal_site_happened_at", "journal", ["site", "happened_at"], unique=False)
    op.create_index("ix_journal_site_kind_happened_at", "journal", ["site", "kind", "happened_at"], unique=False)
    op.create_index("ix_journal_site_recorded_by_seq", "journal", ["site", "recorded_by", "seq"], unique=False)
    op.create_table(
        "mention",
        sa.Column("site", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("ref", sa.String(), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("site", "what", "ref", "seq", name="pk_mention"),
    )
    op.create_table(
        "milestone",
        sa.Column("site", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("ref", sa.String(), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("times", sa.Integer(), nullable=False),
        sa.Column("last_at", UTCDateTime(), nullable=False),
        sa.PrimaryKeyConstraint("site", "what", "ref", name="pk_milestone"),
    )
    op.create_table(
        "pickup",
        sa.Column("site", sa.String(), nullable=False),
        sa.Column("pickup", sa.String(), nullable=False),
        sa.Column("status", sa.String(), nullable=False),
        sa.Column("planned_on", sa.Date(), nullable=False),
        sa.Column("carrier", sa.String(), nullable=False),
        sa.Column("facility", sa.String(), nullable=False),
        sa.Column("booked_seq", sa.BigInteger(), nullable=False),
        sa.Column("booked_at", UTCDateTime(), nullable=False),
        sa.Column("last_at", UTCDateTime(), nullable=False),
        sa.Column("containers", sa.Text(), nullable=False),
        sa.Column("released_seq", sa.BigInteger(), nullable=False),
        sa.Column("released_at", UTCDateTime(), nullable=True),
        sa.Column("received_seq", sa.BigInteger(), nullable=False),
        sa.Column("received_on", sa.Date(), nullable=True),
        sa.Column("recycled_seq", sa.BigInteger(), nullable=False),
        sa.Column("recycled_on", sa.Date(), nullable=True),
        sa.PrimaryKeyConstraint("site", "pickup", name="pk_pickup"),
    )
    op.create_index("ix_pickup_site_status", "pickup", ["site", "status"], unique=False)
    op.create_table(
        "register_line",
        sa.Column("site", sa.String(), nullable=False),
        sa.Column("what", sa.String(), nullable=False),
        sa.Column("ref", sa.String(), nullable=False),
        sa.Column("seq", sa.BigInteger(), nullable=False),
        sa.Column("since_at", UTCDateTime(), nullable=False),
        sa.Column("last_at", UTCDateTime(), nullable=False),
        sa.Column("retired_at", UTCDateTime(), nullable=True),
        sa.Column("details", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("site", "what", "ref", name="pk_register_line"),
    )
    op.create_table(
        "separator",
        sa.Column("site", sa.String(), nullable=False),
        sa.Column("separator", sa.String(), nullable=False),
        sa.Column("details", sa.Text(), nullable=False),
        sa.Column("in_service_at", UTCDateTime(), nullable=False),
        sa.Column("last_at", UTCDateTime(), nullable=False),
        sa.Column("retired_at", UTCDateTime(), nullable=True),
        sa.Column("inspections", sa.Integer(), nullable=False),
        sa.Column("last_inspection_seq", sa.BigInteger(), nullable=False),
        sa.Column("last_inspection_at", UTCDateTime(), nullable=True),
        sa.Column("last_result", sa.String(), nullable=True),
        sa.Column("level_permille", sa.Integer(), nullable=True),
        sa.Column("malfunction_seq", sa.BigInteger(), nullable=False),
        sa.Column("malfunction_at", UTCDateTime(), nullable=True),
        sa.Column("last_unit_seq", sa.BigInteger(), nullable=False),
        sa.Column("last_unit_at", UTCDateTime(), nullable=True),
        sa.PrimaryKeyConstraint("site", "separator", name="pk_separator"),
    )
    op.create_table(
        "trap",
        sa.Column("site", sa.String(), nullable=False),
        sa.Column("trap", sa.String(), nullable=False),
        sa.Column("walk", sa.Integer(), nullable=False),
        sa.Column("details", sa.Text(), nullable=False),
        sa.Column("in_service_at", UTCDateTime(), nullable=False),
        sa.Column("last_at", UTCDateTime(), nullable=False),
        sa.Column("retired_at", UTCDateTime(), nullable=True),
        sa.Column("looks", sa.Integer(), nullable=False),
        sa.Column("swaps", sa.Integer(), nullable=False),
        sa.Column("last_look_seq", sa.BigInteger(), nullable=False),
        sa.Column("last_look_at", UTCDateTime(), nullable=True),
        sa.Column("last_condition", sa.String(), nullable=True),
        sa.Column("last_swap_seq", sa.BigInteger(), nullable=False),
        sa.Column("last_swap_at", UTCDateTime(), nullable=True),
        sa.Column("drying_seq", sa.BigInteger(), nullable=False),
        sa.PrimaryKeyConstraint("site", "trap", name="pk_trap"),
    )
    for statement in sqlite_guards():
        op.execute(statement)


def downgrade() -> None:
    """A journal is not unmade."""
    raise RuntimeError("a journal is not unmade; keep the file and use the release that made it")
