"""Hazardous waste by the month, the category of each month, and what lies on site against its limits."""

from __future__ import annotations

import json
from datetime import UTC, date, datetime, timedelta

import pytest

from tests.makers import MONDAY_MORNING, Watch
from tests.office import rule_files
from tests.office.makers import Crew, container, released
from wasteledger.estimate.containers import Estimate, standing_mass
from wasteledger.ledger.rows import Values, entry_of
from wasteledger.model.containers import Holding
from wasteledger.model.facts import Entry
from wasteledger.model.findings import Finding, Weight
from wasteledger.model.traps import Condition
from wasteledger.office.containers import close_container, open_container, weigh_container
from wasteledger.office.corrections import correct_entry
from wasteledger.office.due import due
from wasteledger.office.generator import (
    CategoryNow,
    GeneratorCount,
    MonthCategory,
    MonthCount,
    MonthsReversed,
    amount_words,
    categories_now,
    count_months,
    standings_now,
    stock_findings,
    untold_findings,
    untold_months,
)
from wasteledger.office.learning import current_prior
from wasteledger.office.masses import mass_of
from wasteledger.office.other_waste import Month, MonthToCome, record_other_waste
from wasteledger.office.rules import registered_ordinances
from wasteledger.office.separator import replace_unit
from wasteledger.office.swaps import record_deposit, record_milestone, record_swap
from wasteledger.office.waste_allowance import allowance_mg
from wasteledger.office.workplace import OFFICE, Said, Workplace
from wasteledger.resources import find
from wasteledger.units import Mass

JANUARY, FEBRUARY, MARCH = (Month(2026, number) for number in (1, 2, 3))
IN_FEBRUARY = MONDAY_MORNING - timedelta(days=10)
TODAY = date(2026, 3, 2)

_READ = 'source = "Invented for a test"\nread_on = "2026-11"\n'


def a_code(
    identity: str = "river-district",
    *,
    level: str = "state",
    limit_kg: str = "100",
    uncounted: str = "",
    confirmed: bool = True,
    stock: str = "",
) -> str:
    """An invented ordinance with two categories, parted at a limit, or none; it may leave a stream out of its count."""
    sure = "confirmed = true\n" if confirmed else 'confirmed = false\nconfirmed_note = "Hearsay."\n'
    text = (
        f'schema = 1\n[ordinance]\nid = "{identity}"\ntitle = "Code of {identity}"\nauthority = "Invented"\n'
        f'level = "{level}"\nversion = "1"\ndated_on = 2025-01-01\nsource = "Invented for a test"\n'
    )
    if limit_kg:
        for rank, name, bounds in (
            (1, "little", f"month_up_to_kg = {limit_kg}\n{stock}"),
            (2, "much", f"month_over_kg = {limit_kg}\n"),
        ):
            text += (
                f'[[category]]\nid = "C-{rank}"\ntitle = "{name}"\nasks = "Asks little."\nname = "{name}"\n'
                f'rank = {rank}\ncitation = "Section {rank}"\nconfirmed = true\n{_READ}{bounds}'
            )
    if uncounted:
        text += (
            f'[[uncounted]]\nid = "U-1"\ntitle = "Left out"\nasks = "Not counted."\nstreams = ["{uncounted}"]\n'
            f'citation = "Section 9"\n{_READ}{sure}'
        )
    return text


def put_in_force(place: Workplace, *texts: str) -> None:
    """Register the text of ordinances."""
    for number, text in enumerate(texts):
        rule_files.put_in_force(place, f"code-{number}", text)


UNTOLD = "; other waste was not typed in, so not known"
FEDERAL_TITLE = "US federal hazardous waste generator rules (40 CFR Part 262)"
FEDERAL_GENERATOR = find("ordinances/us-federal-generator.toml").read_text("utf-8")


@pytest.fixture
def office(crew: Crew) -> Workplace:
    """The manager, with a pail open since January."""
    open_container(crew.mo, "C-1", "pail", Said(at=MONDAY_MORNING - timedelta(days=50)))
    return crew.mo


def month_of(place: Workplace, month: Month = FEBRUARY) -> MonthCount:
    """What was counted in a month."""
    (found,) = count_months(place, since=month, until=month).months
    return found


def codes(found: GeneratorCount) -> dict[str, Finding]:
    """The findings by code."""
    return {one.code: one for one in found.findings}


def holdings_of(place: Workplace, *refs: str) -> Estimate:
    """What some containers hold, estimated as one by the estimate's own function."""
    with place.reading() as reader:
        together = Holding()
        for ref in refs:
            for tally in container(place, ref).holding.tallies:
                together = together.with_tally(tally)
        return standing_mass(together, current_prior(reader))


def says(place: Workplace, month: Month = FEBRUARY) -> str:
    """What the only ordinance makes of a month, without the frame where its amalgam alone was counted."""
    (said,) = month_of(place, month).categories
    return placing(said)


def placing(said: MonthCategory) -> str:
    """A category in words, without the frame of a month whose amalgam alone was counted."""
    return said.says.removeprefix("by amalgam alone ").removesuffix(UNTOLD)


# -- the amalgam of a month --------------------------------------------------------------------------------------------


def test_a_month_counts_the_whole_waste_that_went_into_containers(office: Workplace) -> None:
    """Two clogged traps with their bodies: the same as the container that took them and nothing else."""
    first = record_swap(office, "1-HV", Said(at=IN_FEBRUARY), condition=Condition.CLOGGED)
    second = record_swap(office, "1-SE", Said(at=IN_FEBRUARY), condition=Condition.DEBRIS)

    found = month_of(office)

    with office.reading() as reader:
        assert found.amalgam == mass_of(reader, container(office))
    assert found.amalgam.inserts_mg == 9_000
    assert found.seqs == (first.seq, second.seq)
    assert amount_words(found.amalgam).endswith("estimate")


def test_swaps_into_several_containers_share_their_error(office: Workplace) -> None:
    """Two pails with a trap each are as uncertain as one pail with both: more than if the two were independent."""
    open_container(office, "C-2", "pail", Said(at=MONDAY_MORNING - timedelta(days=50)))
    record_swap(office, "1-HV", Said(at=IN_FEBRUARY), condition=Condition.CLOGGED, into="C-1")
    later = IN_FEBRUARY + timedelta(hours=1)
    record_swap(office, "2-HV", Said(at=later), condition=Condition.CLOGGED, into="C-2")

    found = month_of(office).amalgam

    assert found == holdings_of(office, "C-1", "C-2")
    one, other = (holdings_of(office, ref) for ref in ("C-1", "C-2"))
    assert found.value_mg == one.value_mg + other.value_mg
    independent = (one.standard_uncertainty_mg**2 + other.standard_uncertainty_mg**2) ** 0.5
    assert found.standard_uncertainty_mg > 1.05 * independent


def test_a_trap_weighed_by_itself_counts_as_weighed(office: Workplace) -> None:
    record_swap(office, "1-HV", Said(at=IN_FEBRUARY), gross=Mass.parse("34.2g"), tare=Mass.parse("5.1g"))
    record_swap(
        office,
        "2-HV",
        Said(at=IN_FEBRUARY),
        gross=Mass.parse("20g"),
        tare=Mass.parse("6g"),
        condition=Condition.CLOGGED,
    )

    found = month_of(office).amalgam

    # The whole trap went in, body and all; of the reusable one only what was tapped out.
    assert found.value_mg == 34_200 + 14_000
    assert found.basis == "weighed"
    assert amount_words(found).endswith("weighed")


def test_a_container_that_is_weighed_later_adds_nothing_to_the_month(office: Workplace) -> None:
    record_deposit(office, "C-1", "contact", Said(at=IN_FEBRUARY), mass=Mass.parse("100g"))
    weigh_container(office, "C-1", Mass.parse("900g"))

    assert month_of(office, FEBRUARY).amalgam.value_mg == 100_000
    assert month_of(office, MARCH).amalgam.basis == "empty"


def test_the_retaining_unit_counts_when_it_is_put_away(office: Workplace) -> None:
    open_container(office, "B-1", "unit-box", Said(at=MONDAY_MORNING - timedelta(days=40)))
    replace_unit(office, "SEP", "B-1", Said(at=IN_FEBRUARY))

    found = month_of(office).amalgam

    assert found.inserts_mg == 740_000
    assert found.value_mg > 740_000


def test_months_begin_at_local_midnight(office: Workplace) -> None:
    """Half past five in UTC on 1 February is still January in Chicago."""
    record_deposit(office, "C-1", "contact", Said(at=datetime(2026, 2, 1, 5, 30, tzinfo=UTC)), mass=Mass.parse("100g"))

    assert month_of(office, JANUARY).amalgam.value_mg == 100_000
    assert month_of(office, FEBRUARY).amalgam.basis == "empty"


def test_what_a_correction_takes_back_is_not_counted(office: Workplace) -> None:
    record_deposit(office, "C-1", "contact", Said(at=IN_FEBRUARY), mass=Mass.parse("100g"))
    wrong = record_deposit(office, "C-1", "contact", Said(at=IN_FEBRUARY), mass=Mass.parse("40g"))
    correct_entry(office, wrong.seq, "Counted twice.")

    assert month_of(office).amalgam.value_mg == 100_000


def test_what_has_left_is_still_counted_in_its_month(office: Workplace) -> None:
    record_deposit(office, "C-1", "contact", Said(at=IN_FEBRUARY), mass=Mass.parse("100g"))
    close_container(office, "C-1")
    released(office, "C-1")

    found = count_months(office, since=FEBRUARY, until=FEBRUARY)

    assert found.months[0].amalgam.value_mg == 100_000
    assert found.on_site.amalgam.basis == "empty"


def test_pieces_of_unknown_mass_are_named_and_not_taken_as_nothing(office: Workplace) -> None:
    record_deposit(office, "C-1", "contact", Said(at=IN_FEBRUARY), count=3)

    found = month_of(office)

    assert found.amalgam.unknown_pieces == 3
    assert found.amalgam.value_mg == 0
    assert amount_words(found.amalgam) == "3 pieces of unknown mass, estimate"
    assert "3 pieces of unknown mass" in found.as_json()["together"]["statement"]


# -- the months that are listed ----------------------------------------------------------------------------------------


def test_the_months_begin_with_the_journal(office: Workplace) -> None:
    found = count_months(office)

    assert [str(one.month) for one in found.months] == ["2026-01", "2026-02", "2026-03"]
    assert [one.is_so_far for one in found.months] == [False, False, True]
    assert amount_words(found.months[0].amalgam) == "none"


def test_a_year_is_listed_where_nobody_says_which(office: Workplace, watch: Watch) -> None:
    watch.wait(days=700)

    found = count_months(office)

    assert (str(found.months[0].month), str(found.months[-1].month)) == ("2027-02", "2028-01")
    assert len(found.months) == 12
    assert [str(one.month) for one in count_months(office, until=FEBRUARY).months] == ["2026-01", "2026-02"]
    assert len(count_months(office, since=Month(2025, 1), until=JANUARY).months) == 13
    assert [str(one.month) for one in count_months(office, until=Month(2025, 6)).months] == ["2025-06"]


def test_months_to_come_or_reversed_are_refused(office: Workplace) -> None:
    with pytest.raises(MonthToCome, match="April 2026"):
        count_months(office, until=Month(2026, 4))
    with pytest.raises(MonthsReversed, match="January 2026 comes before February 2026"):
        count_months(office, since=FEBRUARY, until=JANUARY)


def test_other_waste_stands_beside_the_amalgam(office: Workplace) -> None:
    record_deposit(office, "C-1", "contact", Said(at=IN_FEBRUARY), mass=Mass.parse("100g"))
    fixer = record_other_waste(office, FEBRUARY, "Spent fixer", Mass.parse("12 kg"), basis="weighed")

    found = count_months(office, since=JANUARY, until=FEBRUARY)
    january, february = found.months

    assert january.is_amalgam_only
    assert not february.is_amalgam_only
    (made,) = february.others
    assert (made.seq, made.made_mg, made.basis) == (fixer.seq, 12_000_000, "weighed")
    assert february.together.value_mg == 12_100_000
    # A sum with something typed in is never shown as a weighing.
    assert amount_words(february.together).endswith("estimate")
    assert "weighed" not in amount_words(february.together)


# -- categories --------------------------------------------------------------------------------------------------------


def test_without_categories_in_force_there_are_none(office: Workplace) -> None:
    found = count_months(office)

    assert all(one.categories == () for one in found.months)
    assert codes(found).keys() == {"no-categories"}
    assert not found.wants_attention
    with office.reading() as reader:
        assert categories_now(reader, TODAY) == {}
        assert stock_findings(reader, TODAY) == ()


def test_all_streams_count_together(office: Workplace) -> None:
    put_in_force(office, a_code(limit_kg="12"))
    record_deposit(office, "C-1", "contact", Said(at=IN_FEBRUARY), mass=Mass.parse("1g"))
    record_other_waste(office, FEBRUARY, "Spent fixer", Mass.parse("11.999 kg"))
    assert says(office) == "little by the value, much at the upper end; 12 kg lies inside the interval"

    record_other_waste(office, FEBRUARY, "Lead foil", Mass.parse("1 kg"))
    assert says(office) == "much"
    assert says(office, JANUARY) == "little"


def test_a_boundary_inside_the_interval_is_said(office: Workplace) -> None:
    record_swap(office, "1-HV", Said(at=IN_FEBRUARY), condition=Condition.CLOGGED)
    amalgam = month_of(office).amalgam
    above = -(-amalgam.value_mg // 1000) + 1
    assert amalgam.value_mg < above * 1000 < amalgam.upper_mg
    put_in_force(office, a_code(limit_kg=f"0.{above:03}"))

    found = count_months(office, since=JANUARY, until=FEBRUARY)
    (category,) = found.months[1].categories

    assert placing(category) == (
        f"little by the value, much at the upper end; 0.{above:03} kg lies inside the interval".replace("0 kg", " kg")
    )
    assert category.as_json()["category"] == "little"
    assert category.as_json()["highest"] == "much"
    finding = codes(found)["category-not-settled"]
    assert finding.place == "month 2026-02"
    assert finding.seqs == found.months[1].seqs
    assert found.wants_attention


def test_a_value_above_the_boundary_names_what_lies_below(office: Workplace) -> None:
    record_swap(office, "1-HV", Said(at=IN_FEBRUARY), condition=Condition.CLOGGED)
    amalgam = month_of(office).amalgam
    below = amalgam.value_mg // 1000 - 1
    assert amalgam.lower_mg < below * 1000
    put_in_force(office, a_code(limit_kg=f"0.{below:03}"))

    assert says(office).startswith("much by the value, little at the lower end; ")


def test_a_category_that_rises_is_told_once(office: Workplace) -> None:
    put_in_force(office, a_code(limit_kg="10"))
    record_other_waste(office, FEBRUARY, "Spent fixer", Mass.parse("12 kg"))
    record_other_waste(office, MARCH, "Spent fixer", Mass.parse("12 kg"))
    # What January had is not known: February may have been no rise.
    assert "category-rose" not in codes(count_months(office))
    record_other_waste(office, JANUARY, "Spent fixer", Mass(0))

    found = count_months(office)

    rises = [one for one in found.findings if one.code == "category-rose"]
    assert [one.place for one in rises] == ["month 2026-02"]
    assert "from little to much" in rises[0].says
    assert found.wants_attention


def test_acute_waste_has_its_own_limit(office: Workplace) -> None:
    put_in_force(office, FEDERAL_GENERATOR)
    record_other_waste(office, JANUARY, "Old stock", Mass.parse("1 kg"), acute=True)
    record_other_waste(office, FEBRUARY, "Old stock", Mass.parse("1.001 kg"), acute=True)

    assert says(office, JANUARY) == "VSQG"
    assert says(office, FEBRUARY) == "LQG, for its acute waste"


def test_each_ordinance_places_the_month_by_itself(office: Workplace) -> None:
    put_in_force(office, FEDERAL_GENERATOR, a_code(limit_kg="10"))
    record_other_waste(office, FEBRUARY, "Spent fixer", Mass.parse("12 kg"))

    found = count_months(office)

    assert [(one.ordinance, one.says) for one in found.months[1].categories] == [
        ("us-federal-generator", "VSQG"),
        ("river-district", "much"),
    ]
    assert [rule.ordinance for rule in found.rules] == ["us-federal-generator", "river-district"]
    assert found.rules[1].says[0] == "little: up to 10 kg a month (Section 1)"
    assert (
        found.rules[0]
        .says[0]
        .startswith(
            "VSQG: up to 100 kg a month; acute up to 1 kg; a clock from 1,000 kg on site; never over 6,000 kg on site ("
        )
    )


def test_a_category_that_stands_no_more_takes_nothing(office: Workplace) -> None:
    """The higher category ended with January; what it took then, no category takes in February."""
    ended = "month_over_kg = 10\nin_force_until = 2026-01-31"
    put_in_force(office, a_code(limit_kg="10").replace("month_over_kg = 10", ended))
    record_other_waste(office, JANUARY, "Spent fixer", Mass.parse("12 kg"))
    record_other_waste(office, FEBRUARY, "Spent fixer", Mass.parse("12 kg"))

    found = count_months(office)

    assert [placing(month.categories[0]) for month in found.months] == [
        "much",
        "no category takes this amount",
        "little",
    ]
    assert [len(rule.categories) for rule in found.rules] == [1]
    assert "no category takes 12 kg" in codes(found)["no-category"].says


def test_local_changes_that_do_not_fit_leave_the_categories_as_they_are(office: Workplace) -> None:
    misfit = (
        a_code("near", level="local", limit_kg="")
        + '[[override]]\nordinance = "river-district"\nprovision = "C-9"\nset_aside = true\n'
        + 'reason = "It names what is not there."\ncitation = "Section 1"\nconfirmed = true\n'
    )
    put_in_force(office, a_code(limit_kg="10"), misfit)

    assert says(office) == "little"
    with office.reading() as reader:
        assert categories_now(reader, TODAY) == {"river-district": "little"}


def test_a_category_that_a_nearer_code_sets_aside_does_not_count(office: Workplace) -> None:
    nearer = (
        a_code("near", level="local", limit_kg="")
        + '[[override]]\nordinance = "river-district"\nprovision = "C-2"\nset_aside = true\n'
        + 'reason = "There is but one."\ncitation = "Section 1"\nconfirmed = true\n'
    )
    put_in_force(office, a_code(limit_kg="10"), nearer)
    record_other_waste(office, FEBRUARY, "Spent fixer", Mass.parse("12 kg"))

    assert says(office) == "no category takes this amount"


def test_a_month_without_a_word_on_other_waste_has_no_known_category(office: Workplace) -> None:
    """40 CFR 262.13(a) counts all hazardous waste of the month: amalgam alone gives no category."""
    put_in_force(office, FEDERAL_GENERATOR)
    record_other_waste(office, MARCH, "Spent fixer", Mass(0))

    (told,), (untold,) = month_of(office, MARCH).categories, month_of(office).categories
    assert (told.says, told.is_told) == ("VSQG", True)
    assert (untold.says, untold.is_told) == (f"by amalgam alone VSQG{UNTOLD}", False)
    assert untold.as_json()["is_told"] is False


def test_months_over_without_other_waste_are_named_and_want_attention(office: Workplace, watch: Watch) -> None:
    put_in_force(office, FEDERAL_GENERATOR)
    watch.now = datetime(2026, 6, 2, 20, tzinfo=UTC)
    record_other_waste(office, Month(2026, 4), "Spent fixer", Mass.parse("2 kg"))

    found = count_months(office)

    said = codes(found)["other-waste-untold"]
    assert said.says == (
        "No other waste was typed in for January 2026 to March 2026, May 2026, not even that there was none: the "
        "category of these months is not known."
    )
    assert "other-waste --month 2026-01 --what NAME --mass 0g" in said.do
    assert (said.weight, found.wants_attention) == (Weight.WARNING, True)
    # Months that are not shown are not named, and the one that runs may still get its word.
    assert not count_months(office, since=Month(2026, 4), until=Month(2026, 4)).wants_attention
    assert not count_months(office, since=Month(2026, 6)).wants_attention
    with office.reading() as reader:
        (note,) = untold_findings(reader, date(2026, 6, 2))
    assert (note.code, note.says, note.weight) == (said.code, said.says, Weight.NOTE)
    assert [one for one in due(office).findings if one.code == said.code] == [note]


def test_nothing_is_untold_without_categories_or_before_the_ledger(office: Workplace, watch: Watch) -> None:
    with office.reading() as reader:
        assert untold_months(reader, TODAY) == ()
    put_in_force(office, FEDERAL_GENERATOR)
    with office.reading() as reader:
        assert untold_months(reader, TODAY) == (JANUARY, FEBRUARY)
        assert untold_months(reader, date(2026, 1, 20)) == ()
        # Of years, the months that the count shows.
        late = untold_months(reader, date(2028, 3, 2))
        assert (late[0], late[-1], len(late)) == (Month(2027, 4), Month(2028, 2), 11)


def test_a_category_of_the_first_month_holds_since_the_ledgers_beginning(office: Workplace, watch: Watch) -> None:
    """No day before the first entry is named: nothing was recorded then."""
    put_in_force(office, FEDERAL_GENERATOR)
    record_other_waste(office, FEBRUARY, "Spent fixer", Mass(0))

    found = standing_on(office, watch, TODAY)

    assert found.says.endswith("), since the ledger's beginning, 2026-01-01.")
    late = standing_on(office, watch, date(2029, 3, 2))
    assert (late.is_from_beginning, late.may_be_older) == (False, True)


def test_of_two_months_of_one_category_the_one_with_other_waste_is_named(office: Workplace, watch: Watch) -> None:
    put_in_force(office, FEDERAL_GENERATOR)
    record_other_waste(office, FEBRUARY, "Spent fixer", Mass.parse("2 kg"))

    assert standing_on(office, watch, TODAY).why == "February 2026, by the value"


def test_what_an_interval_leaves_open_is_named_from_the_highest(office: Workplace, watch: Watch) -> None:
    record_swap(office, "1-HV", Said(at=IN_FEBRUARY), condition=Condition.CLOGGED)
    upper_g = month_of(office).amalgam.upper_mg // 1000
    put_in_force(office, a_code(limit_kg=f"0.{upper_g:03}"))

    assert standing_on(office, watch, TODAY).may_be == ("much", "little")
    record_other_waste(office, MARCH, "Spent fixer", Mass.parse("12 kg"))
    assert standing_on(office, watch, TODAY).may_be == ("much",)


def test_a_month_counted_twice_is_told(office: Workplace) -> None:
    first = record_other_waste(office, FEBRUARY, "Spent fixer", Mass.parse("12 kg"))
    with office.writing(OFFICE) as desk:
        body = first.entry.body
        second = desk.append(body.model_copy(update={"note": "From an import."}))

    told = codes(count_months(office))["waste-counted-twice"]

    assert told.seqs == (first.seq, second.entry.seq)
    assert "both are counted" in told.says
    assert "waste-counted-twice" not in codes(count_months(office, since=MARCH))


# -- pieces of unknown mass --------------------------------------------------------------------------------------------


def test_a_piece_of_unknown_mass_keeps_a_month_below_a_boundary_unsettled(office: Workplace) -> None:
    put_in_force(office, FEDERAL_GENERATOR)
    record_other_waste(office, FEBRUARY, "Spent fixer", Mass.parse("99.99 kg"))
    assert says(office) == "VSQG"
    record_deposit(office, "C-1", "contact", Said(at=IN_FEBRUARY), count=1)

    found = count_months(office, since=FEBRUARY, until=FEBRUARY)
    (category,) = found.months[0].categories

    assert placing(category) == (
        "VSQG by the value, SQG at the upper end; 100 kg lies inside the interval, whose upper end takes 20 g for "
        "1 piece of unknown mass"
    )
    # What is printed of the mass itself stays without it.
    assert found.months[0].amalgam.upper_mg == 0
    assert found.months[0].together.upper_mg == 99_990_000
    assert found.allows_for_unknown
    assert "say what such pieces weigh" in codes(found)["category-not-settled"].do
    told = category.as_json()
    assert (told["is_settled"], told["highest"], told["unknown_pieces"]) == (False, "SQG", 1)
    assert (told["counted"]["upper_mg"], told["counted"]["allowed_mg"]) == (100_010_000, 20_000)
    with office.reading() as reader:
        now = standings_now(reader, TODAY)["us-federal-generator"]
    assert (now.name, now.is_settled, now.since) == ("SQG", False, date(2026, 2, 1))
    assert now.why == "February 2026, at the upper end, which takes 20 g for 1 piece of unknown mass"


def test_few_pieces_of_unknown_mass_far_below_a_boundary_change_nothing(office: Workplace) -> None:
    put_in_force(office, FEDERAL_GENERATOR)
    record_deposit(office, "C-1", "contact", Said(at=IN_FEBRUARY), count=188)

    found = count_months(office)

    assert {placing(one) for month in found.months for one in month.categories} == {"VSQG"}
    assert found.allows_for_unknown
    assert "category-not-settled" not in codes(found)


def test_a_piece_in_a_stream_that_is_left_out_is_not_allowed_for(office: Workplace) -> None:
    put_in_force(office, a_code(limit_kg="0.001", uncounted="contact"))
    record_deposit(office, "C-1", "contact", Said(at=IN_FEBRUARY), count=1)

    assert says(office) == "little; counted without contact (Code of river-district, Section 9), with them much"


def test_pieces_on_site_may_reach_a_limit(office: Workplace) -> None:
    put_in_force(office, a_code(stock="stock_below_kg = 0.05\n"))
    record_deposit(office, "C-1", "contact", Said(at=IN_FEBRUARY), count=2)
    assert stock_codes(office) == {}

    record_deposit(office, "C-1", "contact", Said(at=IN_FEBRUARY), count=1)
    told = stock_codes(office)["stock-clock-may-run"]
    assert told.says.endswith("lies inside the interval, whose upper end takes 60 g for 3 pieces of unknown mass.")


@pytest.mark.parametrize(
    ("source", "allowed_mg"),
    [
        ("stream:capsules", 20_000),
        ("stream:teeth", 20_000),
        ("stream:traps", 150_000),
        ("stream:of our own", 150_000),
        ("high_volume", 150_000),
        ("pump", 1_000_000),
        ("stream:sludge", 1_000_000),
        ("stream:retaining_units", 1_000_000),
        ("separator_unit", 1_000_000),
    ],
)
def test_the_allowance_for_a_piece_goes_by_what_it_is(source: str, allowed_mg: int) -> None:
    """Own judgement, no source: as the words of the module say."""
    assert allowance_mg([(source, 3)]) == 3 * allowed_mg


# -- streams that are left out -----------------------------------------------------------------------------------------


def fill_two_streams(place: Workplace) -> None:
    """Two kilograms of contact amalgam, and one of sludge."""
    open_container(place, "S-1", "tub", Said(at=MONDAY_MORNING - timedelta(days=50)), tare=Mass.parse("400g"))
    record_deposit(place, "C-1", "contact", Said(at=IN_FEBRUARY), mass=Mass.parse("2 kg"))
    record_deposit(place, "S-1", "sludge", Said(at=IN_FEBRUARY), mass=Mass.parse("1 kg"))


def test_a_stream_that_the_code_leaves_out_is_not_counted(office: Workplace) -> None:
    fill_two_streams(office)
    put_in_force(office, a_code(limit_kg="1.5", uncounted="contact"))

    (category,) = month_of(office).categories

    assert category.counted.value_mg == 1_000_000
    assert placing(category) == "little; counted without contact (Code of river-district, Section 9), with them much"
    assert month_of(office).amalgam.value_mg == 3_000_000
    with office.reading() as reader:
        assert categories_now(reader, TODAY) == {"river-district": "little"}


def test_an_unread_rule_that_leaves_out_does_not_lower_what_duties_go_by(office: Workplace) -> None:
    fill_two_streams(office)
    put_in_force(office, a_code(limit_kg="1.5", uncounted="contact", confirmed=False))

    assert "not read at its source" in says(office)
    with office.reading() as reader:
        assert categories_now(reader, TODAY) == {"river-district": "much"}


def test_nothing_is_said_of_a_stream_without_waste(office: Workplace) -> None:
    fill_two_streams(office)
    put_in_force(office, a_code(limit_kg="1.5", uncounted="teeth"))

    assert says(office) == "much"


def test_nearer_and_equal_law_leaves_out_of_wider_counts(office: Workplace) -> None:
    fill_two_streams(office)
    put_in_force(
        office, a_code("wide", level="state", limit_kg="1.5"), a_code("near", limit_kg="", uncounted="contact")
    )

    assert "counted without contact (Code of near" in says(office)


@pytest.mark.parametrize("level", ["office", "federal"])
def test_conventions_and_wider_law_leave_nothing_out(office: Workplace, level: str) -> None:
    fill_two_streams(office)
    other = a_code("other", level=level, limit_kg="", uncounted="contact")
    put_in_force(office, a_code("wide", level="state", limit_kg="1.5"), other)

    found = count_months(office)

    assert placing(found.months[1].categories[0]) == "much"
    assert "so they are counted" in codes(found)["nothing-to-leave-out"].says


# -- now ---------------------------------------------------------------------------------------------------------------


def test_the_category_now_is_the_higher_of_this_month_and_the_last(office: Workplace, watch: Watch) -> None:
    put_in_force(office, FEDERAL_GENERATOR)
    record_other_waste(office, FEBRUARY, "Spent fixer", Mass.parse("120 kg"))

    for today, name in ((TODAY, "SQG"), (date(2026, 3, 31), "SQG"), (date(2026, 4, 1), "VSQG")):
        watch.now = datetime(today.year, today.month, today.day, 20, tzinfo=UTC)
        with office.reading() as reader:
            assert categories_now(reader, today) == {"us-federal-generator": name}


def test_the_category_now_goes_by_the_upper_end(office: Workplace) -> None:
    record_swap(office, "1-HV", Said(at=IN_FEBRUARY), condition=Condition.CLOGGED)
    upper_g = month_of(office).amalgam.upper_mg // 1000
    put_in_force(office, a_code(limit_kg=f"0.{upper_g:03}"))

    with office.reading() as reader:
        assert categories_now(reader, TODAY) == {"river-district": "much"}


def standing_on(place: Workplace, watch: Watch, today: date) -> CategoryNow:
    """What the only ordinance says of *today*."""
    watch.now = datetime(today.year, today.month, today.day, 20, tzinfo=UTC)
    with place.reading() as reader:
        (found,) = standings_now(reader, today).values()
        return found


def test_a_category_counts_from_the_month_in_which_it_began(office: Workplace, watch: Watch) -> None:
    """Duties of a category are none of the years before: the run of months is followed back to its beginning."""
    put_in_force(office, FEDERAL_GENERATOR)
    watch.now = datetime(2026, 12, 2, 20, tzinfo=UTC)
    for number in (2, 6, 7, 8, 9, 10, 11):
        record_other_waste(office, Month(2026, number), "Spent fixer", Mass.parse("120 kg"))
    for number in (3, 4, 5):
        record_other_waste(office, Month(2026, number), "Spent fixer", Mass(0))

    assert standing_on(office, watch, date(2026, 12, 2)) == CategoryNow(
        "SQG", date(2026, 6, 1), True, False, "November 2026, by the value", FEDERAL_TITLE, may_be=("SQG",)
    )
    # December had nothing: what had begun in June is over.
    assert standing_on(office, watch, date(2027, 1, 2)).name == "VSQG"


def test_a_higher_category_in_between_does_not_break_the_run(office: Workplace, watch: Watch) -> None:
    put_in_force(office, FEDERAL_GENERATOR)
    watch.now = datetime(2026, 6, 2, 20, tzinfo=UTC)
    for number, mass in ((2, "120 kg"), (3, "1200 kg"), (4, "120 kg"), (5, "120 kg")):
        record_other_waste(office, Month(2026, number), "Spent fixer", Mass.parse(mass))

    assert standing_on(office, watch, date(2026, 6, 2)).since == date(2026, 2, 1)
    assert standing_on(office, watch, date(2026, 4, 2)).since == date(2026, 3, 1)


def test_the_lowest_category_holds_as_far_back_as_is_looked(office: Workplace, watch: Watch) -> None:
    put_in_force(office, FEDERAL_GENERATOR)

    for today, since in ((date(2026, 3, 2), date(2026, 1, 1)), (date(2029, 3, 2), date(2027, 4, 1))):
        found = standing_on(office, watch, today)
        assert (found.since, found.may_be_older) == (since, True)


def test_a_run_of_years_is_followed_for_two_of_them(office: Workplace, watch: Watch) -> None:
    put_in_force(office, FEDERAL_GENERATOR)
    watch.now = datetime(2028, 12, 2, 20, tzinfo=UTC)
    for number in range(35):
        record_other_waste(office, JANUARY.plus(number), "Spent fixer", Mass.parse("120 kg"))

    assert standing_on(office, watch, date(2028, 12, 2)).since == date(2027, 1, 1)


def test_a_category_that_only_an_end_of_the_interval_gives_is_not_settled(office: Workplace, watch: Watch) -> None:
    record_swap(office, "1-HV", Said(at=IN_FEBRUARY), condition=Condition.CLOGGED)
    upper_g = month_of(office).amalgam.upper_mg // 1000
    put_in_force(office, a_code(limit_kg=f"0.{upper_g:03}"))

    found = standing_on(office, watch, TODAY)
    assert (found.is_settled, found.is_told) == (False, False)
    record_other_waste(office, MARCH, "Spent fixer", Mass(0))
    found = standing_on(office, watch, TODAY)
    assert found.says == "duties go by much (February 2026, at the upper end; not settled), since 2026-02-01."


def test_a_category_by_the_value_of_either_month_is_settled(office: Workplace, watch: Watch) -> None:
    """The running month reaches it at the upper end only, the last one by its value."""
    record_swap(office, "1-HV", Said(at=MONDAY_MORNING - timedelta(hours=1)), condition=Condition.CLOGGED)
    upper_g = month_of(office, MARCH).amalgam.upper_mg // 1000
    record_deposit(office, "C-1", "contact", Said(at=IN_FEBRUARY), mass=Mass.parse("900g"))
    put_in_force(office, a_code(limit_kg=f"0.{upper_g:03}"))

    found = standing_on(office, watch, TODAY)
    assert (found.is_settled, found.since, found.why) == (True, date(2026, 2, 1), "February 2026, by the value")


def test_a_category_that_only_an_unread_leaving_out_decides_is_not_settled(office: Workplace, watch: Watch) -> None:
    fill_two_streams(office)
    put_in_force(office, a_code(limit_kg="1.5", uncounted="contact", confirmed=False))

    found = standing_on(office, watch, TODAY)

    assert (found.name, found.is_settled) == ("much", False)
    assert found.why.endswith("with contact, which only a rule not read at its source leaves out")


def test_a_category_begins_no_earlier_than_its_rule(office: Workplace, watch: Watch) -> None:
    began = "month_up_to_kg = 10\nin_force_from = 2026-02-01"
    put_in_force(office, a_code(limit_kg="10").replace("month_up_to_kg = 10", began))

    assert standing_on(office, watch, TODAY).since == date(2026, 2, 1)


def test_corrected_other_waste_counts_as_corrected(office: Workplace) -> None:
    put_in_force(office, FEDERAL_GENERATOR)
    wrong = record_other_waste(office, FEBRUARY, "Spent fixer", Mass.parse("120 kg"), on_hand=Mass.parse("90 kg"))
    assert says(office) == "SQG"

    correct_entry(office, wrong.seq, "A digit too many.", action="replace", changes={"made_mg": "12 kg"})
    assert says(office) == "VSQG"
    correct_entry(office, wrong.seq, "As it was.", action="reinstate")
    correct_entry(office, wrong.seq, "Of the month before.", action="replace", changes={"month": "2026-01"})
    assert (says(office, JANUARY), says(office)) == ("SQG", "VSQG")
    correct_entry(office, wrong.seq, "Another office's.")
    found = count_months(office)
    assert {placing(one) for month in found.months for one in month.categories} == {"VSQG"}
    assert found.on_site.others == ()


def test_the_category_now_reads_no_journal_of_long_ago(
    office: Workplace, watch: Watch, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A month of February, in which 40 entries were written, is never read again in December."""
    for _ in range(40):
        record_deposit(office, "C-1", "contact", Said(at=IN_FEBRUARY), mass=Mass.parse("1g"))
    put_in_force(office, FEDERAL_GENERATOR)
    watch.now = datetime(2026, 12, 2, 20, tzinfo=UTC)
    record_deposit(office, "C-1", "contact", mass=Mass.parse("1g"))
    read: list[Entry] = []

    def counted(row: Values) -> Entry:
        read.append(entry_of(row))
        return read[-1]

    monkeypatch.setattr("wasteledger.ledger.reader.entry_of", counted)

    with office.reading() as reader:
        rules = registered_ordinances(reader)
        read.clear()
        assert standings_now(reader, office.today(), rules)["us-federal-generator"].name == "VSQG"
        stock_findings(reader, office.today(), rules)

    # The newest deposit for each of the two, and the journal's first entry.
    assert 0 < len(read) <= 5


# -- on site -----------------------------------------------------------------------------------------------------------


def test_what_lies_on_site_is_amalgam_and_what_was_told_last(office: Workplace) -> None:
    record_deposit(office, "C-1", "contact", Said(at=IN_FEBRUARY), mass=Mass.parse("100g"))
    record_other_waste(office, JANUARY, "Spent fixer", Mass.parse("12 kg"), on_hand=Mass.parse("9 kg"))
    newest = record_other_waste(office, FEBRUARY, "spent fixer", Mass.parse("12 kg"), on_hand=Mass.parse("3 kg"))
    record_other_waste(office, MARCH, "Spent Fixer", Mass.parse("1 kg"))
    record_other_waste(office, MARCH, "Lead foil", Mass.parse("1 kg"))

    found = count_months(office)

    (fixer,) = found.on_site.others
    assert (fixer.seq, fixer.month, fixer.mass_mg) == (newest.seq, "2026-02", 3_000_000)
    assert found.on_site.untold == ("Lead foil",)
    assert found.on_site.together.value_mg == 3_100_000
    assert "Lead foil" in codes(found)["stock-not-told"].says


def stock_of(place: Workplace, mass: str, month: Month = FEBRUARY, *, acute: bool = False) -> None:
    """Other waste that lies on site."""
    record_other_waste(place, month, f"Stock of {mass}", Mass(0), on_hand=Mass.parse(mass), acute=acute)


def stock_codes(place: Workplace) -> dict[str, Finding]:
    """What lies on site against its limits, by code."""
    with place.reading() as reader:
        return {one.code: one for one in stock_findings(reader, place.today())}


def test_the_clock_of_the_stock_starts_at_its_limit(office: Workplace) -> None:
    put_in_force(office, FEDERAL_GENERATOR)
    stock_of(office, "999.9 kg")
    assert stock_codes(office) == {}

    stock_of(office, "0.1 kg")
    told = stock_codes(office)["stock-clock"]
    assert told.weight is Weight.URGENT
    assert "about 1000 kg" in told.says
    assert "reaches 1,000 kg" in told.says
    assert "wasteledger milestone stock_limit_reached" in told.do


def test_a_clock_that_was_recorded_is_only_noted(office: Workplace, watch: Watch) -> None:
    put_in_force(office, FEDERAL_GENERATOR)
    stock_of(office, "1000 kg")
    reached = record_milestone(office, "stock_limit_reached")

    told = stock_codes(office)["stock-clock"]
    assert (told.weight, told.seqs) == (Weight.NOTE, (reached.seq,))
    watch.wait(days=1)
    record_milestone(office, "stock_limit_ended")
    assert stock_codes(office)["stock-clock"].weight is Weight.URGENT


def test_a_clock_that_runs_on_over_less_is_noted(office: Workplace, watch: Watch) -> None:
    put_in_force(office, FEDERAL_GENERATOR)
    stock_of(office, "3 kg")
    reached = record_milestone(office, "stock_limit_reached")
    assert stock_codes(office)["stock-clock-runs"].seqs == (reached.seq,)

    watch.wait(days=1)
    record_milestone(office, "stock_limit_ended")
    assert stock_codes(office) == {}


def test_what_may_never_lie_there_is_urgent(office: Workplace) -> None:
    put_in_force(office, FEDERAL_GENERATOR)
    stock_of(office, "6000 kg")
    assert stock_codes(office).keys() == {"stock-clock"}

    stock_of(office, "0.001 kg")
    told = stock_codes(office)["stock-over"]
    assert told.weight is Weight.URGENT
    assert "over 6,000 kg" in told.says


def test_a_limit_inside_the_interval_may_be_reached(office: Workplace) -> None:
    record_swap(office, "1-HV", Said(at=IN_FEBRUARY), condition=Condition.CLOGGED)
    amalgam = count_months(office).on_site.amalgam
    above = f"0.{-(-amalgam.value_mg // 1000) + 1:03}"
    put_in_force(office, a_code(stock=f"stock_below_kg = {above}\nstock_up_to_kg = {above}\n"))

    found = stock_codes(office)

    assert found.keys() == {"stock-clock-may-run", "stock-may-be-over"}
    assert {one.weight for one in found.values()} == {Weight.WARNING}


def test_acute_stock_with_a_limit_of_its_own_is_no_part_of_the_rest(office: Workplace) -> None:
    put_in_force(office, FEDERAL_GENERATOR)
    stock_of(office, "999.9 kg")
    stock_of(office, "2 kg", acute=True)

    assert stock_codes(office) == {}


def test_the_limits_of_every_category_that_may_hold_are_looked_at(office: Workplace) -> None:
    """By the month's 120 kg the practice is no VSQG in February, but it is one in March so far."""
    put_in_force(office, FEDERAL_GENERATOR)
    record_other_waste(office, FEBRUARY, "Spent fixer", Mass.parse("120 kg"), on_hand=Mass.parse("7000 kg"))

    with office.reading() as reader:
        found = stock_findings(reader, TODAY)

    assert sorted(one.code for one in found) == ["stock-clock", "stock-over"]


# -- as JSON -----------------------------------------------------------------------------------------------------------


def test_the_count_as_json(office: Workplace) -> None:
    put_in_force(office, FEDERAL_GENERATOR)
    swap = record_swap(office, "1-HV", Said(at=IN_FEBRUARY), condition=Condition.CLOGGED)
    record_other_waste(office, FEBRUARY, "Spent fixer", Mass.parse("15 kg"))

    told = json.loads(json.dumps(count_months(office, since=FEBRUARY, until=FEBRUARY).as_json()))

    (month,) = told["months"]
    assert month["month"] == "2026-02"
    assert month["amalgam"]["basis"] == "estimate"
    assert month["amalgam"]["seqs"] == [swap.seq]
    assert month["amalgam"]["lower_mg"] < month["amalgam"]["value_mg"] < month["amalgam"]["upper_mg"]
    assert month["categories"][0]["counted"]["value_mg"] == month["amalgam"]["value_mg"] + 15_000_000
    assert month["categories"][0]["category"] == "VSQG"
    assert month["categories"][0]["boundaries_inside_kg"] == []
    assert told["on_site"]["untold"] == ["Spent fixer"]
    assert told["rules"][0]["categories"][0]["month_up_to_kg"] == "100"


def test_a_month_that_nobody_told_of_parts_no_run(office: Workplace, watch: Watch) -> None:
    put_in_force(office, FEDERAL_GENERATOR)
    watch.now = datetime(2026, 12, 2, 20, tzinfo=UTC)
    for number in (7, 8, 10, 11):
        record_other_waste(office, Month(2026, number), "Spent fixer", Mass.parse("120 kg"))

    now = standing_on(office, watch, date(2026, 12, 2))

    assert (now.name, now.since) == ("SQG", date(2026, 7, 1))
