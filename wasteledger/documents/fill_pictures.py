"""From the ledger to pictures: courses of containers, the catch of a period, what was stated against what came."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime, time

from wasteledger.documents.fill import _anchor, _practice, _wall, _without_basis, _Words
from wasteledger.documents.papers import Basis
from wasteledger.documents.papers.pictures import (
    CatchPicture,
    CatchRoom,
    CatchRow,
    ContainerPicture,
    Course,
    Fan,
    Interval,
    Mark,
    Measure,
    Pictures,
    PicturesPaper,
    ReceivedPoint,
    Sign,
    Step,
)
from wasteledger.errors import NotUnderstood
from wasteledger.model.standing import ContainerStanding
from wasteledger.office.catch import Catch, Estimate, RoomCatch, TrapCatch, catch_between
from wasteledger.office.courses import Stage, course_of, estimate_before_leaving
from wasteledger.office.enquiries import Reader
from wasteledger.office.masses import statement
from wasteledger.office.naming import Naming
from wasteledger.office.outlook import FillOutlook, Outlooks
from wasteledger.office.received import Comparison, all_comparisons
from wasteledger.office.shipments import chain_end
from wasteledger.office.status import NoSuchContainer
from wasteledger.office.workplace import Workplace

_SIGNS = {Measure.LEVEL: Sign.READ, Measure.MASS: Sign.WEIGHED}
_WEIGHED_PART = re.compile(r", of which [^,]* weighed")
_ORDER = (Measure.LEVEL, Measure.MASS, Measure.PIECES)


def pictures_paper(
    place: Workplace, since: date, until: date, containers: Sequence[str] | None = None
) -> PicturesPaper:
    """The pictures of the period from *since* to *until*, both days included.

    Args:
        place: Where.
        since: First day of the catch.
        until: Its last day; containers are drawn as they stood then, and pickups that left by then.
        containers: Which containers; left out, those that stood at the site at the end of *until*.

    Raises:
        NotUnderstood: The period ends before it begins.
        NoSuchContainer: There is none of one of these names.
    """
    if until < since:
        raise NotUnderstood(f"The period ends on {until}, before it begins.", hint="Write the earlier day first.")
    with place.reading() as reader:
        end = chain_end(reader)
        naming = Naming(reader, end.seq)
        return PicturesPaper(
            practice=_practice(naming.site()),
            anchor=_anchor(end),
            prepared_at=_wall(place, place.ledger.clock()),
            from_on=since,
            to_on=until,
            pictures=pictures_of(place, reader, naming, since, until, containers),
        )


def pictures_of(
    place: Workplace,
    reader: Reader,
    naming: Naming,
    since: date,
    until: date,
    containers: Sequence[str] | None = None,
) -> Pictures:
    """The same pictures within a transaction that is open already."""
    filler = _Filler(place, reader, _Words(naming), until)
    caught = catch_between(reader, since, until)
    return Pictures(
        containers=filler.containers(containers),
        catch=filler.catch(caught) if caught.swaps else None,
        received=filler.received(),
    )


class _Filler:
    def __init__(self, place: Workplace, reader: Reader, words: _Words, until: date) -> None:
        self.place, self.reader, self.words, self.until = place, reader, words, until
        self.today = place.today()
        self._outlooks: Outlooks | None = None
        self.now = _wall(place, place.ledger.clock())

    def containers(self, wanted: Sequence[str] | None) -> tuple[ContainerPicture, ...]:
        found = (self._container(one) for one in self._standings(wanted))
        return tuple(picture for picture in found if picture is not None)

    def _standings(self, wanted: Sequence[str] | None) -> list[ContainerStanding]:
        every = {one.container: one for one in self.reader.containers()}
        if wanted is None:
            return [one for one in every.values() if not self._gone_on(one)]
        for ref in wanted:
            if ref not in every:
                raise NoSuchContainer(f"There is no container “{ref}”.", hint="See wasteledger container list.")
        return [every[ref] for ref in dict.fromkeys(wanted)]

    def _gone_on(self, one: ContainerStanding) -> date | None:
        """The day on which it left, where that was by the last day of the period."""
        pickup = self.reader.find_pickup(one.pickup) if one.pickup else None
        if one.status not in ("released", "received") or pickup is None or pickup.released_at is None:
            return None
        left_on = self.place.local(pickup.released_at).date()
        return left_on if left_on <= self.until else None

    def _container(self, one: ContainerStanding) -> ContainerPicture | None:
        stages = course_of(self.reader, one.container, self.place.zone, self.until)
        if not stages or not stages[-1].standing.pieces:
            return None
        gone_on = self._gone_on(one)
        is_now = gone_on is None and self.until >= self.today
        outlook = self._ahead().find(one) if is_now else None
        last_at = _wall(self.place, stages[-1].at)
        end = last_at if gone_on is not None else min(datetime.combine(self.until, time.max), self.now)
        courses = [self._course(measure, stages, max(end, last_at), outlook) for measure in _ORDER]
        shown = [course for course in courses if course is not None]
        if not shown:
            return None
        governing = outlook.measure if outlook is not None else _governing(stages[-1])
        # The measure that says how full it is stands first; the mass is shown beside it, other measures only if first.
        first = [course for course in shown if course.measure == governing] or shown[:1]
        others = [course for course in shown if course.measure is Measure.MASS and course not in first]
        return ContainerPicture(
            container=one.container,
            stream=", ".join(self.words.name("stream", stream) for stream in one.streams),
            state=f"left with {one.pickup}" if gone_on is not None else stages[-1].standing.status,
            courses=(*first, *others),
        )

    def _ahead(self) -> Outlooks:
        """The forecasts of today, read when they are first asked for."""
        if self._outlooks is None:
            self._outlooks = Outlooks(self.reader, self.place.zone, self.today)
        return self._outlooks

    def _course(
        self, measure: Measure, stages: Sequence[Stage], until_at: datetime, outlook: FillOutlook | None
    ) -> Course | None:
        standing, last = stages[-1].standing, stages[-1]
        limit = _limit(measure, standing)
        if last.find(measure.value) is None and (measure is not Measure.MASS or not last.estimate.value_mg):
            return None
        steps = tuple(Step(_wall(self.place, stage.at), _held(measure, stage)) for stage in stages)
        marks = tuple(
            Mark(step.at, step.held, _SIGNS[measure])
            for stage, step in zip(stages, steps, strict=True)
            if measure in _SIGNS and stage.seen == _SIGNS[measure].value
        )
        close_at = None if limit is None else limit * standing.close_at_permille // 1000
        fan = None
        if outlook is not None and not outlook.is_full and outlook.measure == measure.value and close_at:
            fan = Fan(until_at, close_at, outlook.p10_on, outlook.p50_on, outlook.p90_on, outlook.reason)
        return Course(
            measure=measure,
            steps=steps,
            until_at=until_at,
            marks=marks,
            limit=limit,
            plan_at=None if limit is None else limit * standing.plan_at_permille // 1000,
            close_at=None if close_at == limit else close_at,
            says=_says(measure, last),
            fan=fan,
        )

    def catch(self, caught: Catch) -> CatchPicture:
        return CatchPicture(
            from_on=caught.since,
            to_on=caught.until,
            rooms=tuple(self._room(room) for room in caught.rooms),
            says=f"All rooms together, {caught.swaps} swaps: {_short(caught.estimate)}.",
        )

    def _room(self, room: RoomCatch) -> CatchRoom:
        name = self.words.name("room", room.room)
        return CatchRoom(_row(name, room.swaps, room.estimate), tuple(self._trap(one) for one in room.traps))

    def _trap(self, one: TrapCatch) -> CatchRow:
        return _row(f"{one.trap.trap}, {one.trap.details.trap_kind.words}", one.swaps, one.estimate)

    def received(self) -> tuple[ReceivedPoint, ...]:
        left: dict[tuple[str, str | None], ReceivedPoint] = {}
        for one in all_comparisons(self.reader):
            pickup = self.reader.find_pickup(one.pickup)
            if pickup is None or pickup.released_at is None:
                continue
            left_on = self.place.local(pickup.released_at).date()
            # Two papers may state the same weight; the first is the receipt.
            if left_on <= self.until and (one.pickup, one.container) not in left:
                left[one.pickup, one.container] = self._point(one, left_on)
        return tuple(sorted(left.values(), key=lambda point: (point.left_on, point.pickup, point.name)))

    def _point(self, one: Comparison, left_on: date) -> ReceivedPoint:
        reach_mg = round(1.96 * one.received_uncertainty_mg)
        before = estimate_before_leaving(self.reader, one.container) if one.container and one.is_weighed else None
        return ReceivedPoint(
            name=one.container or one.pickup,
            pickup=one.pickup,
            left_on=left_on,
            basis=Basis.WEIGHED if one.is_weighed else Basis.ESTIMATE,
            stated=Interval(one.left_mg, min(one.lower_mg, one.left_mg), max(one.upper_mg, one.left_mg)),
            received=Interval(one.received_mg, max(0, one.received_mg - reach_mg), one.received_mg + reach_mg),
            agrees=not one.is_beyond,
            says=_without_basis(one.left),
            before=_interval(before) if before is not None else None,
            before_says=_without_basis(statement(before)) if before is not None else "",
        )


def _governing(stage: Stage) -> str:
    first = max(stage.components, key=lambda one: one.permille, default=None)
    return first.measure if first is not None else Measure.MASS.value


def _limit(measure: Measure, standing: ContainerStanding) -> int | None:
    if measure is Measure.MASS:
        return standing.mass_limit_mg
    return 1000


def _held(measure: Measure, stage: Stage) -> Interval:
    if measure is Measure.MASS:
        return _interval(stage.estimate)
    found = stage.find(measure.value)
    if found is None:
        return Interval(0, 0, 0)
    return Interval(found.permille, found.lower_permille, found.upper_permille)


def _says(measure: Measure, stage: Stage) -> str:
    if measure is Measure.MASS:
        return statement(stage.estimate)
    found = stage.find(measure.value)
    if found is None:
        return ""
    least = "at least " if found.left_out else ""
    about = "" if measure is Measure.PIECES else "about "
    return f"{least or about}{found.permille / 10:.0f} %, {found.basis}"


def _interval(estimate: Estimate) -> Interval:
    """The 95 % interval; what was weighed lies symmetrically about its value."""
    if estimate.basis != "estimate":
        lower_mg, upper_mg = estimate.value_mg - estimate.expanded_mg, estimate.value_mg + estimate.expanded_mg
        return Interval(estimate.value_mg, max(0, lower_mg), upper_mg)
    return Interval(estimate.value_mg, estimate.lower_mg, estimate.upper_mg)


def _row(name: str, swaps: int, estimate: Estimate) -> CatchRow:
    basis = Basis.NONE
    if swaps:
        basis = Basis.WEIGHED if estimate.basis == "weighed" else Basis.ESTIMATE
    return CatchRow(
        name=name,
        swaps=swaps,
        basis=basis,
        caught=_interval(estimate),
        says=_short(estimate) if swaps else "no swap",
    )


def _short(estimate: Estimate) -> str:
    """The statement without what the picture says of all figures, and without what part of an estimate was weighed."""
    return _WEIGHED_PART.sub("", _without_basis(statement(estimate)).replace(" (95 %)", ""))
