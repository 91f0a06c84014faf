"""Papers of an invented practice, for the tests of the documents."""

from __future__ import annotations

import hashlib
from datetime import date, datetime, timedelta
from typing import Any

from wasteledger.documents.papers import (
    Anchor,
    Basis,
    BinderPaper,
    Blank,
    CleanerRow,
    ContainerMovement,
    ContainerSum,
    CorrectionRow,
    Coverage,
    CoverageMonth,
    DepositLogPaper,
    DepositRow,
    Equipment,
    LabelPaper,
    LogSheetPaper,
    ManifestContainer,
    ManifestPaper,
    MassFigure,
    OfficeRow,
    Party,
    ReminderPaper,
    RepairRow,
    SentContainer,
    SeparatorRow,
    Shipment,
    StandingContainer,
    Stop,
    TrapLabelPaper,
    TrapLabelsPaper,
    Verification,
    WasteCode,
)

ANCHOR = Anchor("elm-street", 1204, hashlib.sha256(b"entry 1204").hexdigest())
PRACTICE = Party(
    name="Elm Street Dental",
    address=("14 Elm Street, Suite 2", "Example Town, NY 12000"),
    phone="555-0114",
    contact="Rosa Lindqvist, office manager",
    ids=(("Generator ID", "none needed so far"),),
)
CARRIER = Party(
    name="Quiet River Carriers",
    address=("Dock 7, Harbour Road", "Example Port, NY 12010"),
    phone="555-0133",
    ids=(("Permit", "TR-4410"),),
)
FACILITY = Party(
    name="North Hollow Metals Recovery",
    address=("1 Quarry Lane", "Example Hill, PA 15000"),
    phone="555-0177",
    ids=(("Permit", "RF-0098"),),
)
# Where no local clock is meant, the tests use this one: a Tuesday.
TUESDAY = datetime(2026, 3, 10, 10, 5)  # noqa: DTZ001  wall-clock time of the site


def a_container(number: int = 1, **changed: Any) -> ManifestContainer:
    weighed = number % 2 == 1
    values: dict[str, Any] = {
        "id": f"C-{number:03}",
        "kind": "2 L wide-mouth jar",
        "stream": "Contact amalgam and traps",
        "contents": "whole traps, dry",
        "condition": "closed, dry, lid tight",
        "first_waste_on": date(2025, 9, 1) + timedelta(days=number),
        "closed_on": date(2026, 3, 9),
        "gross_mg": 1_037_000 + number * 100 if weighed else None,
        "tare_mg": 225_000 if weighed else None,
        "net": MassFigure(Basis.WEIGHED, "812.0 g ± 0.4 g", 812_000)
        if weighed
        else MassFigure(Basis.ESTIMATE, "between 20 g and 310 g"),
        "counts": (("saliva-ejector traps", 14), ("high-volume traps", 12)),
    }
    return ManifestContainer(**{**values, **changed})


def a_manifest(count: int = 2, **changed: Any) -> ManifestPaper:
    values: dict[str, Any] = {
        "number": "P-0012",
        "anchor": ANCHOR,
        "prepared_at": TUESDAY,
        "prepared_by": "Rosa Lindqvist",
        "practice": PRACTICE,
        "carrier": CARRIER,
        "facility": FACILITY,
        "containers": tuple(a_container(number) for number in range(1, count + 1)),
        "emergency_contact": "Dr. Tomasz Okafor, 555-0115, day and night",
        "planned_on": date(2026, 3, 12),
        "left_on": date(2026, 3, 12),
        "weighed_total": MassFigure(Basis.WEIGHED, "812.0 g ± 0.4 g", 812_000),
        "estimated_total": MassFigure(Basis.ESTIMATE, "between 20 g and 310 g"),
        "combined": "between 832 g and 1122 g, of which 812.0 g weighed",
        "codes": (WasteCode("D009", "mercury", "40 CFR 261.24(b), table 1"),),
        "cautions": ("Example Town asks for the containers to be counted by both parties.",),
        "questions": ("Does one package hold 1 lb (0.454 kg) of mercury or more? (49 CFR 172.101 appendix A)",),
        "ordinances": ("40 CFR Part 441 (federal)", "Example Town sewer code 5-6"),
    }
    return ManifestPaper(**{**values, **changed})


def a_label(**changed: Any) -> LabelPaper:
    values: dict[str, Any] = {
        "container": "C-001",
        "words": ("Contact Amalgam Waste for Recycling", "Contains mercury. Toxic"),
        "stream": "Contact amalgam and traps",
        "contents": "whole traps, dry",
        "kind": "2 L wide-mouth jar",
        "practice": PRACTICE,
        "anchor": ANCHOR,
        "first_waste_on": date(2025, 9, 2),
    }
    return LabelPaper(**{**values, **changed})


def trap_labels(count: int = 14) -> TrapLabelsPaper:
    kinds = ("saliva-ejector trap", "high-volume trap")
    labels = tuple(
        TrapLabelPaper(
            f"R{place // 2 + 1}-{'SH'[place % 2]}",
            str(place // 2 + 1),
            kinds[place % 2],
            f"R{place // 2 + 1}-{'SH'[place % 2]}",
        )
        for place in range(count)
    )
    return TrapLabelsPaper("Elm Street Dental", ANCHOR, labels)


def a_log(count: int = 30, **changed: Any) -> DepositLogPaper:
    """A log with one late row (every seventh) and a corrected pair (rows 10 and 11 of every twenty)."""
    start = datetime(2025, 3, 3, 17, 4)  # noqa: DTZ001  wall-clock time of the site
    deposits = []
    for number in range(count):
        at = start + timedelta(hours=5 * number)
        weighed = number % 5 == 0
        place = number % 20
        deposits.append(
            DepositRow(
                entry=100 + number,
                happened_at=at,
                person="Ines Marchetti" if number % 2 else "Jørgen Ålund",
                place=f"Room {number % 6 + 1}, high-volume trap R{number % 6 + 1}-H",
                what="trap insert, clogged",
                stream="Contact amalgam and traps",
                container="C-001",
                count=1,
                mass=MassFigure(Basis.WEIGHED, "29.1 g ± 0.2 g", 29_100)
                if weighed
                else MassFigure(Basis.ESTIMATE, "between 0.4 g and 9.1 g"),
                recorded_at=at + timedelta(days=1, hours=2) if number % 7 == 3 else None,
                corrected_by=101 + number if place == 10 else None,
                corrects=99 + number if place == 11 else None,
                reason="Typed for the wrong room." if place in (10, 11) else "",
            )
        )
    values: dict[str, Any] = {
        "practice": PRACTICE,
        "anchor": ANCHOR,
        "prepared_at": TUESDAY,
        "from_on": date(2025, 3, 1),
        "to_on": date(2026, 2, 28),
        "coverage": Coverage(
            2301,
            2304,
            (
                Blank(date(2025, 4, 11), "Room 3", 2, "room closed, no water"),
                Blank(date(2025, 12, 19), "Plant room", 1),
            ),
        ),
        "rows": tuple(deposits),
        "containers": (
            ContainerSum(
                "C-001",
                "Contact amalgam and traps",
                29,
                29,
                MassFigure(Basis.ESTIMATE, "between 210 g and 430 g"),
                "open",
                date(2025, 2, 24),
            ),
        ),
    }
    return DepositLogPaper(**{**values, **changed})


def a_log_sheet(count: int = 14, **changed: Any) -> LogSheetPaper:
    kinds = ("saliva-ejector trap", "high-volume trap")
    walk = [
        Stop(f"Room {place // 2 + 1}", f"R{place // 2 + 1}-{'SH'[place % 2]}", kinds[place % 2])
        for place in range(count - 2)
    ]
    walk += [Stop("Plant room", "LINE", "vacuum-line filter"), Stop("Plant room", "PUMP", "central-pump trap")]
    values: dict[str, Any] = {
        "practice": "Elm Street Dental",
        "anchor": ANCHOR,
        "prepared_at": TUESDAY,
        "stops": tuple(walk),
        "containers": (("C-001", "Contact amalgam and traps"), ("C-004", "Teeth with amalgam")),
    }
    return LogSheetPaper(**{**values, **changed})


def a_reminder(**changed: Any) -> ReminderPaper:
    values: dict[str, Any] = {
        "number": "P-0012",
        "anchor": ANCHOR,
        "written_on": date(2026, 4, 13),
        "practice": PRACTICE,
        "to": CARRIER,
        "facility": FACILITY,
        "left_on": date(2026, 3, 12),
        "days_open": 32,
        "containers": (
            SentContainer("C-001", "Contact amalgam and traps", MassFigure(Basis.WEIGHED, "812.0 g ± 0.4 g", 812_000)),
            SentContainer("C-004", "Teeth with amalgam", MassFigure(Basis.ESTIMATE, "between 20 g and 310 g")),
        ),
        "signer": "Rosa Lindqvist",
        "earlier": ((date(2026, 4, 11), "telephone call, no answer"),),
    }
    return ReminderPaper(**{**values, **changed})


def a_binder(deposits: int = 60, **changed: Any) -> BinderPaper:
    log = a_log(deposits)
    weighed = MassFigure(Basis.WEIGHED, "812.0 g ± 0.4 g", 812_000)
    estimate = MassFigure(Basis.ESTIMATE, "between 20 g and 310 g")
    values: dict[str, Any] = {
        "practice": PRACTICE,
        "anchor": ANCHOR,
        "prepared_at": TUESDAY,
        "from_on": date(2023, 3, 1),
        "to_on": date(2026, 2, 28),
        "verification": Verification(
            1204, "Every digest agrees, and the standing follows from the journal.", date(2023, 3, 1), date(2026, 3, 9)
        ),
        "coverage": log.coverage,
        "facility": (("Owner", "Dr. Tomasz Okafor"), ("Chairs", "6"), ("Compliance report", "sent 2 October 2020")),
        "rules": ("40 CFR Part 441 (federal), in force from 14 July 2017", "Example Town sewer code 5-6"),
        "equipment": (
            Equipment(
                "Separator",
                "invented model AS-2",
                "778-1",
                date(2021, 5, 3),
                None,
                "rooms 1 to 6",
                "manual, certificate",
            ),
        ),
        "months": tuple(
            CoverageMonth(date(2025, month, 1), 191 if month == 4 else 192, 192, month % 3, 1 if month == 4 else 0)
            for month in range(3, 13)
        ),
        "separator": tuple(
            SeparatorRow(
                300 + week,
                date(2025, 3, 7) + timedelta(weeks=week),
                "Separator 778-1",
                "Ines Marchetti",
                "level 35 %, no bypass seen, no leak",
                "none needed" if week % 5 else "tighten inlet clamp; done the same day",
            )
            for week in range(24)
        ),
        "movements": (
            ContainerMovement(
                "C-001",
                "Contact amalgam and traps",
                opening=MassFigure(Basis.WEIGHED, "0 g", 0),
                put_in=estimate,
                taken_out=weighed,
                adjustment=MassFigure(Basis.WEIGHED, "+ 502.0 g ± 0.6 g", 502_000),
                closing=MassFigure(Basis.WEIGHED, "0 g", 0),
                state="left with P-0012",
            ),
        ),
        "standing": (
            StandingContainer(
                "C-005",
                "Contact amalgam and traps",
                MassFigure(Basis.ESTIMATE, "about 230 g, between 80 g and 540 g (95 %), of which 120.00 g weighed"),
                made_of="weighed 120 g (u 0.1 g); estimated 110 g (u 100 g); trap bodies 24 g, of known mass",
                uncertainty="100 g",
                causes="scale under 1 %, shared error 96 %, scatter 4 %",
                freedom="11",
                content=(
                    ("amalgam", "about 60 g, between 7 g and 190 g (95 %), estimate"),
                    ("mercury", "about 29 g, between 3 g and 93 g (95 %), estimate"),
                ),
                notes=("96 g of what was weighed is split by the kinds that had gone in by then.",),
            ),
            StandingContainer("C-006", "Used capsules", MassFigure(Basis.NONE), made_of="not known 12 capsules"),
        ),
        "deposits": log.rows,
        "shipments": (
            Shipment(
                "P-0012",
                date(2026, 3, 12),
                ("C-001", "C-004"),
                weighed,
                "Quiet River Carriers",
                "North Hollow Metals Recovery",
                manifest_entry=1204,
                days_open=32,
            ),
            Shipment(
                "P-0011",
                date(2025, 3, 12),
                ("C-000",),
                weighed,
                "Quiet River Carriers",
                "North Hollow Metals Recovery",
                manifest_entry=804,
                receipt_entry=861,
                received_on=date(2025, 3, 30),
                received=MassFigure(Basis.WEIGHED, "811.6 g ± 1.2 g", 811_600),
                certificate="NH-2025-118",
                final_site="Example Hill, PA",
            ),
        ),
        "repairs": (
            RepairRow(410, date(2025, 6, 2), date(2025, 6, 9), "Tomasz Okafor", "inlet hose replaced", "AS-2 hose kit"),
        ),
        "cleaners": (
            CleanerRow(
                "Line cleaner, neutral",
                date(2024, 1, 8),
                None,
                "7.1",
                "none",
                "yes",
                "40 CFR 441.30(b)(2) asks for pH 6 to 8 and no oxidiser; the sheet states 7.1 and none",
            ),
        ),
        "office": (
            OfficeRow(
                420,
                date(2025, 1, 20),
                "duty",
                "Certification",
                "R-1 of Example Town sewer code",
                date(2025, 1, 31),
                paper="Sent by mail",
                person="Rosa Lindqvist",
            ),
            OfficeRow(421, date(2025, 2, 3), "duty", "Report", "R-2 of Example Town sewer code", date(2025, 1, 31)),
            OfficeRow(422, date(2025, 2, 4), "duty", "One-time report", "40 CFR 441.50", person="Rosa Lindqvist"),
            OfficeRow(423, date(2025, 2, 5), "training", "Handling, Spill", "Ines Marchetti, Tomasz Okafor"),
            OfficeRow(424, date(2025, 2, 6), "paper", "Operating manual", "SEP", paper="Rev. C, Binder 2"),
            OfficeRow(425, date(2025, 2, 6), "paper", "Procedure", paper="Binder 3"),
            OfficeRow(426, date(2025, 2, 7), "statement", "No bulk mercury", person="Rosa Lindqvist"),
            OfficeRow(427, date(2025, 2, 7), "statement", "Capsules recycled", why="The tub came late."),
            OfficeRow(428, date(2025, 3, 1), "other_waste", "Spent fixer, 2025-02", "12 kg, estimate, 3 kg on hand"),
            OfficeRow(429, date(2025, 3, 2), "cleaning", "", count=1),
            OfficeRow(480, date(2025, 12, 30), "cleaning", "", count=51, person="Ines Marchetti"),
        ),
        "corrections": (
            CorrectionRow(
                111,
                datetime(2025, 3, 6, 0, 4),  # noqa: DTZ001  wall-clock time of the site
                "Ines Marchetti",
                110,
                "room 5, trap R5-H, 29.1 g",
                "room 6, trap R6-H, 29.1 g",
                "Typed for the wrong room.",
            ),
        ),
        "findings": ("Room 3 was not looked at on 11 April 2025 (room closed, no water).",),
    }
    return BinderPaper(**{**values, **changed})
