"""Trainings, papers and statements: who may write them, what is refused, and that a repeated one is written once."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta

import pytest

from tests.makers import Watch
from tests.office.asking import put_in_force
from tests.office.makers import Crew, assert_repeated, entry, refused
from wasteledger.errors import Unknown
from wasteledger.ledger.append import InTheFuture
from wasteledger.ledger.verify import verify
from wasteledger.model.entries import BodyNotUnderstood
from wasteledger.model.filings import PaperFiled, PaperKind, Statement, StatementTopic, Topic, Training
from wasteledger.model.standing.refusals import NotThereYet, Retired
from wasteledger.office.corrections import correct_entry
from wasteledger.office.duties import record_duty_done
from wasteledger.office.filings import WhyNeeded, file_paper, record_statement, record_training
from wasteledger.office.people import retire_person
from wasteledger.office.workplace import NobodyNamed, NotTheirTask, Recorded, Said, Workplace

_ALWAYS = (datetime(2000, 1, 1, tzinfo=UTC), datetime(2100, 1, 1, tzinfo=UTC))


def test_a_training_names_each_person_and_topic_once(crew: Crew) -> None:
    said = Said(note="Half an hour, in the plant room.")
    done = record_training(
        crew.mo, ("kim", "bao", "kim"), ("handling", "spill", "handling"), said, held_by="Mo", document="T-7"
    )

    assert done.says == "Trained in handling, spill: kim, bao."
    assert entry(crew.mo, done.seq).body == Training(
        people=("kim", "bao"),
        topics=(Topic.HANDLING, Topic.SPILL),
        held_by="Mo",
        document="T-7",
        note="Half an hour, in the plant room.",
    )


def test_a_training_of_nobody_of_the_practice_is_refused(crew: Crew) -> None:
    with refused(crew.mo, Unknown, "“nobody” is not somebody of this practice"):
        record_training(crew.mo, ("kim", "nobody"), ("handling",))
    with refused(crew.mo, Unknown, "no topic “juggling”"):
        record_training(crew.mo, ("kim",), ("juggling",))
    with refused(crew.mo, BodyNotUnderstood, "people"):
        record_training(crew.mo, (), ("handling",))
    with refused(crew.mo, BodyNotUnderstood, "topics"):
        record_training(crew.mo, ("kim",), ())


def test_who_has_left_was_trained_before_and_not_after(crew: Crew, watch: Watch) -> None:
    retire_person(crew.mo, "bao")
    watch.wait(days=1)

    with refused(crew.mo, Retired, "bao"):
        record_training(crew.mo, ("bao",), ("handling",))
    before = Said(at=watch.now - timedelta(days=2))

    assert record_training(crew.mo, ("bao",), ("handling",), before).says == "Trained in handling: bao."


def test_a_training_sent_again_after_somebody_left_is_the_same_entry(crew: Crew, watch: Watch) -> None:
    said = Said(key=str(uuid.uuid4()))
    first = record_training(crew.mo, ("bao",), ("handling",), said)
    retire_person(crew.mo, "bao")
    watch.wait(days=1)

    assert_repeated(crew.mo, first, record_training(crew.mo, ("bao",), ("handling",), said))


def test_a_training_says_which_day_it_answers_and_which_is_open_next(crew: Crew) -> None:
    put_in_force(crew.mo, "river-district", _TRAIN)

    done = record_training(crew.mo, ("kim",), ("handling",))

    assert not done.warnings
    assert done.cautions[0] == (
        "It answers TR-1 of River District sewer code, due 30 Jun 2026. "
        "Next: 30 Jun 2027 (by 30 June of each year, from the day this was last done, 2026-03-02)."
    )


def test_a_training_too_early_for_its_window_says_so_and_how_to_record_it(crew: Crew, watch: Watch) -> None:
    put_in_force(crew.mo, "river-district", _TRAIN)
    said = Said(key=str(uuid.uuid4()))
    record_training(crew.mo, ("kim",), ("handling",))
    watch.wait(days=200)

    early = record_training(crew.mo, ("kim",), ("spill",), said)

    (warned,) = early.warnings
    assert warned == (
        "It is too early for TR-1 of River District sewer code, due 30 Jun 2027, which is taken to be answered from "
        "1 Jan 2027 on. If it is meant for that day: wasteledger done river-district:TR-1 --due 2027-06-30"
    )
    assert not early.cautions or "It answers" not in early.cautions[0]
    assert not record_training(crew.mo, ("kim",), ("spill",), said).warnings
    done = record_duty_done(crew.mo, "river-district:TR-1", due_on=date(2027, 6, 30))
    assert any("30 Jun 2028" in one for one in done.cautions)


def test_a_training_starts_a_term_anew_each_time(crew: Crew, watch: Watch) -> None:
    """A rule that counts a year from the last one has no window: any training counts, a second one that day too."""
    put_in_force(crew.mo, "river-district", _TRAIN.replace('{ each = "06-30", opens = "01-01" }', "{ years = 1 }"))
    record_training(crew.mo, ("kim",), ("handling",))
    watch.wait(days=200)

    for person in ("kim", "bao"):
        watch.wait(hours=1)
        done = record_training(crew.mo, (person,), ("spill",))
        assert not done.warnings
        assert "18 Sep 2027" in done.cautions[0]


def test_without_a_rule_on_training_nothing_is_said_of_days(crew: Crew) -> None:
    done = record_training(crew.mo, ("kim",), ("handling",))

    assert (done.warnings, done.cautions) == ((), ())


def test_a_paper_lies_where_it_lies_or_can_be_had(crew: Crew) -> None:
    here = file_paper(crew.mo, "operating_manual", "Binder 2", separator="SEP", document="Rev. C")
    there = file_paper(crew.mo, "safety_sheet", "the supplier", about="mild", on_request=True)

    assert here.says == "Operating manual is on file: Binder 2."
    assert there.says == "Safety sheet can be had on request from the supplier."
    assert entry(crew.mo, here.seq).body == PaperFiled(
        what=PaperKind.OPERATING_MANUAL, place="Binder 2", separator="SEP", document="Rev. C"
    )
    filed = entry(crew.mo, there.seq).body
    assert isinstance(filed, PaperFiled)
    assert filed.on_request is True


def test_a_paper_of_nothing_known_or_nowhere_is_refused(crew: Crew) -> None:
    with refused(crew.mo, Unknown, "no kind of paper “poem”"):
        file_paper(crew.mo, "poem", "Binder 2")
    with refused(crew.mo, NotThereYet, "SEP-9"):
        file_paper(crew.mo, "certificate", "Binder 2", separator="SEP-9")
    with refused(crew.mo, BodyNotUnderstood, "place"):
        file_paper(crew.mo, "certificate", "  ")


def test_a_statement_holds_or_says_why_not(crew: Crew) -> None:
    holds = record_statement(crew.mo, "no_bulk_mercury")
    fails = record_statement(crew.mo, "capsules_recycled", holds=False, why="Thrown away until the tub came.")

    assert holds.says == "Stated: no bulk mercury."
    assert fails.says == "Stated that this does not hold: capsules recycled."
    assert entry(crew.mo, fails.seq).body == Statement(
        topic=StatementTopic.CAPSULES_RECYCLED, holds=False, why="Thrown away until the tub came."
    )


@pytest.mark.parametrize(("holds", "why"), [(False, None), (False, "  "), (True, "because")])
def test_a_reason_goes_with_what_does_not_hold(crew: Crew, holds: bool, why: str | None) -> None:
    with refused(crew.mo, WhyNeeded):
        record_statement(crew.mo, "no_bulk_mercury", holds=holds, why=why)


def test_an_unknown_topic_is_refused_with_the_known_ones(crew: Crew) -> None:
    with pytest.raises(Unknown) as caught:
        record_statement(crew.mo, "all_is_well")

    assert "no_bulk_mercury" in caught.value.hint


def test_only_the_office_files(crew: Crew, place: Workplace) -> None:
    for who in (crew.kim, crew.iris):
        with refused(who, NotTheirTask):
            record_training(who, ("kim",), ("handling",))
        with refused(who, NotTheirTask):
            file_paper(who, "certificate", "Binder 2")
        with refused(who, NotTheirTask):
            record_statement(who, "no_bulk_mercury")
    with refused(place, NobodyNamed):
        record_statement(Workplace(place.ledger, place.site), "no_bulk_mercury")


def test_nothing_is_filed_tomorrow(crew: Crew, watch: Watch) -> None:
    tomorrow = Said(at=watch.now + timedelta(days=1))
    attempts: tuple[Callable[[], Recorded], ...] = (
        lambda: record_training(crew.mo, ("kim",), ("handling",), tomorrow),
        lambda: file_paper(crew.mo, "certificate", "Binder 2", tomorrow),
        lambda: record_statement(crew.mo, "no_bulk_mercury", tomorrow),
    )
    for attempt in attempts:
        with refused(crew.mo, InTheFuture):
            attempt()


def test_what_was_filed_wrongly_is_corrected_like_anything_else(crew: Crew) -> None:
    paper = file_paper(crew.mo, "certificate", "Binder 2", separator="SEP")
    training = record_training(crew.mo, ("kim",), ("handling",))
    correct_entry(crew.mo, paper.seq, "It is in the other binder", action="replace", changes={"place": "Binder 3"})
    correct_entry(crew.mo, training.seq, "Bao came too", action="replace", changes={"people": "kim, bao"})

    with crew.mo.reading() as reader:
        facts = {fact.place: fact.body for fact in reader.facts_between(*_ALWAYS, (PaperFiled.KIND, Training.KIND))}
    filed, trained = facts[paper.seq], facts[training.seq]

    assert isinstance(filed, PaperFiled)
    assert (filed.place, filed.separator) == ("Binder 3", "SEP")
    assert isinstance(trained, Training)
    assert trained.people == ("kim", "bao")
    assert verify(crew.mo.ledger.engine, crew.mo.site).holds


_TRAIN = """
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
id = "TR-1"
title = "Train everybody each year"
citation = "River code 9"
duty = "train-staff"
kind = "deadline"
trigger = ["in_force", "duty_done"]
recurs = true
due = { each = "06-30", opens = "01-01" }
asks = "As it says."
source = "Invented for a test"
read_on = "2026-11"
confirmed = true
"""
