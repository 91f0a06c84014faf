"""The fixed words for what containers, labels, shipments and reports must show.

They stand apart from `words` for their length only; an ordinance file uses them alike.
"""

from __future__ import annotations

from enum import StrEnum


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
