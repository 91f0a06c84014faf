"""When each container will be full, and the chance that it is before it can be fetched.

Everything here is a forecast: it rests on what the journal shows of the swaps and weighings so far, on the working
calendar, and on what is believed of each kind of trap. A container is full at its closing mark.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta, tzinfo

from wasteledger.estimate.containers import exposures_of
from wasteledger.forecast.fill import HORIZON_DAYS, Gauge, Inflow, Outlook, earliest, outlook
from wasteledger.forecast.rates import Rate, learn_exposure, learn_rate
from wasteledger.forecast.working_time import NeverAtWork, WorkingTime
from wasteledger.ledger.reader import Reader
from wasteledger.model.standing import ContainerStanding
from wasteledger.office.due import calendar_of
from wasteledger.office.fill_outlook import FillOutlook, chance_words, full_as_seen
from wasteledger.office.inflows import Feed, Inflows
from wasteledger.office.lead_times import Leads, carrier_lead, leads_of, next_working_day
from wasteledger.office.learning import current_prior, kinds_learned
from wasteledger.office.starting_values import mass_sources, shipped_prior
from wasteledger.office.workplace import site_details

__all__ = ["FillOutlook", "Outlooks", "chance_words"]


@dataclass(frozen=True, slots=True)
class _Measured:
    """One measure of a container with what goes in by it; *left_out* names what nothing tells the size of."""

    gauge: Gauge
    inflows: tuple[Inflow, ...]
    left_out: tuple[str, ...] = ()

    @property
    def is_told(self) -> bool:
        """Whether something tells how fast it fills: what goes in, or that nothing does."""
        return bool(self.inflows) or not self.left_out

    def explained(self, found: Outlook) -> str:
        """The forecast's reason, and what it leaves out."""
        if not self.left_out:
            return found.reason
        size = "mass" if self.gauge.measure == "mass" else "volume"
        missing = f"nothing tells the {size} of: {', '.join(dict.fromkeys(self.left_out))}"
        if self.inflows or found.p50_on is not None:
            return f"{found.reason} Left out, since {missing}."
        do = "Read its level now and then." if size == "volume" else "Weigh it now and then."
        return f"{missing[0].upper()}{missing[1:]}. {do}"


class Outlooks:
    """The forecasts of a site's containers on one day; what they share is read once."""

    def __init__(self, reader: Reader, zone: tzinfo, today: date) -> None:
        self._reader, self._zone, self._today = reader, zone, today
        self._calendar = calendar_of(reader)
        self._time = WorkingTime(today, self._calendar.works_on)
        self._prior = current_prior(reader)
        self._learned = {one.kind for one in kinds_learned(shipped_prior(), self._prior) if one.is_sharper}
        self._inflows = Inflows(reader, zone, today, self._calendar, self._prior)
        self.volumes = self._inflows.volumes
        self._limit_permille = site_details(reader).warn_chance_permille
        self._carrier = carrier_lead(reader)
        self._sources = mass_sources(reader)

    def find(self, container: ContainerStanding, *, worth: bool = False) -> FillOutlook | None:
        """When *container* will be full; None where it is not open, no limit of it is known, or nobody works any more.

        Args:
            container: Which.
            worth: Also find the day by which it is as likely as not at its planning mark.
        """
        if container.status != "open":
            return None
        try:
            return self._found(container, worth=worth)
        except NeverAtWork:
            # A practice that has closed down keeps its ledger, and its status can still be asked for.
            return None

    def _found(self, container: ContainerStanding, *, worth: bool) -> FillOutlook | None:
        full = full_as_seen(container, self._zone)
        if full is not None:
            return self._full(container, *full, worth=worth)
        feeds = self._inflows.of(container)
        measures = self._measures(container, feeds)
        if not measures:
            return None
        first = self._outlook(measures, container.close_at_permille)
        measure = next(one for one in measures if one.gauge.measure == first.measure)
        fetch_on, because, booked = self._fetch(container)
        limit = self._limit_permille / 1000
        past = first.chance_by(self._today) > limit
        return FillOutlook(
            container=container.container,
            measure=first.measure,
            p10_on=first.p10_on,
            p50_on=first.p50_on,
            p90_on=first.p90_on,
            reason=measure.explained(first),
            learned=first.learned and measure.is_told,
            is_told=measure.is_told or first.p50_on is not None,
            fetch_on=fetch_on,
            fetch_because=because,
            booked=booked,
            chance_permille=math.ceil(1000 * first.chance_by(fetch_on) - 1e-9),
            limit_permille=self._limit_permille,
            within_limit_until=None if past else self._last_within(first, limit),
            is_past_limit=past,
            worth_on=self._outlook(measures, container.plan_at_permille).p50_on if worth else None,
        )

    def _full(self, container: ContainerStanding, measure: str, because: str, *, worth: bool) -> FillOutlook:
        fetch_on, fetch_because, booked = self._fetch(container)
        return FillOutlook(
            container=container.container,
            measure=measure,
            p10_on=self._today,
            p50_on=self._today,
            p90_on=self._today,
            reason="What was read, weighed or counted is no forecast.",
            learned=False,
            is_told=True,
            fetch_on=fetch_on,
            fetch_because=fetch_because,
            booked=booked,
            chance_permille=1000,
            limit_permille=self._limit_permille,
            is_past_limit=True,
            worth_on=self._today if worth else None,
            full_because=because,
        )

    def leads(self, container: ContainerStanding) -> Leads:
        """What a pickup of *container* waits for."""
        return leads_of(self._reader, container, self._carrier)

    def _fetch(self, container: ContainerStanding) -> tuple[date, str, str | None]:
        booked = self._reader.find_pickup(container.pickup) if container.pickup else None
        # A carrier that did not come on its day comes on no day that anybody knows.
        if booked is not None and booked.planned_on >= self._today:
            return booked.planned_on, f"booked as {booked.pickup}", booked.pickup
        leads = self.leads(container)
        possible_on = next_working_day(self._today + timedelta(days=leads.days), self._calendar)
        return possible_on, leads.bottleneck, None

    def _last_within(self, found: Outlook, limit: float) -> date | None:
        last = self._time.working_days_until(self._today + timedelta(days=HORIZON_DAYS))
        if found.chance_by(self._time.nth_working_day(last)) <= limit:
            return None
        passed = bisect_right(range(last + 1), limit, key=lambda day: found.chance_by(self._time.nth_working_day(day)))
        return self._time.nth_working_day(passed - 1)

    # -- measures ----------------------------------------------------------------------------------------------------

    def _measures(self, container: ContainerStanding, feeds: Sequence[Feed]) -> tuple[_Measured, ...]:
        wanted = (self._mass(container, feeds), self._level(container, feeds), self._pieces(container, feeds))
        return tuple(one for one in wanted if one is not None)

    def _outlook(self, measures: Sequence[_Measured], mark_permille: int) -> Outlook:
        """The outlook of a container that is full at that share of its limits."""
        share = mark_permille / 1000
        each = [
            outlook(
                replace(one.gauge, limit=one.gauge.limit * share),
                one.inflows,
                as_of=self._today,
                nth_working_day=self._time.nth_working_day,
                working_days_until=self._time.working_days_until,
            )
            for one in measures
        ]
        # A measure of which nothing tells how it fills says something only where it is full already.
        told = [said for one, said in zip(measures, each, strict=True) if one.is_told or said.p50_on is not None]
        found = earliest(told or each)
        if found is None:
            raise ValueError("a forecast wants a measure")
        return found

    def _mass(self, container: ContainerStanding, feeds: Sequence[Feed]) -> _Measured | None:
        if container.mass_limit_mg is None:
            return None
        holding = container.holding
        exposures = exposures_of(holding, self._prior, mass_sources=self._sources)
        inserts_mg = sum(tally.inserts_mg for tally in holding.tallies)
        inflows, left_out = [], []
        for feed in feeds:
            exposure = self._faded([(one.on, one.exposure) for one in feed.history], feed.expected.exposure)
            body = self._faded([(one.on, float(one.known_mg)) for one in feed.history], float(feed.expected.known_mg))
            if exposure[0] or body[0]:
                inflows.append(Inflow(feed.kind or feed.source, self._rate(feed), *exposure, *body))
            else:
                left_out.append(feed.noun)
        rests_on = {kind for kind, exposure in zip(self._prior.kinds, exposures, strict=True) if exposure}
        rests_on |= {one.kind for one in inflows if one.exposure_mean}
        gauge = Gauge(
            "mass",
            container.mass_limit_mg,
            holding.base_mg + holding.added_mg + inserts_mg,
            math.sqrt((holding.base_twelfths_mg2 + holding.added_twelfths_mg2) / 12),
            tuple(float(exposure) for exposure in exposures),
            self._prior,
            # What was weighed piece by piece, as it went in, rests on no starting value.
            rests_on <= self._learned,
        )
        return _Measured(gauge, tuple(inflows), tuple(left_out))

    def _level(self, container: ContainerStanding, feeds: Sequence[Feed]) -> _Measured | None:
        if container.fill_ml is None:
            return None
        read, factors = container.level_permille, self.volumes.factors
        since = self.volumes.since_level(container)
        inflows, left_out = [], []
        for feed in feeds:
            expected = feed.expected.volume
            if not expected.is_known:
                left_out.append(feed.noun)
                continue
            known = [(one.on, float(one.volume.ml)) for one in feed.history if one.volume.is_known]
            volume = self._faded(known, float(expected.ml))
            if volume[0]:
                inflows.append(Inflow(expected.kind, self._rate(feed), *volume))
        gauge = Gauge(
            "level",
            container.fill_ml,
            container.fill_ml * (read or 0) / 1000,
            0.0 if read is None else factors.reading_sd_ml(container.fill_ml),
            factors.exposures(since),
            # Millilitres are the kinds of this prior: each is wrong by one factor for all that went in and will.
            factors.in_one_container,
            is_learned={*dict(since.by_kind), *(one.kind for one in inflows)} <= factors.taught,
        )
        return _Measured(gauge, tuple(inflows), tuple(left_out))

    def _pieces(self, container: ContainerStanding, feeds: Sequence[Feed]) -> _Measured | None:
        if container.items_limit is None:
            return None
        inflows = []
        for feed in feeds:
            together: dict[int, int] = {}
            for one in feed.history:
                together[one.pieces] = together.get(one.pieces, 0) + 1
            if not together:
                together = {feed.expected.pieces: 1}
            whole = sum(together.values())
            shares = tuple((pieces, count / whole) for pieces, count in sorted(together.items()))
            mean = sum(pieces * share for pieces, share in shares)
            variance = sum(share * (pieces - mean) ** 2 for pieces, share in shares)
            inflows.append(Inflow(feed.source, self._rate(feed), 0.0, 0.0, mean, math.sqrt(variance), shares))
        return _Measured(Gauge("pieces", container.items_limit, container.pieces, is_learned=True), tuple(inflows))

    def _rate(self, feed: Feed) -> Rate:
        swaps = [(one.on, one.exposure) for one in feed.history]
        return learn_rate(swaps, feed.observed, self._today, feed.expected_per_day)

    def _faded(self, each: Iterable[tuple[date, float]], expected: float) -> tuple[float, float]:
        return learn_exposure(list(each), self._today, expected)
