"""The words that options take. The same words as in the model; repeated here, so that help loads no model."""

from __future__ import annotations

from enum import StrEnum


class Seen(StrEnum):
    """Condition of a trap."""

    CLEAN = "clean"
    DEBRIS = "debris"
    CLOGGED = "clogged"
    DAMAGED = "damaged"
    NOT_LOOKED = "not_looked"


class Why(StrEnum):
    """Why a container was closed."""

    FULL = "full"
    PICKUP = "pickup"
    OTHER = "other"


class Proof(StrEnum):
    """What a receipt proves."""

    RECEIVED = "received"
    RECYCLED = "recycled"
    BOTH = "both"


class InspectionResult(StrEnum):
    """What an inspection of the separator found."""

    IN_ORDER = "in-order"
    ATTENTION = "attention"
    MALFUNCTION = "malfunction"


class RepairAction(StrEnum):
    """What was done to the separator."""

    REPAIRED = "repaired"
    REPLACED = "replaced"


class Event(StrEnum):
    """Something that starts or ends a clock."""

    FIRST_DISCHARGE = "first_discharge"
    OWNERSHIP_TRANSFERRED = "ownership_transferred"
    ONE_TIME_REPORT_FILED = "one_time_report_filed"
    STOCK_LIMIT_REACHED = "stock_limit_reached"
    STOCK_LIMIT_ENDED = "stock_limit_ended"
    SATELLITE_LIMIT_REACHED = "satellite_limit_reached"
    SATELLITE_LIMIT_ENDED = "satellite_limit_ended"
    PRACTICE_CLOSED = "practice_closed"


class PersonRole(StrEnum):
    """What a person may do in a ledger."""

    ASSISTANT = "assistant"
    MANAGER = "manager"
    INSPECTOR = "inspector"
    KEEPER = "keeper"


class Part(StrEnum):
    """A part of the register."""

    SITE = "site"
    ROOM = "room"
    TRAP = "trap"
    PERSON = "person"
    CARRIER = "carrier"
    FACILITY = "facility"
    SCALE = "scale"
    CONTAINER_TYPE = "container_type"
    SEPARATOR = "separator"
    CLEANER = "cleaner"
    ORDINANCE = "ordinance"
    ROUND = "round"
    STREAM = "stream"


class Order(StrEnum):
    """By which time the history is sorted."""

    HAPPENED = "happened"
    RECORDED = "recorded"


class Size(StrEnum):
    """The sheet a document is laid out for."""

    LETTER = "letter"
    A4 = "a4"
