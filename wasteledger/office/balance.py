"""The second opinion: what the journal holds of swaps, weighings and restorations, set against each other."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, timedelta, tzinfo
from functools import lru_cache
from pathlib import Path

from wasteledger.errors import NotUnderstood
from wasteledger.estimate.balance import Balance, TrapMasses
from wasteledger.estimate.balance import balance as weigh_up
from wasteledger.estimate.balance_words import day
from wasteledger.estimate.capture import CAPTURE, CaptureFigures, read_capture
from wasteledger.estimate.containers import exposures_of
from wasteledger.estimate.prior import DEFAULTS, SEPARATOR_UNIT, Prior, Share, read_defaults
from wasteledger.estimate.procedures import Procedures as Done
from wasteledger.estimate.procedures import Restorations
from wasteledger.estimate.rhythm import TrapHistory
from wasteledger.ledger.reader import Filter, Reader
from wasteledger.model.containers import Holding
from wasteledger.model.entries import Correction, Remark, Swap, UnitReplaced
from wasteledger.model.facts import Fact, Subject, effective_facts
from wasteledger.model.findings import Finding, Weight
from wasteledger.model.procedures import BySurfaces, Procedures
from wasteledger.model.standing.containers import tally_of
from wasteledger.model.traps import TrapKind
from wasteledger.office.coverage import day_bounds
from wasteledger.office.due import calendar_of
from wasteledger.office.learning import current_prior
from wasteledger.office.procedures import counted_twice, procedures_told
from wasteledger.office.second_opinion import SecondOpinion
from wasteledger.office.trap_histories import LOOK_BACK_DAYS, swap_facts, trap_histories
from wasteledger.office.weighing_checks import weighing_checks
from wasteledger.office.workplace import Workplace, zone_of
from wasteledger.ordinance import WorkCalendar
from wasteledger.resources import find

PERIOD_DAYS = 365
"""So many days are looked at unless somebody says otherwise: this program's own convention."""

_SPAN_LACKS = 0.1


class EmptyPeriod(NotUnderstood):
    """A period that ends before it begins, or that is still to come."""

    code = "empty-period"


def balance(place: Workplace, *, since: date | None = None, until: date | None = None) -> SecondOpinion:
    """The second opinion on the days from *since* to *until*, both included.

    Args:
        place: Which site.
        since: First day; where None, a year before the last, or the first day of the first trap.
        until: Last day; today where None.

    Raises:
        EmptyPeriod: The period ends before it begins, or lies in the future.
    """
    today = place.today()
    with place.reading() as reader:
        return opinion(reader, zone_of(reader), today, since=since, until=until)


def opinion(
    reader: Reader,
    zone: tzinfo,
    today: date,
    *,
    since: date | None = None,
    until: date | None = None,
    with_weighings: bool = True,
) -> SecondOpinion:
    """As `balance`, inside a reading transaction; without the weighings nothing has to be learned, and it is quick."""
    first_on, last_on = _period(reader, zone, today, since, until)
    calendar = calendar_of(reader)
    read_from = first_on - timedelta(days=LOOK_BACK_DAYS)
    swaps = swap_facts(reader, zone, read_from, last_on)
    histories = trap_histories(reader, zone, first_on, last_on, swaps)
    told = procedures_told(reader)
    spans = [fact.body for fact in told if isinstance(fact.body, Procedures) and _meets(fact.body, first_on, last_on)]
    lacking = _lacking(spans, histories, calendar, first_on, last_on)
    found = weigh_up(
        first_on,
        last_on,
        calendar.works_on,
        histories,
        figures=shipped_capture(),
        amalgam=_amalgam(find(DEFAULTS)),
        procedures=[] if lacking else [_done(span) for span in spans],
        masses=_masses((fact for fact in swaps if _day(fact, zone) >= first_on), current_prior(reader)),
        weighings=weighing_checks(reader, zone, first_on, last_on) if with_weighings else (),
    )
    twice = _twice(told, first_on, last_on)
    return SecondOpinion(
        found,
        sum(span.removed.total for span in spans),
        sum(span.placed.total for span in spans),
        (*twice, *_answered(reader, zone, found)),
        # That no procedures were entered would not be true of what was left aside.
        (*(lacking or found.remarks), *_begun_late(spans, calendar, first_on)),
    )


def status_findings(reader: Reader, zone: tzinfo, today: date) -> tuple[Finding, ...]:
    """The second opinion on the last year, in one line; nothing where nothing asks for somebody.

    Weighings are left to `balance`: each is judged by all the others, and a weighing far off is said where it is made.
    """
    opinions = opinion(reader, zone, today, with_weighings=False).findings
    found = [one for one in opinions if one.weight is not Weight.NOTE]
    if not found:
        return ()
    more = f" And {len(found) - 1} more." if len(found) > 1 else ""
    seqs = tuple(seq for one in found for seq in one.seqs)
    first = found[0]
    return (
        Finding("second-opinion", first.place, f"{first.says}{more}", "See wasteledger balance.", first.weight, seqs),
    )


def _answered(reader: Reader, zone: tzinfo, found: Balance) -> tuple[Finding, ...]:
    """The findings; a gap that somebody has remarked on since it began is a note that says so."""
    remarked: dict[str, Finding] = {}
    for gap in found.rhythm.long_gaps:
        wanted = Filter(subjects=(Subject("trap", gap.trap),), kinds=(Remark.KIND, Correction.KIND), by_recorded=True)
        begun_at = day_bounds(gap.from_on, zone)[1]
        for fact in effective_facts(reader.entries(wanted)):
            if isinstance(fact.body, Remark) and fact.body.trap == gap.trap and fact.happened_at >= begun_at:
                said = f"Remarked on {day(_day(fact, zone))} (entry {fact.seq}): {' '.join(fact.body.text.split())}"
                place = f"trap {gap.trap}, {day(gap.from_on)} to {day(gap.to_on)}"
                remarked[place] = Finding("", place, "", said, Weight.NOTE, (fact.seq,))
    return tuple(
        replace(one, do=answer.do, weight=answer.weight, seqs=(*one.seqs, *answer.seqs))
        if (answer := remarked.get(one.place)) is not None
        else one
        for one in found.findings
    )


def shipped_capture() -> CaptureFigures:
    """The capture figures in force: the office's own file, else the shipped one.

    Raises:
        BadCapture: The file has faults, all of them named.
    """
    return _capture(find(CAPTURE))


@lru_cache(maxsize=4)
def _capture(path: Path) -> CaptureFigures:
    return read_capture(path.read_bytes(), name=path.name)


@lru_cache(maxsize=4)
def _amalgam(path: Path) -> dict[str, Share]:
    return {one.kind: one.amalgam for one in read_defaults(path.read_bytes(), name=path.name).kinds}


def _period(reader: Reader, zone: tzinfo, today: date, since: date | None, until: date | None) -> tuple[date, date]:
    last_on = until or today
    if last_on > today:
        raise EmptyPeriod(f"{last_on.isoformat()} has not come yet.", hint="Give a day up to today.")
    if since is None:
        began_at = [trap.in_service_at for trap in reader.traps(retired=True)]
        began_at += [separator.in_service_at for separator in reader.separators(retired=True)]
        began = min((at.astimezone(zone).date() for at in began_at), default=last_on)
        since = min(last_on, max(began, last_on - timedelta(days=PERIOD_DAYS - 1)))
    if since > last_on:
        raise EmptyPeriod(
            f"The period would begin on {since.isoformat()}, after its end on {last_on.isoformat()}.",
            hint="Give the earlier day with --from.",
        )
    return since, last_on


# -- restorations ----------------------------------------------------------------------------------------------------


def _meets(span: Procedures, first_on: date, last_on: date) -> bool:
    return span.first_on <= last_on and first_on <= span.last_on


def _done(span: Procedures) -> Done:
    return Done(span.first_on, span.last_on, _counted(span.removed), _counted(span.placed))


def _counted(counts: BySurfaces) -> Restorations:
    return Restorations(counts.one, counts.two, counts.three, counts.four_or_more, counts.unknown)


def _lacking(
    spans: Sequence[Procedures],
    histories: Iterable[TrapHistory],
    calendar: WorkCalendar,
    first_on: date,
    last_on: date,
) -> tuple[str, ...]:
    """Why restorations entered by room say too little: the traps behind the chairs catch those of every room."""
    told = sorted({span.room for span in spans if span.room is not None})
    if not told:
        return ()
    days = [day for day in _each_day(first_on, last_on) if calendar.works_on(day)]
    chairside = {kind.value for kind in TrapKind if kind.is_chairside}
    rooms = sorted({one.room for one in histories if one.kind in chairside} | set(told))
    covered = {
        room: sum(
            any(span.first_on <= day <= span.last_on for span in spans if span.room in (None, room)) for day in days
        )
        for room in rooms
    }
    most = max(covered.values())
    short = [room for room in rooms if most - covered[room] > _SPAN_LACKS * len(days)]
    if not short:
        return ()
    missing = f"Restorations are entered by room, and those of {', '.join(short)} are missing for many days"
    return (f"{missing}: nothing is compared by stage. Enter them too; 0 where no amalgam was done.",)


def _begun_late(spans: Sequence[Procedures], calendar: WorkCalendar, first_on: date) -> tuple[str, ...]:
    begun = min((span.first_on for span in spans), default=first_on)
    if not any(calendar.works_on(day) for day in _each_day(first_on, begun - timedelta(days=1))):
        return ()
    day = begun.isoformat()
    return (f"The first restorations entered are of {day}: to look from there on, --from {day}.",)


def _twice(told: Sequence[Fact], first_on: date, last_on: date) -> tuple[Finding, ...]:
    return tuple(
        Finding(
            "counted-twice",
            f"entries {one.seq} and {other.seq}",
            "Both hold the restorations of some of the same days.",
            "Correct one of them.",
            Weight.WARNING,
            (one.seq, other.seq),
        )
        for one, other in counted_twice(told)
        if any(isinstance(fact.body, Procedures) and _meets(fact.body, first_on, last_on) for fact in (one, other))
    )


# -- masses ----------------------------------------------------------------------------------------------------------


def _masses(swaps: Iterable[Fact], prior: Prior) -> TrapMasses | None:
    """What was taken out: weighed singly where it was, else by count; None where nothing was."""
    counted = Holding()
    weighed: defaultdict[str, list[tuple[int, int]]] = defaultdict(list)
    for fact in swaps:
        match fact.body:
            case Swap(gross=gross, tare=tare) if gross is not None and tare is not None:
                net_mg = gross.mass_mg - tare.mass_mg
                weighed[fact.body.trap_kind.value].append((net_mg, gross.twelfths_mg2 + tare.twelfths_mg2))
            case UnitReplaced(mass=mass, unit_mg=unit_mg) if mass is not None and unit_mg is not None:
                weighed[SEPARATOR_UNIT].append((max(0, mass.mass_mg - unit_mg), mass.twelfths_mg2))
            case Swap() | UnitReplaced():
                counted = counted.with_tally(tally_of(fact.body))
    if not counted.tallies and not weighed:
        return None
    exposures = zip(prior.kinds, exposures_of(counted, prior), strict=True)
    return TrapMasses.by_count(
        {kind: float(exposure) for kind, exposure in exposures if exposure},
        prior,
        weighed={
            kind: (float(sum(mg for mg, _ in nets)), sum(twelfths for _, twelfths in nets) / 12)
            for kind, nets in weighed.items()
        },
    )


def _day(fact: Fact, zone: tzinfo) -> date:
    return fact.happened_at.astimezone(zone).date()


def _each_day(first_on: date, last_on: date) -> list[date]:
    return [first_on + timedelta(days=number) for number in range((last_on - first_on).days + 1)]
