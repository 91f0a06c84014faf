"""Between model values and rows: one function each way, and nothing else knows both."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import fields
from enum import Enum
from typing import Any

from pydantic import TypeAdapter

from wasteledger.ledger.chain import body_text, canonical
from wasteledger.ledger.tables import (
    ContainerRow,
    MilestoneRow,
    PickupRow,
    RegisterRow,
    Row,
    SeparatorRow,
    TrapRow,
)
from wasteledger.model.containers import Holding, Tally
from wasteledger.model.entries import read_body
from wasteledger.model.facts import Entry, Subject
from wasteledger.model.register import Details
from wasteledger.model.standing import (
    AnyStanding,
    ContainerStanding,
    MentionStanding,
    PickupStanding,
    RegisterStanding,
    SeparatorStanding,
    TrapStanding,
)
from wasteledger.model.traps import Condition

Values = dict[str, Any]
"""A row as column names and values."""

_DETAILS: TypeAdapter[Details] = TypeAdapter(Details)

TABLES: dict[type[AnyStanding], type[Row]] = {
    TrapStanding: TrapRow,
    ContainerStanding: ContainerRow,
    PickupStanding: PickupRow,
    SeparatorStanding: SeparatorRow,
    RegisterStanding: RegisterRow,
    MentionStanding: MilestoneRow,
}


def entry_values(entry: Entry) -> Values:
    """The journal row of an entry."""
    return {
        "site": entry.site,
        "seq": entry.seq,
        "kind": entry.kind,
        "version": entry.body.VERSION,
        "happened_at": entry.happened_at,
        "recorded_at": entry.recorded_at,
        "recorded_by": entry.recorded_by,
        "door": entry.door,
        "body": body_text(entry.body),
        "trap": entry.trap,
        "container": entry.container,
        "pickup": entry.pickup,
        "key": entry.key,
        "previous": entry.previous,
        "digest": entry.digest,
    }


def entry_of(values: Mapping[str, Any]) -> Entry:
    """The entry of a journal row.

    Raises:
        BodyNotUnderstood: The body's text does not fit its kind.
    """
    return Entry(
        site=values["site"],
        seq=values["seq"],
        happened_at=values["happened_at"],
        recorded_at=values["recorded_at"],
        recorded_by=values["recorded_by"],
        door=values["door"],
        body=read_body(values["kind"], values["version"], values["body"]),
        key=values["key"],
        previous=values["previous"],
        digest=values["digest"],
    )


def standing_values(site: str, state: AnyStanding) -> tuple[Values, list[Values]]:
    """The row of a standing, and the rows of its tallies (containers only)."""
    values: Values = {"site": site}
    tallies: list[Values] = []
    for one in fields(state):
        value = getattr(state, one.name)
        if isinstance(value, Holding):
            values |= {name.name: getattr(value, name.name) for name in fields(value) if name.name != "tallies"}
            tallies = [
                {"site": site, "container": values["container"]}
                | {name.name: getattr(tally, name.name) for name in fields(tally)}
                for tally in value.tallies
            ]
        elif isinstance(value, Enum):
            values[one.name] = value.value
        elif isinstance(value, tuple):
            values[one.name] = ",".join(value)
        elif one.name == "details":
            values[one.name] = canonical(value.model_dump(mode="json", exclude_none=True)).decode()
        else:
            values[one.name] = value
    return values, tallies


def standing_of(
    cls: type[AnyStanding], values: Mapping[str, Any], tallies: Sequence[Mapping[str, Any]] = ()
) -> AnyStanding:
    """The standing of a row."""
    named = {one.name: values[one.name] for one in fields(cls) if one.name in values}
    if cls is TrapStanding:
        named["last_condition"] = Condition(named["last_condition"]) if named["last_condition"] else None
    if cls is ContainerStanding:
        named["streams"] = _refs(named["streams"])
        kept = sorted((Tally(**_only(Tally, tally)) for tally in tallies), key=lambda one: (one.source, one.grade))
        named["holding"] = Holding(**_only(Holding, values), tallies=tuple(kept))
    if cls is PickupStanding:
        named["containers"] = _refs(named["containers"])
    if "details" in named:
        named["details"] = _DETAILS.validate_json(named["details"])
    return cls(**named)


def _refs(text: str) -> tuple[str, ...]:
    return tuple(text.split(",")) if text else ()


def _only(cls: type[Any], values: Mapping[str, Any]) -> Values:
    return {one.name: values[one.name] for one in fields(cls) if one.name in values}


def key_columns(subject: Subject, table: type[Row]) -> Values:
    """The key of a subject's row, without the site."""
    names = {column.name for column in table.__table__.primary_key}  # type: ignore[attr-defined]
    if "what" in names:
        return {"what": subject.what, "ref": subject.ref}
    return {subject.what: subject.ref}
