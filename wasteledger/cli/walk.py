"""The evening round in the terminal: room after room, trap after trap, one key for what the eye sees.

There is no key for "all clean". What is left stays open and is named at the end; started again, the round goes on
with what is open tonight. Each answer is written at once, so the round can be left at any time.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from wasteledger.cli import cautions, output
from wasteledger.cli.common import OnPaperOption, Place, asks
from wasteledger.errors import NotUnderstood, WasteLedgerError

if TYPE_CHECKING:
    from collections.abc import Callable

    from wasteledger.office.round_plan import RoundPlan, RoundRoom, RoundTrap
    from wasteledger.office.workplace import Recorded

# No "c": clean and clogged both begin with it, and a hurried hand would write the one for the other.
_KEYS = {"o": "clean", "d": "debris", "g": "clogged", "x": "damaged"}
_LEGEND = (
    "o open, all holes: clean · d debris, most holes visible",
    "g clogged, holes not visible · x damaged, missing, overflowing",
    "n not looked, say why · r room closed today · s skip for now · q leave · ? these words",
)
_CLOGGED = "  s swapped now · d left to dry, swap before suction · l leave it, tell the manager"
_ROOM_CLOSED = "Room closed today."


class _Left(Exception):
    """The person leaves the round."""


def add_to(app: typer.Typer) -> None:
    """Put ``round`` into *app*."""
    app.command("round", rich_help_panel="Assistant")(walk_round)


@asks
def walk_round(
    place: Place,
    only: Annotated[str | None, typer.Option("--room", metavar="ROOM", help="Only this room.")] = None,
    on_paper: OnPaperOption = False,
) -> None:
    """Walk the rooms; say of each trap what you see.

    Goes on with what is open tonight; leave with q.
    """
    from wasteledger.office.round_plan import round_plan

    on = place.work.local(place.said.at).date() if place.said.at is not None else None
    plan = round_plan(place.work, on)
    _check_start(place, plan, only)
    walk = _Walk(place, on_paper)
    output.say(f"{plan.name or 'Evening round'}, {output.day(plan.today)}")
    for caution in cautions.ROUND:
        output.say(f"  {caution}")
    output.say(f"  {cautions.LAST_WORD}")
    if len(plan.open_tonight) == sum(len(room.traps) for room in plan.rooms):
        for step in plan.steps:
            output.say(f"· {step.does}{f' — {step.caution}' if step.caution else ''}")
    try:
        walk.change_dried(plan)
        walk.clean_lines(plan)
        for room in plan.rooms:
            if only in (None, room.room):
                walk.room(room)
    except (_Left, typer.Abort):
        output.say("")
    _say_end(round_plan(place.work, on))


def _check_start(place: Place, plan: RoundPlan, only: str | None) -> None:
    """Refuse at the door, not at the first trap: a person who cannot record, a room that is not on the round."""
    from wasteledger.office.workplace import check_recorder

    check_recorder(place.work)
    rooms = [room.room for room in plan.rooms]
    if only is not None and only not in rooms:
        raise NotUnderstood(f"There is no room “{only}” on the round.", hint=f"Rooms: {', '.join(rooms)}.")


class _Walk:
    def __init__(self, place: Place, on_paper: bool) -> None:
        self.place, self.on_paper = place, on_paper
        self.explained = False

    def change_dried(self, plan: RoundPlan) -> None:
        """What was left to dry on an earlier day comes first."""
        dried = [
            (room, trap)
            for room in plan.rooms
            for trap in room.traps
            if trap.drying_since is not None and trap.drying_since < plan.today
        ]
        if not dried:
            return
        named = ", ".join(f"{room.name} {trap.trap}" for room, trap in dried)
        output.say(f"{len(dried)} to change before suction starts: {named}")
        for room, trap in dried:
            if _ask(f"{room.name}, {trap.trap} ({trap.kind}): changed now? y yes · Enter later", "y") == "y":
                self._swap(trap.trap, None)

    def clean_lines(self, plan: RoundPlan) -> None:
        """Line cleaner goes first; nothing is asked where it was recorded today."""
        from wasteledger.office.enquiries import history
        from wasteledger.office.swaps import record_line_cleaning
        from wasteledger.units import Volume

        today = history(self.place.work, since=plan.today, until=plan.today, kind=("line_cleaning",), page_size=1000)
        done = {room for row in today.rows if row.counts for room in getattr(row.entry.body, "rooms", ())}
        with self.place.work.reading() as reader:
            there = {line.ref: bool(getattr(line.details, "chairs", 0)) for line in reader.lines("room")}
        chairs = [room for room, has_chairs in there.items() if has_chairs]
        with_traps = [room.room for room in plan.rooms if room.room in chairs and room.room not in done]
        if not with_traps:
            return
        output.say(f"  {cautions.CLEANER}")
        while True:
            said = _answer(f"Line cleaner: y done in {', '.join(with_traps)} · or name the rooms · Enter not now")
            if said in ("", "n", "s"):
                return
            rooms = tuple(with_traps) if said == "y" else tuple(dict.fromkeys(said.replace(",", " ").split()))
            if unknown := [room for room in rooms if room not in there]:
                if unknown != ["?"]:
                    output.say(f"! There is no room {', '.join(f'“{room}”' for room in unknown)}.")
                output.say(f"  Rooms that would do: {', '.join(chairs)}. y: {', '.join(with_traps)}. Enter: not now.")
                continue
            volume = Volume(plan.cleaner_per_room_ml * len(rooms)) if plan.cleaner_per_room_ml else None
            if self._write(
                lambda rooms=rooms, volume=volume: record_line_cleaning(  # type: ignore[misc]
                    self.place.work,
                    rooms,
                    self.place.said,
                    volume=volume,
                    suction_minutes=plan.suction_on_after_minutes,
                    on_paper=self.on_paper,
                )
            ):
                return

    def room(self, room: RoundRoom) -> None:
        """Each trap of the room that is open tonight."""
        left = [trap for trap in room.traps if trap.is_open]
        if not left:
            return
        output.say("")
        output.say(f"{room.name}: {output.count(len(left), 'trap')}")
        self._explain_keys()
        while left:
            trap = left[0]
            key = _ask(f"{trap.trap} ({trap.kind})", *_KEYS, "n", "r", "s", "?")
            if key == "?":
                self.explained = False
                self._explain_keys()
                continue
            if key == "r":
                for one in left:
                    self._not_looked(one, _ROOM_CLOSED)
                return
            if key == "s" or self._said(trap, key):
                left.pop(0)

    def _explain_keys(self) -> None:
        if not self.explained:
            for line in _LEGEND:
                output.say(f"  {line}")
        self.explained = True

    def _said(self, trap: RoundTrap, key: str) -> bool:
        if key == "n":
            reason = _answer("Why not? (Enter goes back)")
            return bool(reason) and self._not_looked(trap, reason)
        if key in ("g", "x"):
            next_step = _ask(_CLOGGED, "s", "d", "l")
            if next_step == "s":
                return self._swap(trap.trap, key)
            return self._look(trap.trap, key, left_to_dry=next_step == "d")
        return self._look(trap.trap, key)

    def _look(self, trap: str, key: str, *, left_to_dry: bool = False) -> bool:
        from wasteledger.model.traps import Condition
        from wasteledger.office.swaps import record_look

        return self._write(
            lambda: record_look(
                self.place.work,
                trap,
                Condition(_KEYS[key]),
                self.place.said,
                left_to_dry=left_to_dry,
                on_paper=self.on_paper,
            )
        )

    def _not_looked(self, trap: RoundTrap, reason: str) -> bool:
        from wasteledger.model.traps import Condition
        from wasteledger.office.swaps import record_look

        return self._write(
            lambda: record_look(
                self.place.work,
                trap.trap,
                Condition.NOT_LOOKED,
                self.place.said,
                reason=reason,
                on_paper=self.on_paper,
            )
        )

    def _swap(self, trap: str, key: str | None) -> bool:
        from wasteledger.model.traps import Condition
        from wasteledger.office.swaps import container_for, record_swap

        with self.place.work.reading() as reader:
            standing = reader.find_trap(trap)
            usual = container_for(reader, standing.details.stream) if standing is not None else None
        offered = f" · Enter for {usual}" if usual else ""
        into = _answer(f"  Into which container?{offered}") or usual
        return self._write(
            lambda: record_swap(
                self.place.work,
                trap,
                self.place.said,
                condition=Condition(_KEYS[key]) if key else Condition.NOT_LOOKED,
                into=into,
                on_paper=self.on_paper,
            )
        )

    def _write(self, record: Callable[[], Recorded]) -> bool:
        """Write one entry and say so; a refusal is said, and the question comes again."""
        try:
            recorded = record()
        except WasteLedgerError as error:
            output.say(f"! {error.in_zone(self.place.work.zone, self.place.work.zone.key)}")
            if error.hint:
                output.say(f"  {error.hint}")
            return False
        output.say(f"  Entry {recorded.seq}: {recorded.says}")
        for warning in recorded.warnings:
            output.say(f"  ! {warning}")
        return True


def _answer(question: str) -> str:
    said = str(typer.prompt(question, default="", show_default=False)).strip()
    if said == "q":
        raise _Left
    return said


def _ask(question: str, *keys: str) -> str:
    while True:
        said = _answer(f"{question} [{'/'.join(keys)}/q]").lower()
        if said in keys:
            return said
        if said == "" and len(keys) == 1:
            return ""
        output.say(f"  “{said}” is not one of {', '.join(keys)}." if said else f"  One of {', '.join(keys)}, please.")


def _say_end(plan: RoundPlan) -> None:
    traps = [trap for room in plan.rooms for trap in room.traps]
    looked = sum(trap.done_tonight for trap in traps)
    words = f"{looked} of {output.count(len(traps), 'trap')} looked at"
    if plan.open_tonight:
        words += f", left: {', '.join(plan.open_tonight)}"
    output.say(f"{words}.")
    for trap in traps:
        if trap.not_looked:
            output.say(f"  not looked at, {trap.trap}: {trap.not_looked}")
    if plan.to_change_before_suction:
        output.say(f"To change before suction starts: {', '.join(plan.to_change_before_suction)}.")
        output.say(f"  {cautions.DRY_FIRST}")
    if plan.open_tonight:
        output.say("Go on with them tonight: wasteledger round")
