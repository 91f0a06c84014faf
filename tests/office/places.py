"""The invented practice as a workplace, with ordinances of our choice in force."""

from __future__ import annotations

import hashlib
from typing import Any

from tests.makers import Clinic, a_line
from wasteledger.model.register import OrdinanceDetails
from wasteledger.office.workplace import Workplace
from wasteledger.resources import find

FEDERAL, CONVENTIONS = "us-federal-dental", "office-conventions"


def a_place(clinic: Clinic, *names: str) -> Workplace:
    """The practice, with the shipped ordinances of these *names* in force and no others."""
    details: Any = next(
        entry.body.details  # type: ignore[attr-defined]
        for entry in clinic.entries()
        if entry.kind == "register" and entry.body.ref == "federal"  # type: ignore[attr-defined]
    )
    clinic.append(a_line("federal", details, retired=True))
    for name in names:
        put_in_force(clinic, name, find(f"ordinances/{name}.toml").read_text("utf-8"))
    return Workplace(clinic.ledger, clinic.site, "mo")


def put_in_force(clinic: Clinic, name: str, text: str) -> None:
    """Register the text of an ordinance."""
    digest = hashlib.sha256(text.encode()).hexdigest()
    clinic.append(a_line(name, OrdinanceDetails(name=name, version="1", digest=digest, text=text)))


A_LOCAL_RULE = """
schema = 1
[ordinance]
id = "river-district"
title = "River District sewer code"
authority = "River District"
level = "local"
version = "1"
dated_on = 2025-01-01
source = "Invented for a test"
[[rule]]
id = "RD-1"
duty = "ship-container"
kind = "deadline"
title = "Ship within ninety days of full"
asks = "A full container is shipped within 90 days."
trigger = "container_full"
due = { days = 90 }
citation = "River District 5-6"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
[[rule]]
id = "RD-2"
duty = "look-at-containers"
kind = "deadline"
title = "Look at the containers weekly"
asks = "Containers are looked at every week."
trigger = "containers_looked_at"
recurs = true
due = { days = 7 }
citation = "River District 5-7"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
[[rule]]
id = "RD-3"
duty = "clean-lines"
kind = "deadline"
title = "Clean the lines weekly"
asks = "Lines are cleaned every week."
trigger = "line_cleaned"
recurs = true
due = { days = 7 }
citation = "River District 5-8"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
[[label]]
id = "RD-L"
title = "Words on a container"
asks = "Containers carry these words."
citation = "River District 5-9"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
lines = ["Amalgam. Contains mercury"]
[[waste_code]]
id = "RD-W"
title = "mercury"
asks = "Papers name the code."
citation = "River District 5-10"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
code = "RD09"
"""
