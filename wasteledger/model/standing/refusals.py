"""What cannot be: the refusals that folding a fact can raise, each a sentence and a hint."""

from __future__ import annotations

from datetime import datetime

from wasteledger.errors import Unknown, WasteLedgerError
from wasteledger.units import Mass


class NotThereYet(Unknown):
    """The trap, container, pickup or separator did not exist at that time, or does not exist at all."""

    code = "not-there"

    def __init__(self, what: str, ref: str, since: datetime | None = None) -> None:
        if since is None:
            message = f"There is no {what} “{ref}” in this ledger."
            super().__init__(message, hint=f"Check the name; if it is right, register or open the {what} first.")
        else:
            message = f"The {what} “{ref}” is in the ledger only since {{since}}."
            super().__init__(message, hint="Give a later time, or correct the entry that began it.", since=since)


class AlreadyThere(WasteLedgerError):
    """A second first entry for the same name."""

    code = "already-there"

    def __init__(self, what: str, ref: str, since: datetime) -> None:
        super().__init__(
            f"There is already a {what} “{ref}”, since {{since}}.",
            hint="Give another name; a name is never used twice.",
            since=since,
        )


class Retired(WasteLedgerError):
    """It was taken out of service before."""

    code = "retired"

    def __init__(self, what: str, ref: str, since: datetime) -> None:
        super().__init__(
            f"The {what} “{ref}” was taken out of service on {{since}}.",
            hint="Check the name, or correct the entry that retired it.",
            since=since,
        )


class ContainerSealed(WasteLedgerError):
    """A closed container takes nothing more."""

    code = "container-closed"

    def __init__(self, container: str, closed_at: datetime) -> None:
        super().__init__(
            f"Container {container} was closed on {{closed}}.",
            hint="Put it into an open container, or correct the closing if it was entered by mistake.",
            closed=closed_at,
        )


class ContainerGone(WasteLedgerError):
    """A shipped container is no longer here."""

    code = "container-gone"

    def __init__(self, container: str, pickup: str) -> None:
        super().__init__(
            f"Container {container} left the site with pickup {pickup}.",
            hint="Check the name of the container, or correct the release if it was entered by mistake.",
        )


class WrongStream(WasteLedgerError):
    """The container is not meant for that stream."""

    code = "wrong-stream"

    def __init__(self, container: str, stream: str, accepted: tuple[str, ...]) -> None:
        super().__init__(
            f"Container {container} does not take “{stream}”; it takes {', '.join(accepted)}.",
            hint="Use a container for that stream. What may share one is the carrier's written rule to widen.",
        )


class BelowTare(WasteLedgerError):
    """The scale shows less than the empty container weighs."""

    code = "below-tare"

    def __init__(self, container: str, gross_mg: int, tare_mg: int) -> None:
        super().__init__(
            f"{Mass(gross_mg)} is below the empty mass of container {container}, {Mass(tare_mg)}.",
            hint="Weigh it again with its lid, or correct the tare if that was wrong.",
        )


class NotReleased(WasteLedgerError):
    """A receipt for a pickup that never left."""

    code = "not-released"

    def __init__(self, pickup: str) -> None:
        super().__init__(
            f"Pickup {pickup} was never released, so nothing can have been received.",
            hint="Record the release first, with the time at which the carrier took the containers.",
        )


class NotAsBooked(WasteLedgerError):
    """What leaves, or comes back, is not what the pickup holds."""

    code = "not-as-booked"


class NotClosed(WasteLedgerError):
    """An open container cannot leave."""

    code = "not-closed"

    def __init__(self, container: str) -> None:
        super().__init__(
            f"Container {container} is still open.",
            hint="Close it first, so that its label and its papers carry a closing date.",
        )
