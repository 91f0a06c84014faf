"""The fixed words of an ordinance file: levels, events, duties, record classes, papers, fields of reports.

A word that a file may use stands here once. A file that uses another is refused with the words that would do.
"""

from __future__ import annotations

from enum import StrEnum

from wasteledger.ordinance.paper_words import (
    ContainerNeed,
    LabelElement,
    ReportField,
    ReportKind,
    ShipmentName,
    ShippingPaper,
)

__all__ = [
    "FILINGS",
    "OWN_DUTY",
    "ContainerNeed",
    "Duty",
    "Event",
    "Force",
    "Kind",
    "LabelElement",
    "Lasting",
    "Level",
    "MakerTask",
    "Record",
    "Regime",
    "ReportField",
    "ReportKind",
    "ShipmentName",
    "ShippingPaper",
    "Specialty",
    "Together",
    "Wastewater",
    "Years",
]


class Level(StrEnum):
    """Whose rule it is, from the widest to the nearest. Nearer law may be laid over wider law."""

    UNION = "union"  # of several states, such as the European Union
    FEDERAL = "federal"
    NATIONAL = "national"
    STATE = "state"
    LOCAL = "local"
    OFFICE = "office"

    @property
    def nearness(self) -> int:
        """0 for the widest, rising."""
        return tuple(Level).index(self)


class Force(StrEnum):
    """How binding a provision is in itself, whatever the practice decides to follow."""

    LAW = "law"
    ADVICE = "advice"  # somebody's published guidance
    CONVENTION = "convention"  # our own, or the office's own

    @property
    def words(self) -> str:
        """As people read it."""
        return {"law": "rule", "advice": "advice, not law", "convention": "own convention, not law"}[self.value]


class Kind(StrEnum):
    """What the day means: something is to be done by it, or a record is to be kept until it."""

    DEADLINE = "deadline"
    RETENTION = "retention"


class Event(StrEnum):
    """What starts a clock."""

    FIRST_DISCHARGE = "first_discharge"
    OWNERSHIP_TRANSFERRED = "ownership_transferred"
    SEPARATOR_INSTALLED = "separator_installed"
    SEPARATOR_INSPECTED = "separator_inspected"
    SEPARATOR_TESTED = "separator_tested"
    MALFUNCTION_FOUND = "malfunction_found"
    RETAINING_UNIT_REPLACED = "retaining_unit_replaced"
    RETAINING_UNIT_FULL = "retaining_unit_full"
    CONTAINER_FIRST_WASTE = "container_first_waste"
    CONTAINER_FULL = "container_full"
    CONTAINERS_LOOKED_AT = "containers_looked_at"
    STOCK_LIMIT_REACHED = "stock_limit_reached"
    SATELLITE_LIMIT_REACHED = "satellite_limit_reached"
    PICKUP_RELEASED = "pickup_released"
    PICKUP_RECEIVED = "pickup_received"
    LAST_PICKUP = "last_pickup"
    LINE_CLEANED = "line_cleaned"
    RECORD_MADE = "record_made"
    IN_FORCE = "in_force"
    DUTY_DONE = "duty_done"

    @property
    def words(self) -> str:
        """The event in plain words, as they follow "counted from …"."""
        return _EVENT_WORDS[self]


class Duty(StrEnum):
    """What is to be done. Rules of several ordinances that name the same duty are held against each other.

    A file may name a duty of its own, beginning with ``own-``.
    """

    ONE_TIME_REPORT = "one-time-report"
    NOTIFY_AUTHORITY = "notify-authority"
    CERTIFY = "certify"
    INSPECT_SEPARATOR = "inspect-separator"
    TEST_SEPARATOR = "test-separator"
    REPAIR_SEPARATOR = "repair-separator"
    RETIRE_LEGACY_SEPARATOR = "retire-legacy-separator"
    REPLACE_RETAINING_UNIT = "replace-retaining-unit"
    SHIP_CONTAINER = "ship-container"
    SHIP_STOCK = "ship-stock"
    MOVE_SATELLITE_EXCESS = "move-satellite-excess"
    LOOK_AT_CONTAINERS = "look-at-containers"
    CLEAN_LINES = "clean-lines"
    CHASE_RECEIPT = "chase-receipt"
    CHASE_RECEIPT_AGAIN = "chase-receipt-again"
    CHASE_RECEIPT_LAST = "chase-receipt-last"
    REPORT_MISSING_RECEIPT = "report-missing-receipt"
    KEEP_RECORDS = "keep-records"
    RENEW_REGISTRATION = "renew-registration"
    REPORT_AMOUNTS = "report-amounts"
    PROVE_INSTALLATION = "prove-installation"
    TRAIN_STAFF = "train-staff"
    EXPECT_CONSIGNEE_RETURN = "expect-consignee-return"


OWN_DUTY = "own-"

FILINGS: frozenset[str] = frozenset(
    {
        Duty.ONE_TIME_REPORT,
        Duty.NOTIFY_AUTHORITY,
        Duty.CERTIFY,
        Duty.RENEW_REGISTRATION,
        Duty.REPORT_AMOUNTS,
        Duty.PROVE_INSTALLATION,
        Duty.REPORT_MISSING_RECEIPT,
    }
)
"""Duties owed to each authority by itself: a paper sent to one of them answers no other."""


class Record(StrEnum):
    """Classes of records, as far as ordinances keep them for different times."""

    SEPARATOR_INSPECTION = "separator_inspection"
    RETAINING_UNIT_REPLACEMENT = "retaining_unit_replacement"
    SEPARATOR_REPAIR = "separator_repair"
    PICKUP = "pickup"
    MANIFEST = "manifest"
    EXCEPTION_REPORT = "exception_report"
    ONE_TIME_REPORT = "one_time_report"
    OPERATING_MANUAL = "operating_manual"
    SEPARATOR_FILE = "separator_file"
    DEPOSIT_LOG = "deposit_log"
    TRAINING = "training"
    RECEIPT = "receipt"
    CONSIGNMENT_NOTE = "consignment_note"
    CONSIGNEE_RETURN = "consignee_return"
    CERTIFICATION = "certification"
    AMOUNT_REPORT = "amount_report"


class ShownBy(StrEnum):
    """What shows that a duty without a day is done: a statement of the practice, a training, or a paper on file."""

    TRAINING = "training"
    # What a person answerable for the practice states.
    NO_BULK_MERCURY = "no_bulk_mercury"
    TRAPS_KEPT_FROM_SINKS = "traps_kept_from_sinks"
    AMALGAM_KEPT_FROM_OTHER_BINS = "amalgam_kept_from_other_bins"
    ALL_AMALGAM_CHAIRS_ON_SEPARATOR = "all_amalgam_chairs_on_separator"
    INSTALLED_AS_THE_MAKER_SAYS = "installed_as_the_maker_says"
    SIZED_FOR_PEAK_FLOW = "sized_for_peak_flow"
    CAPSULES_RECYCLED = "capsules_recycled"
    NO_PROHIBITED_ACT = "no_prohibited_act"
    # What lies on file.
    OPERATING_MANUAL = "operating_manual"
    CERTIFICATE = "certificate"
    CERTIFICATION = "certification"
    RECYCLER_INSTRUCTIONS = "recycler_instructions"
    MAINTENANCE_PLAN = "maintenance_plan"
    PROCEDURE = "procedure"
    CONTRACT = "contract"


class Lasting(StrEnum):
    """What a record is kept for when no number of years is set."""

    IN_USE = "in_use"
    UNTIL_TRANSFER = "until_transfer"
    UNTIL_CLOSURE_OR_TRANSFER = "until_closure_or_transfer"

    @property
    def words(self) -> str:
        """As people read it, after "kept"."""
        return {
            "in_use": "as long as the device is in use",
            "until_transfer": "until ownership is transferred",
            "until_closure_or_transfer": "while the practice operates, or until ownership is transferred",
        }[self.value]


class MakerTask(StrEnum):
    """The two schedules that a separator's operating manual sets."""

    INSPECTION = "inspection"
    REPLACEMENT = "replacement"


class Specialty(StrEnum):
    """Specialties that one ordinance or another leaves out when nothing else is practised."""

    ENDODONTICS = "endodontics"
    ORAL_PATHOLOGY = "oral_pathology"
    ORAL_RADIOLOGY = "oral_radiology"
    ORAL_SURGERY = "oral_surgery"
    ORTHODONTICS = "orthodontics"
    PERIODONTICS = "periodontics"
    PROSTHODONTICS = "prosthodontics"


class Years(StrEnum):
    """In which years a day that comes back is a due day."""

    ALL = "all"
    EVEN = "even"
    ODD = "odd"

    def has(self, year: int) -> bool:
        """Whether *year* is one of them.

        >>> Years.EVEN.has(2028), Years.ODD.has(2028)
        (True, False)
        """
        return self is Years.ALL or (year % 2 == 0) == (self is Years.EVEN)


class Regime(StrEnum):
    """Under which body of rules an ordinance puts amalgam waste."""

    HAZARDOUS = "hazardous"
    UNIVERSAL = "universal"
    STATE_PROGRAMME = "state_programme"
    UNDECIDED = "undecided"

    @property
    def words(self) -> str:
        """As people read it."""
        return {
            "hazardous": "hazardous waste",
            "universal": "universal waste",
            "state_programme": "a programme of its own",
            "undecided": "not decided here: the practice has its waste determined",
        }[self.value]


class Wastewater(StrEnum):
    """Where a practice's amalgam wastewater goes."""

    PUBLIC_SEWER = "public_sewer"
    SEPTIC = "septic"
    COLLECTED = "collected"


class Together(StrEnum):
    """Whether two streams may lie in one container, from the loosest answer to the strictest."""

    YES = "yes"
    OWN_LID = "own_lid"  # together, each piece closed under a lid of its own
    ASK = "ask"  # only by the carrier's or the authority's written word
    NO = "no"

    @property
    def strictness(self) -> int:
        """0 for the loosest, rising."""
        return tuple(Together).index(self)


_EVENT_WORDS = {
    Event.FIRST_DISCHARGE: "the first wastewater to the sewer",
    Event.OWNERSHIP_TRANSFERRED: "the transfer of ownership",
    Event.SEPARATOR_INSTALLED: "the installation of the separator",
    Event.SEPARATOR_INSPECTED: "the last inspection of the separator",
    Event.SEPARATOR_TESTED: "the last technical test of the separator",
    Event.MALFUNCTION_FOUND: "the day the malfunction was found",
    Event.RETAINING_UNIT_REPLACED: "the last replacement of the retaining unit",
    Event.RETAINING_UNIT_FULL: "the day the retaining unit is full",
    Event.CONTAINER_FIRST_WASTE: "the first waste in the container",
    Event.CONTAINER_FULL: "the day the container was full",
    Event.CONTAINERS_LOOKED_AT: "the last look at the containers",
    Event.STOCK_LIMIT_REACHED: "the day the stock limit was reached",
    Event.SATELLITE_LIMIT_REACHED: "the day the satellite limit was exceeded",
    Event.PICKUP_RELEASED: "the day the carrier accepted the pickup",
    Event.PICKUP_RECEIVED: "the day the pickup was received",
    Event.LAST_PICKUP: "the last pickup",
    Event.LINE_CLEANED: "the last line cleaning",
    Event.RECORD_MADE: "the day of the record",
    Event.IN_FORCE: "the day the ordinance was put in force here",
    Event.DUTY_DONE: "the day this was last done",
}
