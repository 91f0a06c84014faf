"""People and the other lines of the register after the setting-up; who may record what; the site's own time."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from tests.makers import Watch
from tests.office.makers import (
    SET_UP_AT,
    Crew,
    as_person,
    assert_repeated,
    chain_end,
    hours_ago,
    open_pail,
    refused,
    trap,
)
from wasteledger.errors import Unknown
from wasteledger.ledger.append import InTheFuture, SecondFirstEntry
from wasteledger.ledger.ledger import UnknownPerson
from wasteledger.model.entries import BodyNotUnderstood, Swap
from wasteledger.model.register import (
    ContainerTypeDetails,
    PersonDetails,
    Register,
    Role,
    SiteDetails,
    TrapDetails,
)
from wasteledger.model.standing.refusals import NotThereYet, Retired
from wasteledger.model.traps import Condition, TrapKind
from wasteledger.office.containers import open_container
from wasteledger.office.people import (
    MayNotShare,
    add_person,
    list_people,
    register_line,
    retire_line,
    retire_person,
)
from wasteledger.office.swaps import record_look, record_swap
from wasteledger.office.workplace import NotTheirTask, Recorded, Said, Workplace


def test_somebody_new_may_record_from_then_on(crew: Crew) -> None:
    zoe = as_person(crew.mo, "zoe")
    with refused(crew.mo, UnknownPerson, "“zoe”"):
        record_look(zoe, "1-HV", Condition.CLEAN)
    added = add_person(crew.mo, "zoe", "Zoë Example", ("assistant",))
    assert added.entry.body == Register(ref="zoe", details=PersonDetails(name="Zoë Example", roles=(Role.ASSISTANT,)))
    assert record_look(zoe, "1-HV", Condition.CLEAN).entry.recorded_by == "zoe"


def test_people_are_listed_by_short_name_retired_ones_too(crew: Crew) -> None:
    retire_person(crew.mo, "bao")
    assert [line.ref for line in list_people(crew.mo)] == ["bao", "iris", "kim", "mo"]
    assert [line.ref for line in list_people(crew.mo, retired=False)] == ["iris", "kim", "mo"]


def test_somebody_retired_records_no_more_but_their_entries_stay(crew: Crew) -> None:
    looked = record_look(crew.bao, "1-HV", Condition.CLEAN)
    retire_person(crew.mo, "bao")
    with refused(crew.mo, UnknownPerson, "“bao”"):
        record_look(crew.bao, "1-HV", Condition.CLEAN)
    assert trap(crew.mo).last_look_seq == looked.seq
    with refused(crew.mo, Retired, "person “bao”"):
        retire_person(crew.mo, "bao")
    with refused(crew.mo, Unknown, "no person “eve”"):
        retire_person(crew.mo, "eve")
    add_person(crew.mo, "bao", "Bao", ("assistant",))
    assert record_look(crew.bao, "1-HV", Condition.CLEAN).seq


def test_the_last_manager_cannot_take_herself_out(crew: Crew) -> None:
    with refused(crew.mo, UnknownPerson, "“mo”"):
        retire_person(crew.mo, "mo")


def test_a_person_wants_a_name_and_known_roles(crew: Crew) -> None:
    with refused(crew.mo, Unknown, "no role “dentist”"):
        add_person(crew.mo, "zoe", "Zoë", ("dentist",))
    with refused(crew.mo, BodyNotUnderstood, "name"):
        add_person(crew.mo, "zoe", " ", ("assistant",))
    with refused(crew.mo, BodyNotUnderstood, "ref"):
        add_person(crew.mo, "zoë", "Zoë", ("assistant",))


def test_the_register_is_the_office_s_to_change(crew: Crew) -> None:
    for place, role in ((crew.kim, "assistant"), (crew.iris, "inspector")):
        with refused(place, NotTheirTask, role):
            add_person(place, "zoe", "Zoë", ("assistant",))
        with refused(place, NotTheirTask, role):
            retire_person(place, "bao")
        with refused(place, NotTheirTask, role):
            retire_line(place, "trap", "1-HV")


def test_roles_changed_count_from_then_on(crew: Crew) -> None:
    add_person(crew.mo, "kim", "Kim", ("inspector",))
    with refused(crew.kim, NotTheirTask, "inspector"):
        record_look(crew.kim, "1-HV", Condition.CLEAN)


def test_a_trap_is_registered_changed_and_retired(crew: Crew, watch: Watch) -> None:
    details = TrapDetails(room="r3", trap_kind=TrapKind.CUSPIDOR)
    register_line(crew.mo, "3-CU", details)
    watch.wait(days=1)
    register_line(crew.mo, "3-CU", details.model_copy(update={"interval_days": 14}))
    watch.wait(days=1)
    gone = retire_line(crew.mo, "trap", "3-CU")
    assert trap(crew.mo, "3-CU").details.interval_days == 14
    assert trap(crew.mo, "3-CU").retired_at == gone.entry.happened_at
    with refused(crew.mo, Retired, "trap “3-CU”"):
        retire_line(crew.mo, "trap", "3-CU")
    with refused(crew.mo, Unknown, "no trap “9-HV”"):
        retire_line(crew.mo, "trap", "9-HV")


def test_a_line_has_its_bounds_in_time(crew: Crew) -> None:
    details = PersonDetails(name="Zoë", roles=(Role.ASSISTANT,))
    with refused(crew.mo, InTheFuture):
        register_line(crew.mo, "zoe", details, Said(at=hours_ago(crew.mo, -1)))
    with refused(crew.mo, NotThereYet, "person"):
        retire_line(crew.mo, "person", "bao", Said(at=hours_ago(crew.mo, 24 * 61)))


def test_a_chain_begins_no_second_site(crew: Crew) -> None:
    with refused(crew.mo, SecondFirstEntry, "cannot begin another site"):
        register_line(crew.mo, "oak", SiteDetails(name="Oak Street", time_zone="America/Chicago"))


@pytest.mark.parametrize(
    ("streams", "rule", "words"),
    [
        (("traps", "non_contact"), "", "“non_contact” and “traps” may not share a container"),
        (("traps", "non_contact"), "Letter of 2 March", "may not share a container"),
        (("contact", "teeth"), "", "“contact” and “teeth” may not share a container"),
        (("traps", "bones"), "", "no stream “bones”"),
    ],
    ids=["forbidden", "forbidden whatever is written", "only in writing", "no such stream"],
)
def test_a_container_type_keeps_to_the_sharing_matrix(
    crew: Crew, streams: tuple[str, ...], rule: str, words: str
) -> None:
    with refused(crew.mo, (MayNotShare if "share" in words else Unknown), words):
        register_line(crew.mo, "mixed", ContainerTypeDetails(name="Mixed", streams=streams, written_rule=rule))


def test_a_written_rule_answers_what_may_only_be_shared_in_writing(crew: Crew) -> None:
    details = ContainerTypeDetails(
        name="Mixed", streams=("contact", "teeth"), written_rule="Letter of 2 March 2026", tare_mg=100_000
    )
    register_line(crew.mo, "mixed", details)
    assert open_container(crew.kim, "M-1", "mixed").seq


def test_a_repeated_key_answers_with_the_first_line(crew: Crew) -> None:
    def add() -> Recorded:
        return add_person(crew.mo, "zoe", "Zoë", ("assistant",), Said(key="k-1"))

    def retire() -> Recorded:
        return retire_person(crew.mo, "zoe", Said(key="k-2"))

    firsts = [add(), retire()]
    add_person(crew.mo, "zoe", "Zoë Example", ("manager",))
    before = chain_end(crew.mo)
    for first, again in zip(firsts, (add, retire), strict=True):
        assert_repeated(crew.mo, first, again())
    assert chain_end(crew.mo) == before


# -- the site's own time ---------------------------------------------------------------------------------------------


def test_the_day_is_the_site_s_day(place: Workplace, watch: Watch) -> None:
    # Half past nine in the evening in Chicago, while it is the next day in UTC.
    watch.now = datetime(2026, 3, 3, 3, 30, tzinfo=UTC)
    assert place.today() == date(2026, 3, 2)
    assert place.local(watch.now).strftime("%d %H:%M") == "02 21:30"


def test_a_wall_clock_time_is_the_site_s_in_winter_and_summer(place: Workplace) -> None:
    # Chicago is six hours behind UTC in winter, five in summer; clocks went forward on 8 March 2026 (15 U.S.C. 260a).
    winter, summer = datetime(2026, 3, 7, 18, 0), datetime(2026, 3, 9, 18, 0)  # noqa: DTZ001  (wall-clock times)
    assert place.instant(winter) == datetime(2026, 3, 8, 0, 0, tzinfo=UTC)
    assert place.instant(summer) == datetime(2026, 3, 9, 23, 0, tzinfo=UTC)
    assert place.instant(SET_UP_AT) == SET_UP_AT


def test_days_in_service_are_the_site_s_days(place: Workplace, watch: Watch) -> None:
    open_pail(place)
    # In the evening of the 2nd and the morning of the 9th: seven days there, six by UTC's calendar.
    watch.now = datetime(2026, 3, 3, 3, 30, tzinfo=UTC)
    record_swap(place, "1-HV")
    watch.now = datetime(2026, 3, 9, 12, 0, tzinfo=UTC)
    body = record_swap(place, "1-HV").entry.body
    assert isinstance(body, Swap)
    assert body.days_in_service == 7
