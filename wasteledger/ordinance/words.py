"""The fixed words of an ordinance file: levels, events, duties, record classes, papers, fields of reports.

A word that a file may use stands here once. A file that uses another is refused with the words that would do.
"""

from __future__ import annotations

from enum import StrEnum


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


class ContainerNeed(StrEnum):
    """What a container must be, or hold."""

    CLOSED = "closed"
    SEALED = "sealed"
    AIRTIGHT = "airtight"
    LEAK_PROOF = "leak_proof"
    SOUND = "sound"
    VAPOUR_PROOF = "vapour_proof"
    BREAK_RESISTANT = "break_resistant"
    RIGID = "rigid"
    WIDE_MOUTHED = "wide_mouthed"
    MERCURY_SUPPRESSANT = "mercury_suppressant"

    @property
    def words(self) -> str:
        """As people read it, after "it is"."""
        return _NEED_WORDS.get(self, self.value.replace("_", "-"))


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


class LabelElement(StrEnum):
    """What a label shows besides fixed lines: filled in from the register and the journal."""

    OFFICE_NAME = "office_name"
    OFFICE_ADDRESS = "office_address"
    OFFICE_PHONE = "office_phone"
    CONTENTS = "contents"
    STREAM = "stream"
    START_DATE = "start_date"
    CLOSED_DATE = "closed_date"
    CONTAINER_ID = "container_id"
    HAZARD = "hazard"
    WASTE_CODE = "waste_code"
    CONTAINS_MERCURY = "contains_mercury"

    @property
    def words(self) -> str:
        """As people read it."""
        return _ELEMENT_WORDS.get(self, self.value.replace("_", " "))


class ShippingPaper(StrEnum):
    """The document that goes with a pickup."""

    MANIFEST = "manifest"
    BILL_OF_LADING = "bill_of_lading"
    CONSIGNMENT_NOTE = "consignment_note"
    RECYCLING_PROOF = "recycling_proof"
    OWN_RECORD = "own_record"
    NONE = "none"

    @property
    def words(self) -> str:
        """As people read it."""
        return _PAPER_WORDS.get(self, f"a {self.value.replace('_', ' ')}")


class ShipmentName(StrEnum):
    """What the record of a pickup must name."""

    SHIPPED_ON = "shipped_on"
    WEIGHT = "weight"
    COLLECTOR_NAME = "collector_name"
    COLLECTOR_ADDRESS = "collector_address"
    FACILITY_NAME = "facility_name"
    FACILITY_ADDRESS = "facility_address"
    CONTAINER_IDS = "container_ids"
    CONTENTS = "contents"

    @property
    def words(self) -> str:
        """As people read it."""
        return _SHIPMENT_WORDS.get(self, self.value.replace("_", " "))


class ReportKind(StrEnum):
    """What a practice writes to an authority."""

    ONE_TIME = "one_time"
    CERTIFICATION = "certification"
    AMOUNTS = "amounts"
    NOTICE = "notice"


class ReportField(StrEnum):
    """What a report to an authority must say."""

    FACILITY_NAME = "facility_name"
    PHYSICAL_ADDRESS = "physical_address"
    MAILING_ADDRESS = "mailing_address"
    PHONE = "phone"
    CONTACT = "contact"
    OWNER = "owner"
    OPERATOR = "operator"
    CHAIRS = "chairs"
    AMALGAM_CHAIRS = "amalgam_chairs"
    SEPARATORS = "separators"  # make, model, year installed and chairs served of each
    DISCHARGED_BEFORE_2017_07_14 = "discharged_before_2017_07_14"
    CERTIFIES_SEPARATOR = "certifies_separator"
    CERTIFIES_PRACTICES = "certifies_practices"
    MAINTENANCE_BY = "maintenance_by"
    CERTIFIES_EMERGENCY_ONLY = "certifies_emergency_only"
    AMALGAM_MADE_MG = "amalgam_made_mg"
    AMALGAM_SHIPPED_MG = "amalgam_shipped_mg"
    PICKUPS = "pickups"
    FACILITIES = "facilities"
    CARRIERS = "carriers"
    IDENTIFIERS = "identifiers"
    TRAINED_STAFF = "trained_staff"
    SEPARATOR_NOTICE = "separator_notice"

    @property
    def words(self) -> str:
        """As people read it."""
        return _FIELD_WORDS.get(self, self.value.replace("_", " "))


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

_NEED_WORDS = {
    ContainerNeed.SOUND: "sound, without damage",
    ContainerNeed.MERCURY_SUPPRESSANT: "fitted with mercury suppressant",
}

_ELEMENT_WORDS = {
    LabelElement.OFFICE_NAME: "name of the office",
    LabelElement.OFFICE_ADDRESS: "address of the office",
    LabelElement.OFFICE_PHONE: "telephone of the office",
    LabelElement.STREAM: "kind of amalgam waste",
    LabelElement.START_DATE: "day of the first waste in it",
    LabelElement.CLOSED_DATE: "day it was closed",
    LabelElement.CONTAINER_ID: "the container's own number",
    LabelElement.HAZARD: "what is dangerous about it",
    LabelElement.WASTE_CODE: "code of the waste",
    LabelElement.CONTAINS_MERCURY: "that it contains mercury",
}

_PAPER_WORDS = {
    ShippingPaper.RECYCLING_PROOF: "proof of recycling",
    ShippingPaper.OWN_RECORD: "the practice's own record",
    ShippingPaper.NONE: "no paper",
}

_SHIPMENT_WORDS = {
    ShipmentName.SHIPPED_ON: "day of the shipment",
    ShipmentName.COLLECTOR_NAME: "name of the collector",
    ShipmentName.COLLECTOR_ADDRESS: "address of the collector",
    ShipmentName.FACILITY_NAME: "name of the facility",
    ShipmentName.FACILITY_ADDRESS: "address of the facility",
    ShipmentName.CONTAINER_IDS: "numbers of the containers",
}

_FIELD_WORDS = {
    ReportField.FACILITY_NAME: "name of the practice",
    ReportField.CHAIRS: "chairs, all of them",
    ReportField.AMALGAM_CHAIRS: "chairs at which amalgam may be present",
    ReportField.SEPARATORS: "separators: make, model, year installed, chairs served",
    ReportField.DISCHARGED_BEFORE_2017_07_14: "whether wastewater was discharged before 14 July 2017",
    ReportField.CERTIFIES_SEPARATOR: "that the separator is designed, run and maintained as the rule asks",
    ReportField.CERTIFIES_PRACTICES: "that the practices of the rule are carried out",
    ReportField.MAINTENANCE_BY: "who maintains the separator, or how the practice does it",
    ReportField.CERTIFIES_EMERGENCY_ONLY: "that amalgam is removed in emergencies only and never placed",
    ReportField.AMALGAM_MADE_MG: "amalgam waste that arose",
    ReportField.AMALGAM_SHIPPED_MG: "amalgam waste that was shipped",
    ReportField.FACILITIES: "facilities that received it",
    ReportField.CARRIERS: "carriers that took it",
    ReportField.IDENTIFIERS: "permit and registration numbers",
    ReportField.TRAINED_STAFF: "who was trained, and when",
    ReportField.SEPARATOR_NOTICE: "the separator put into service",
}
