"""The tables. Row classes check nothing: a model value is built and checked first, then made into a row.

Every key begins with the site, so that a journal may be partitioned by it. Masses are whole milligrams and want 64
bits; lists of refs are kept as text with commas, which no ref can hold.
"""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import BigInteger, Index, MetaData, Text, UniqueConstraint
from sqlmodel import Field, SQLModel

# Named constraints, so that a migration can speak of them on every database.
METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)


class Row(SQLModel):
    """Base of all row classes; its own metadata keeps other users of SQLModel in the same process apart."""

    metadata = METADATA


class EntryRow(Row, table=True):
    """One entry of the journal; only ever inserted."""

    __tablename__ = "journal"
    __table_args__ = (
        UniqueConstraint("site", "key"),
        Index(None, "site", "happened_at"),
        Index(None, "site", "kind", "happened_at"),
        Index(None, "site", "recorded_by", "seq"),
    )

    site: str = Field(primary_key=True)
    seq: int = Field(primary_key=True, sa_type=BigInteger)
    kind: str
    version: int
    happened_at: datetime
    recorded_at: datetime
    recorded_by: str
    door: str
    body: str = Field(sa_type=Text)
    trap: str | None = None
    container: str | None = None
    pickup: str | None = None
    key: str
    previous: str
    digest: str


class ChainEndRow(Row, table=True):
    """Where a site's chain ends: how many entries it has, and the digest of the last."""

    __tablename__ = "chain_end"

    site: str = Field(primary_key=True)
    entries: int = Field(sa_type=BigInteger)
    digest: str


class MentionRow(Row, table=True):
    """Which entry speaks of what; computed from the journal."""

    __tablename__ = "mention"

    site: str = Field(primary_key=True)
    what: str = Field(primary_key=True)
    ref: str = Field(primary_key=True)
    seq: int = Field(primary_key=True, sa_type=BigInteger)


class GoverningRow(Row, table=True):
    """The newest correction of an entry; computed from the journal."""

    __tablename__ = "governing_correction"

    site: str = Field(primary_key=True)
    corrects: int = Field(primary_key=True, sa_type=BigInteger)
    seq: int = Field(sa_type=BigInteger)
    action: str


class RegisterRow(Row, table=True):
    """A line of the register, other than traps and separators, which have tables of their own."""

    __tablename__ = "register_line"

    site: str = Field(primary_key=True)
    what: str = Field(primary_key=True)
    ref: str = Field(primary_key=True)
    seq: int = Field(sa_type=BigInteger)
    since_at: datetime
    last_at: datetime
    retired_at: datetime | None = None
    details: str = Field(sa_type=Text)


class MilestoneRow(Row, table=True):
    """A milestone: the newest entry and how often."""

    __tablename__ = "milestone"

    site: str = Field(primary_key=True)
    what: str = Field(primary_key=True)
    ref: str = Field(primary_key=True)
    seq: int = Field(sa_type=BigInteger)
    times: int
    last_at: datetime


class TrapRow(Row, table=True):
    """A trap and its last look and swap."""

    __tablename__ = "trap"

    site: str = Field(primary_key=True)
    trap: str = Field(primary_key=True)
    walk: int
    details: str = Field(sa_type=Text)
    in_service_at: datetime
    last_at: datetime
    retired_at: datetime | None = None
    looks: int
    swaps: int
    last_look_seq: int = Field(sa_type=BigInteger)
    last_look_at: datetime | None = None
    last_condition: str | None = None
    last_swap_seq: int = Field(sa_type=BigInteger)
    last_swap_at: datetime | None = None
    drying_seq: int = Field(sa_type=BigInteger)


class SeparatorRow(Row, table=True):
    """A separator: last inspection, last exchange, open malfunction."""

    __tablename__ = "separator"

    site: str = Field(primary_key=True)
    separator: str = Field(primary_key=True)
    details: str = Field(sa_type=Text)
    in_service_at: datetime
    last_at: datetime
    retired_at: datetime | None = None
    inspections: int
    last_inspection_seq: int = Field(sa_type=BigInteger)
    last_inspection_at: datetime | None = None
    last_result: str | None = None
    level_permille: int | None = None
    malfunction_seq: int = Field(sa_type=BigInteger)
    malfunction_at: datetime | None = None
    last_unit_seq: int = Field(sa_type=BigInteger)
    last_unit_at: datetime | None = None


class ContainerRow(Row, table=True):
    """A container, its limits, its last weighing and level."""

    __tablename__ = "container"
    __table_args__ = (Index(None, "site", "status"),)

    site: str = Field(primary_key=True)
    container: str = Field(primary_key=True)
    container_type: str
    streams: str
    status: str
    place: str
    opened_seq: int = Field(sa_type=BigInteger)
    opened_at: datetime
    last_at: datetime
    tare_mg: int = Field(sa_type=BigInteger)
    tare_twelfths_mg2: int = Field(sa_type=BigInteger)
    fill_ml: int | None = None
    mass_limit_mg: int | None = Field(default=None, sa_type=BigInteger)
    items_limit: int | None = None
    plan_at_permille: int
    close_at_permille: int
    closed_at: datetime | None = None
    pickup: str | None = None
    first_waste_at: datetime | None = None
    weighed_at: datetime | None = None
    level_permille: int | None = None
    level_at: datetime | None = None
    level_seq: int = Field(sa_type=BigInteger)
    volume_since_level_ml: int = Field(sa_type=BigInteger)
    volumes_unknown: int
    swaps: int
    deposits: int
    pieces: int
    received_mg: int | None = Field(default=None, sa_type=BigInteger)
    base_mg: int = Field(sa_type=BigInteger)
    base_twelfths_mg2: int = Field(sa_type=BigInteger)
    base_seq: int = Field(sa_type=BigInteger)
    added_mg: int = Field(sa_type=BigInteger)
    added_twelfths_mg2: int = Field(sa_type=BigInteger)


class TallyRow(Row, table=True):
    """What went into a container since its last weighing, unweighed, by source and condition."""

    __tablename__ = "container_tally"

    site: str = Field(primary_key=True)
    container: str = Field(primary_key=True)
    source: str = Field(primary_key=True)
    grade: str = Field(primary_key=True)
    count: int = Field(sa_type=BigInteger)
    dentists_permille: int = Field(sa_type=BigInteger)
    dentist_days_permille: int = Field(sa_type=BigInteger)
    inserts_mg: int = Field(sa_type=BigInteger)
    inserts_unknown: int = Field(sa_type=BigInteger)


class PickupRow(Row, table=True):
    """A pickup and its papers."""

    __tablename__ = "pickup"
    __table_args__ = (Index(None, "site", "status"),)

    site: str = Field(primary_key=True)
    pickup: str = Field(primary_key=True)
    status: str
    planned_on: date
    carrier: str
    facility: str
    booked_seq: int = Field(sa_type=BigInteger)
    booked_at: datetime
    last_at: datetime
    containers: str = Field(sa_type=Text)
    released_seq: int = Field(sa_type=BigInteger)
    released_at: datetime | None = None
    received_seq: int = Field(sa_type=BigInteger)
    received_on: date | None = None
    recycled_seq: int = Field(sa_type=BigInteger)
    recycled_on: date | None = None


STANDING_TABLES: tuple[type[Row], ...] = (
    RegisterRow,
    MilestoneRow,
    TrapRow,
    SeparatorRow,
    ContainerRow,
    TallyRow,
    PickupRow,
)
DERIVED_TABLES: tuple[type[Row], ...] = (MentionRow, GoverningRow, *STANDING_TABLES)
