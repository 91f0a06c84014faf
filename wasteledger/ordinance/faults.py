"""What is wrong in an ordinance file, each fault with its file, line and key."""

from __future__ import annotations

from dataclasses import dataclass

from wasteledger.errors import NotUnderstood


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong in a file.

    Attributes:
        file: Name of the file.
        line: Line on which the key stands, or its table when the key is missing; 0 when there is no such place.
        key: Path of the key, such as ``rule[2].due.days``.
        problem: What is wrong, a sentence.
        accepted: What would be accepted, a sentence.
    """

    file: str
    line: int
    key: str
    problem: str
    accepted: str

    def __str__(self) -> str:
        place = f"{self.file} line {self.line}" if self.line else self.file
        return f"{place}, {self.key}: {self.problem} {self.accepted}" if self.key else f"{place}: {self.problem}"


class BadOrdinance(NotUnderstood):
    """Ordinance files that cannot be read, or do not fit together; ``faults`` has every one, in the files' order."""

    code = "bad-ordinance"

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        count = "1 fault" if len(faults) == 1 else f"{len(faults)} faults"
        files = ", ".join(dict.fromkeys(fault.file for fault in faults))
        listed = "\n".join(f"  {fault}" for fault in faults)
        super().__init__(
            f"{files}: {count}; nothing of it is in force.\n{listed}",
            hint="Mend the lines named here and read the file again.",
        )
        self.faults = faults
