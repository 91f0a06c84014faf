"""The digest of what presses, and the entries that keep it from going out twice."""

from __future__ import annotations

import hashlib
from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from tests.makers import Clinic, a_correction, a_line, an_inspection
from tests.office.places import A_LOCAL_RULE, FEDERAL, a_place
from wasteledger.ledger.append import NotCorrectable
from wasteledger.ledger.ledger import UnknownPerson
from wasteledger.model.filings import ReminderSent
from wasteledger.model.register import OrdinanceDetails
from wasteledger.office.corrections import correct_entry
from wasteledger.office.reminders import check_may_remind, claim, digest_of, find_sent, give_up
from wasteledger.office.workplace import NobodyNamed, NotTheirTask, Said, Workplace

ODILE = "odile@example.org"


@pytest.fixture
def place(clinic: Clinic) -> Workplace:
    """The practice under the federal rule, four weeks after a malfunction was found."""
    place = a_place(clinic, FEDERAL)
    clinic.record(an_inspection("malfunction"))
    clinic.watch.wait(days=28)
    return place


def claimed_by(place: Workplace, to: str = ODILE) -> int | None:
    with place.reading() as reader:
        return find_sent(reader, to, place.today())


def test_a_digest_says_what_is_overdue_and_by_which_clause(place: Workplace) -> None:
    """40 CFR 441.30(a)(1)(v): ten business days after Monday, 2 March 2026 make Monday, 16 March."""
    digest = digest_of(place)

    assert digest.pressing >= 1
    assert digest.presses
    assert digest.subject.startswith("Élan Dental, Elm Street, 30 March 2026: 1 overdue")
    assert "- 16 March 2026: Repair or replace" in digest.text
    assert "441.30(a)(1)(v)" in digest.text
    assert max(map(len, digest.text.splitlines()[:-1])) <= 78


def test_a_digest_names_the_entry_that_it_rests_on(clinic: Clinic, place: Workplace) -> None:
    last = clinic.entries()[-1]

    assert digest_of(place).text.endswith(f"wasteledger verify --paper {last.seq}:{last.digest}\n")


def test_a_digest_is_named_by_what_it_says(place: Workplace) -> None:
    digest = digest_of(place)

    said = hashlib.sha256((digest.subject + "\n" + digest.text).encode("utf-8")).hexdigest()
    assert digest.digest == said
    assert replace(digest, text=digest.text + " ").digest != said


def test_later_days_wake_nobody(clinic: Clinic) -> None:
    place = a_place(clinic, FEDERAL)
    clinic.record(an_inspection())
    digest = digest_of(place)

    assert not digest.presses
    assert digest.subject.endswith(": nothing presses")
    assert "Later: " in digest.text


def test_a_gap_is_told_with_the_rest_and_wakes_nobody(clinic: Clinic) -> None:
    """A manual whose interval is not entered wants a person, but no mail every day."""
    place = a_place(clinic, FEDERAL)
    clinic.record(an_inspection())
    digest = digest_of(place)

    assert "No day can be told:" in digest.text
    assert "interval is not entered for separator SEP" in " ".join(digest.text.split())
    assert not digest.presses


def test_an_ordinance_that_is_urgently_wrong_wakes_people(clinic: Clinic) -> None:
    place = a_place(clinic)
    clinic.append(a_line("river", OrdinanceDetails(name="river", version="1", digest="0" * 64, text=A_LOCAL_RULE)))
    digest = digest_of(place)

    assert (digest.pressing, digest.urgent) == (0, 1)
    assert digest.presses
    assert "does not have the digest that stands beside it" in " ".join(digest.text.split())


# -- claims ------------------------------------------------------------------------------------------------------------


def test_a_claim_is_an_entry_that_says_what_went_to_whom(clinic: Clinic, place: Workplace) -> None:
    digest = digest_of(place)
    made = claim(place, ODILE, digest, Said(note="By the nightly run."))

    entry = clinic.entries()[-1]
    assert (made.seq, made.is_fresh) == (entry.seq, True)
    assert entry.body == ReminderSent(
        to=ODILE, on=date(2026, 3, 30), pressing=digest.pressing, digest=digest.digest, note="By the nightly run."
    )
    assert clinic.verify().holds


def test_a_second_claim_of_the_day_is_not_made(clinic: Clinic, place: Workplace) -> None:
    first = claim(place, ODILE, digest_of(place))
    clinic.record(an_inspection("malfunction"))
    count = len(clinic.entries())
    second = claim(place, "Odile@Example.org", digest_of(place))

    assert (second.seq, second.is_fresh) == (first.seq, False)
    assert len(clinic.entries()) == count
    assert claim(place, ODILE, digest_of(place), again=True).is_fresh
    assert claim(place, "bao@example.org", digest_of(place)).is_fresh


def test_what_was_given_up_may_be_claimed_again(clinic: Clinic, place: Workplace) -> None:
    first = claim(place, ODILE, digest_of(place))
    give_up(place, first.seq, "Not sent: 550 no\nsuch mailbox.")
    assert claimed_by(place) is None
    second = claim(place, ODILE, digest_of(place))

    assert second.is_fresh
    assert claimed_by(place) == second.seq
    assert clinic.entries()[-2].body.reason == "Not sent: 550 no such mailbox."  # type: ignore[attr-defined]
    assert clinic.verify().holds


def test_a_claim_made_void_by_hand_counts_no_more_and_one_reinstated_does(clinic: Clinic, place: Workplace) -> None:
    first = claim(place, ODILE, digest_of(place))
    correct_entry(place, first.seq, "Nothing came.")
    assert claimed_by(place) is None
    clinic.append(a_correction(first.seq, "reinstate"))

    assert claimed_by(place) == first.seq


def test_a_claim_that_was_corrected_to_another_address_counts_there(clinic: Clinic, place: Workplace) -> None:
    first = claim(place, ODILE, digest_of(place))
    correct_entry(place, first.seq, "Typed wrong.", action="replace", changes={"to": "bao@example.org"})

    assert claimed_by(place) is None
    assert claimed_by(place, "bao@example.org") == first.seq


def test_a_claim_of_yesterday_does_not_count_today(clinic: Clinic, place: Workplace) -> None:
    claim(place, ODILE, digest_of(place))
    clinic.watch.wait(days=1)

    assert claimed_by(place) is None


def test_a_claim_written_after_midnight_stands_on_the_day_that_it_speaks_of(clinic: Clinic, place: Workplace) -> None:
    """The digest was read a moment before midnight in Chicago, and the entry written a moment after."""
    clinic.watch.now = datetime(2026, 3, 31, 4, 59, 59, tzinfo=UTC)
    digest = digest_of(place)
    clinic.watch.wait(seconds=2)
    made = claim(place, ODILE, digest)

    assert (digest.today, place.today()) == (date(2026, 3, 30), date(2026, 3, 31))
    with place.reading() as reader:
        assert find_sent(reader, ODILE, digest.today) == made.seq
        assert find_sent(reader, ODILE, place.today()) is None
    assert claim(place, ODILE, digest).is_fresh is False


def test_giving_up_twice_is_refused(place: Workplace) -> None:
    made = claim(place, ODILE, digest_of(place))
    give_up(place, made.seq, "Not sent.")

    with pytest.raises(NotCorrectable):
        give_up(place, made.seq, "Not sent.")


def test_only_the_office_tells_people(clinic: Clinic, place: Workplace) -> None:
    check_may_remind(place)
    for by, refusal in ((None, NobodyNamed), ("kim", NotTheirTask), ("nobody", UnknownPerson)):
        with pytest.raises(refusal):
            check_may_remind(Workplace(clinic.ledger, clinic.site, by))
    with pytest.raises(NotTheirTask):
        claim(Workplace(clinic.ledger, clinic.site, "kim"), ODILE, digest_of(place))
