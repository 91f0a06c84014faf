"""Ordinances: files that say what is asked, counted into dated obligations that name the rule and the clause.

Pure: no database, no clock. Reading a file is the only thing done outside memory.
"""

from wasteledger.ordinance.citations import citation_keys, find_cited, keys_of, rule_keys_of, same_rule
from wasteledger.ordinance.cleaners import CleanerFault, CleanerFinding, cleaner_findings
from wasteledger.ordinance.days import Holidays, Interval, Unit, WorkCalendar, business_days_after
from wasteledger.ordinance.due import binding, obligations, retention, undated
from wasteledger.ordinance.faults import BadOrdinance, Fault
from wasteledger.ordinance.figures import (
    SaidBy,
    container_needs,
    label_elements,
    label_words,
    lowest_fill_marks,
    practices,
    removal_minimum,
    reports,
    scopes,
    sharing_rules,
    shipment_papers,
    uncounted,
    waste_codes,
)
from wasteledger.ordinance.merge import get_provision, in_force
from wasteledger.ordinance.obligations import (
    Basis,
    DueState,
    Manual,
    Obligation,
    OtherDay,
    Retention,
    Trigger,
    Undated,
)
from wasteledger.ordinance.reader import read_holidays, read_ordinance
from wasteledger.ordinance.rules import AppliedOverride, Ordinance, Override, Provision, Rule
from wasteledger.ordinance.words import Duty, Event, Force, Kind, Lasting, Level, Record

__all__ = [
    "AppliedOverride",
    "BadOrdinance",
    "Basis",
    "CleanerFault",
    "CleanerFinding",
    "DueState",
    "Duty",
    "Event",
    "Fault",
    "Force",
    "Holidays",
    "Interval",
    "Kind",
    "Lasting",
    "Level",
    "Manual",
    "Obligation",
    "Ordinance",
    "OtherDay",
    "Override",
    "Provision",
    "Record",
    "Retention",
    "Rule",
    "SaidBy",
    "Trigger",
    "Undated",
    "Unit",
    "WorkCalendar",
    "binding",
    "business_days_after",
    "citation_keys",
    "cleaner_findings",
    "container_needs",
    "find_cited",
    "get_provision",
    "in_force",
    "keys_of",
    "label_elements",
    "label_words",
    "lowest_fill_marks",
    "obligations",
    "practices",
    "read_holidays",
    "read_ordinance",
    "removal_minimum",
    "reports",
    "retention",
    "rule_keys_of",
    "same_rule",
    "scopes",
    "sharing_rules",
    "shipment_papers",
    "uncounted",
    "undated",
    "waste_codes",
]
