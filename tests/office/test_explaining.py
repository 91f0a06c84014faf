"""One rule explained: its words, its clocks, its entries, and what is missing."""

from __future__ import annotations

from datetime import date

import pytest

from tests.makers import Watch, a_repair, a_separator, a_site, an_inspection
from tests.office.makers import Crew, open_pail, released
from tests.office.places import A_LOCAL_RULE
from tests.office.rule_files import SAID, a_rule, find_file, put_in_force, text_of
from wasteledger.model.entries import SeparatorInspection
from wasteledger.model.filings import PaperKind, StatementTopic
from wasteledger.office.containers import close_container
from wasteledger.office.due import due
from wasteledger.office.duties import record_duty_done
from wasteledger.office.explaining import Explained, Explanation, NoSuchRule, explain
from wasteledger.office.filings import file_paper, record_statement, record_training
from wasteledger.office.other_waste import Month, record_other_waste
from wasteledger.office.provision_words import AUTHORITY_DECIDES
from wasteledger.office.separator import inspect_separator, repair_separator
from wasteledger.office.swaps import record_deposit, record_milestone
from wasteledger.office.workplace import Workplace
from wasteledger.ordinance.words import ShownBy
from wasteledger.units import Mass


def explained(place: Workplace, wanted: str) -> Explanation:
    with place.reading() as reader:
        return explain(reader, place.today(), wanted)


def the_rule(place: Workplace, wanted: str) -> Explained:
    (found,) = explained(place, wanted).found
    return found


GENERATOR = "us-federal-generator"


@pytest.fixture
def counting(crew: Crew) -> Crew:
    """The federal rules for generators in force, and a pail open."""
    put_in_force(crew.mo, GENERATOR, find_file(GENERATOR).read_text("utf-8"))
    open_pail(crew.kim)
    return crew


def test_a_shipments_clock_is_told_by_its_month_in_the_words_of_due(counting: Crew) -> None:
    """40 CFR 262.42(b): 60 days, of a small quantity generator; February alone says nothing of March."""
    record_other_waste(counting.mo, Month(2026, 2), "Spent fixer", Mass(0))
    close_container(counting.kim, "C-1")
    released(counting.mo, "C-1")

    def told() -> tuple[str, str]:
        (clock,) = the_rule(counting.kim, "US-RCRA-08").clocks
        (owed,) = [one for one in due(counting.kim).obligations if one.rule == "US-RCRA-08"]
        return clock.condition, owed.condition

    assert told() == ("asked of SQG only; the category of March 2026 is not known",) * 2
    assert "Asked of SQG only; the category here is VSQG now." in _shown(the_rule(counting.kim, "US-RCRA-08"))

    record_other_waste(counting.mo, Month(2026, 3), "Spent fixer", Mass.parse("150 kg"))
    of_clock, of_due = told()
    assert of_clock == of_due
    assert of_clock.startswith("asked of SQG only, as here in ")


def test_a_category_that_the_estimate_leaves_open_lets_its_provisions_ask(counting: Crew) -> None:
    """A piece of unknown mass lies between 100 kg and what was typed in."""
    record_deposit(counting.kim, "C-1", "contact", count=1)
    record_other_waste(counting.mo, Month(2026, 3), "Spent fixer", Mass.parse("99.99 kg"))

    lower, upper, above = (the_rule(counting.kim, one) for one in ("US-RCRA-VSQG-DUTIES", "US-RCRA-08", "US-RCRA-LQG"))

    open_words = "the practice may be SQG now, may be VSQG; the estimate leaves it open."
    assert lower.is_asked
    assert lower.shows[0].says == f"Asked of VSQG only; {open_words}"
    assert upper.shows[0].says == "Asked of SQG only; the practice may be SQG now, the estimate leaves it open."
    assert f"By the count of the months, {open_words}" in _shown(above)


def test_a_provision_for_some_categories_says_on_what_its_asking_rests(counting: Crew) -> None:
    unknown = the_rule(counting.kim, "US-RCRA-VSQG-DUTIES")
    assert unknown.shows[0].says == "Asked of VSQG only; the category here is not known."

    record_other_waste(counting.mo, Month(2026, 3), "Spent fixer", Mass(0))
    assert the_rule(counting.kim, "US-RCRA-VSQG-DUTIES").shows[0].says == "Asked of VSQG only, as here now."
    other = the_rule(counting.kim, "US-RCRA-MANIFEST")
    assert (other.is_asked, other.shows[0].says) == (False, "Asked of SQG and LQG only; the category here is VSQG now.")


def test_months_without_a_word_on_other_waste_are_missing_from_the_count(counting: Crew) -> None:
    """40 CFR 262.13(a) counts all hazardous waste of each month."""
    typed = record_other_waste(counting.mo, Month(2026, 1), "Spent fixer", Mass.parse("2 kg"))

    rule = the_rule(counting.kim, "US-RCRA-12")

    (lack,) = rule.missing
    assert lack.says.startswith("No other waste was typed in for February 2026, not even that there was none")
    assert rule.looked_for == ("months that are over without a word on other waste",)
    assert (typed.seq,) in [one.seqs for one in rule.shows]
    assert the_rule(counting.kim, "US-RCRA-VSQG").missing == rule.missing

    record_other_waste(counting.mo, Month(2026, 2), "Spent fixer", Mass(0))
    assert not the_rule(counting.kim, "US-RCRA-12").missing


def _shown(rule: Explained) -> str:
    return " ".join(one.says for one in rule.shows)


def test_a_malfunction_is_explained_with_its_day_its_entry_and_its_doubt(crew: Crew, watch: Watch) -> None:
    idle = the_rule(crew.kim, "US-441-03")
    assert not idle.clocks
    assert "separator inspect --result malfunction" in idle.shows[0].says
    assert not idle.missing

    found = inspect_separator(crew.kim, "SEP", "malfunction")
    rule = the_rule(crew.kim, "us-441-03")

    (clock,) = rule.clocks
    # 40 CFR 441.30(a)(1)(v): ten business days from Monday 2 March 2026 end on Monday 16 March.
    assert (clock.due_on, clock.trigger_seq, clock.subject) == (date(2026, 3, 16), found.seq, "separator SEP")
    assert not rule.provision.confirmed
    assert rule.provision.standing_of_source.startswith("NOT CONFIRMED: ")
    # 40 CFR 441.50(b)(1) wants a summary of the follow-up, where there is one.
    assert [(one.says, one.seqs) for one in the_rule(crew.kim, "US-441-06").missing][-1] == (
        "Inspections that found something and name no follow-up: 1.",
        (found.seq,),
    )

    watch.wait(days=1)
    mended = repair_separator(crew.mo, "SEP", "repaired", done_by="Robin", description="Seal", make_name="", model="")
    after = the_rule(crew.kim, "US-441-03")

    assert not after.clocks
    assert mended.seq in after.shows[0].seqs
    assert after.shows[0].says.startswith("Last: 3 Mar 2026: Separator SEP repaired by Robin")
    # 40 CFR 441.50(b)(4): make and model of the device that was repaired.
    assert (after.missing[0].says, after.missing[0].seqs) == ("Repairs without make and model: 1.", (mended.seq,))


def test_an_interval_that_is_not_entered_is_missing(crew: Crew) -> None:
    rule = the_rule(crew.kim, "US-441-06")

    assert not rule.clocks
    assert [one.is_gap for one in rule.undated] == [True]
    assert rule.missing[0].says == "The manual's inspection interval is not entered for separator SEP."
    with crew.mo.writing() as desk:
        desk.append(a_separator(inspect_every_days=30))
    rule = the_rule(crew.kim, "US-441-06")
    assert [one.due_on for one in rule.clocks] == [date(2026, 1, 31)]
    assert [one.says for one in rule.missing] == [
        "separator SEP: 31 Jan 2026 has passed, and nothing on record answers it."
    ]


def test_a_clock_that_everybody_has_and_nothing_started_is_missing(crew: Crew) -> None:
    put_in_force(crew.mo, "river-district", A_LOCAL_RULE)

    looked = the_rule(crew.mo, "river-district:RD-2")
    full = the_rule(crew.mo, "RD-1")

    assert looked.missing[0].says.startswith("No clock runs: nothing shows the last look at the containers.")
    assert "wasteledger done" in looked.missing[0].says
    assert not full.missing
    assert "container close --why full" in full.shows[0].says


def test_another_number_finds_its_rule_and_is_not_called_dead(crew: Crew) -> None:
    """A file cannot say which of two numbers lives: 40 CFR 262.14(a)(5) is what 261.5(g)(3) was until 2016."""
    rule = a_rule("M-1", 'trigger = "first_discharge"\ndue = { days = 9 }\nalso_cited_as = ["Marsh 7.2(b)"]')
    put_in_force(crew.mo, "marsh-town", text_of(rule, ref="marsh-town").replace("Marsh Town 1", "Marsh 9.1(a)"))

    other = the_rule(crew.mo, "Marsh 7.2(b)")

    assert other.provision.id == the_rule(crew.mo, "Marsh 9.1(a)").provision.id == "M-1"
    assert other.how == "This clause, Marsh 9.1(a), is also cited as “Marsh 7.2(b)”."
    assert the_rule(crew.mo, "Marsh 9.1(a)").how == ""


def test_a_wider_and_a_narrower_clause_are_told_apart(place: Workplace) -> None:
    wider = explained(place, "40 CFR 441.30(b)").found
    narrower = explained(place, "40 CFR 441.50(b)(3)").found

    assert {one.provision.id for one in wider} == {"US-441-BMP-1", "US-441-BMP-2"}
    assert all("is wider" in one.how for one in wider)
    assert "US-441-07" in {one.provision.id for one in narrower}
    assert all("is narrower" in one.how for one in narrower)


def test_what_is_not_in_force_is_explained_from_its_file(place: Workplace) -> None:
    rule = the_rule(place, "MA-01")
    (alone,) = explain(None, date(2026, 3, 2), "MA-01").found

    assert not rule.in_force
    assert (rule.clocks, rule.shows, rule.missing) == ((), (), ())
    assert rule.provision == alone.provision
    with pytest.raises(NoSuchRule):
        explained(place, "Section 99 of nothing")


def test_two_rules_of_one_name_are_both_explained(crew: Crew) -> None:
    put_in_force(crew.mo, "marsh-town", text_of(a_rule("US-441-03", 'trigger = "first_discharge"\ndue = { days = 9 }')))

    both = explained(crew.mo, "US-441-03").found
    one = explained(crew.mo, "marsh-town:US-441-03").found

    assert [found.ordinance for found in both] == ["marsh-town", "us-federal-dental"]
    assert [found.ordinance for found in one] == ["marsh-town"]


def test_the_rule_that_comes_sooner_is_named_beside_the_later_one(crew: Crew) -> None:
    put_in_force(
        crew.mo,
        "marsh-town",
        text_of(a_rule("M-1", 'trigger = "malfunction_found"\ndue = { days = 3 }', duty="repair-separator")),
    )
    inspect_separator(crew.kim, "SEP", "malfunction")

    (clock,) = the_rule(crew.kim, "US-441-03").clocks

    assert not clock.binds
    assert [(other.rule, other.due_on) for other in clock.also] == [("M-1", date(2026, 3, 5))]
    as_json = explained(crew.kim, "US-441-03").as_json()
    assert as_json["found"][0]["clocks"][0]["state"] == "due_soon"
    assert as_json["decides"] == AUTHORITY_DECIDES


def test_a_rule_that_is_set_aside_says_by_whom(crew: Crew) -> None:
    change = (
        '[[override]]\nordinance = "us-federal-dental"\nprovision = "US-441-03"\nreason = "Not here."\n'
        'citation = "Marsh 1"\nconfirmed = true\nset_aside = true\n'
    )
    put_in_force(crew.mo, "marsh-town", text_of(change))
    inspect_separator(crew.kim, "SEP", "malfunction")

    rule = the_rule(crew.kim, "US-441-03")

    assert rule.provision.set_aside
    assert not rule.clocks
    assert rule.shows[0].says == "It is not followed here. Set aside by Marsh Town code (Marsh 1): Not here."


def test_a_report_that_was_filed_and_one_without_its_paper(crew: Crew, watch: Watch) -> None:
    record_milestone(crew.mo, "first_discharge")
    watch.wait(days=2)
    filed = record_duty_done(crew.mo, "US-441-01")

    rule = the_rule(crew.mo, "US-441-01")

    assert not rule.clocks
    assert rule.shows[0].seqs == (filed.seq,)
    assert [one.seqs for one in rule.missing if "without naming the paper" in one.says] == [(filed.seq,)]


def test_a_legacy_unit_that_is_none_says_why_no_day_is_set(crew: Crew) -> None:
    """40 CFR 441.30(a)(1)(iii): only what was installed before 14 June 2017 has to go."""
    rule = the_rule(crew.mo, "US-441-04")

    assert not rule.clocks
    assert any("was not before 14 Jun 2017" in one.says for one in rule.shows)
    assert not rule.missing


def test_records_are_counted_by_their_class_with_their_entries(crew: Crew, watch: Watch) -> None:
    seen = inspect_separator(crew.kim, "SEP", "in order")
    open_pail(crew.mo)
    released(crew.mo)
    watch.wait(days=3 * 366)
    rule = the_rule(crew.mo, "US-441-07")

    said = {one.says.split(":")[0]: one for one in rule.shows}
    assert said["separator inspection"].seqs == (seen.seq,)
    # 40 CFR 441.50(b): three years, so to 2 March 2029; 1,098 days on it is 4 March.
    assert "1 on record, 1 past this rule's term, the last kept to 2 Mar 2029" in said["separator inspection"].says
    assert said["separator repair"].says == "separator repair: none on record."
    assert any(one.says == "Pickups without the number of a document: 1." for one in rule.missing)


def test_a_record_that_another_rule_keeps_longer_says_so(crew: Crew) -> None:
    """40 CFR 441.50(b) keeps an inspection for three years, 310 CMR 73.06(2) for five: the longest counts."""
    put_in_force(crew.mo, "us-massachusetts", find_file("us-massachusetts").read_text("utf-8"))
    inspect_separator(crew.kim, "SEP", "in order")

    shorter, longer = the_rule(crew.mo, "US-441-07"), the_rule(crew.mo, "MA-03")

    assert [one.says for one in shorter.shows if "longer" in one.says] == [
        "MA-03 of Massachusetts dental facility rules (310 CMR 73.00) keeps the last of them longer, to 2 Mar 2031."
    ]
    assert not [one.says for one in longer.shows if "longer" in one.says]


def test_a_rule_for_others_says_for_whom_and_misses_nothing(crew: Crew) -> None:
    with crew.mo.writing() as desk:
        site = a_site(desk.site, specialties=("orthodontics",))
        desk.append(site)

    rule = the_rule(crew.mo, "US-441-06")

    assert not rule.clocks
    assert rule.shows[0].says == (
        "By the register only orthodontics is practised here, so US-441-SCOPE "
        "(40 CFR 441.10(a), (c), (d), (e), (f)) leaves this practice out."
    )
    assert not rule.missing
    assert "it speaks of others" in the_rule(crew.mo, "US-441-SCOPE").shows[0].says


def test_the_one_time_report_is_missed_where_it_is_not_on_record(place: Workplace) -> None:
    assert the_rule(place, "US-441-08").missing[0].says == "one time report: none on record."


def test_a_cleaner_a_separator_and_a_container_are_held_against_their_provisions(crew: Crew) -> None:
    put_in_force(crew.mo, "us-massachusetts", find_file("us-massachusetts").read_text("utf-8"))

    cleaner = the_rule(crew.mo, "US-441-BMP-2")
    removal = the_rule(crew.mo, "US-441-REMOVAL")
    container = the_rule(crew.mo, "MA-CONTAINER")

    assert cleaner.shows[0].says.startswith("Cleaner mild: By the register this provision says nothing against it")
    assert removal.missing[0].says == "Separator SEP: how much it holds back is not entered."
    assert any("features" in one.says for one in container.missing)
    with crew.mo.writing() as desk:
        desk.append(a_separator(removal_permille=940))
    assert (
        the_rule(crew.mo, "US-441-REMOVAL").missing[0].says == "Separator SEP: 94 percent is entered, below 95 percent."
    )


def test_whom_it_covers_says_what_the_register_leaves_open(place: Workplace) -> None:
    scope = the_rule(place, "US-441-SCOPE")

    assert scope.shows[0].says == "By the register nothing leaves this practice out."
    assert [one.says for one in scope.missing if "specialties" in one.says]


def test_evidence_rests_on_entries_of_the_kind_it_names(crew: Crew) -> None:
    with crew.mo.writing() as desk:
        appended = desk.append(an_inspection("attention"))
        desk.append(a_repair())
    rule = the_rule(crew.mo, "US-441-06")

    seqs = [seq for one in (*rule.shows, *rule.missing) for seq in one.seqs]
    assert appended.entry.seq in seqs
    with crew.mo.reading() as reader:
        assert isinstance(reader.get_entry(rule.shows[0].seqs[0]).body, SeparatorInspection)


def test_a_day_that_has_passed_is_missing(crew: Crew, watch: Watch) -> None:
    open_pail(crew.mo)
    left = released(crew.mo)
    on_the_day = the_rule(crew.mo, "OFFICE-RECEIPT-30")
    watch.wait(days=31)

    after = the_rule(crew.mo, "OFFICE-RECEIPT-30")

    assert not on_the_day.missing
    assert on_the_day.looked_for == ("days that have passed",)
    assert [(one.says, one.seqs) for one in after.missing] == [
        ("pickup P-1: 1 Apr 2026 has passed, and nothing on record answers it.", (left.seq,))
    ]


def test_a_practice_is_held_against_what_its_file_says_shows_it(crew: Crew, watch: Watch) -> None:
    """40 CFR 441.30(a)(1)(ii) asks that the separator is large enough, which only a person can state."""
    before = the_rule(crew.mo, "US-441-SIZE")
    stated = record_statement(crew.mo, "sized_for_peak_flow")
    after = the_rule(crew.mo, "US-441-SIZE")
    watch.wait(days=1)
    undone = record_statement(crew.mo, "sized_for_peak_flow", holds=False, why="Two chairs were added.")
    taken_back = the_rule(crew.mo, "US-441-SIZE")

    assert [one.says for one in before.missing] == [
        (
            "There is no statement (sized for peak flow) on record. "
            "It is recorded with wasteledger statement sized_for_peak_flow."
        )
    ]
    assert before.looked_for == ("statement (sized for peak flow)",)
    assert not after.missing
    assert after.shows[0].seqs == (stated.seq,)
    assert not taken_back.shows
    assert taken_back.missing[0].seqs == (undone.seq,)
    assert "Two chairs were added" in taken_back.missing[0].says


def test_trainings_and_papers_show_a_practice(crew: Crew) -> None:
    wants = (
        '[[practice]]\nid = "M-{}"\ntitle = "T"\nasks = "It asks."\ncitation = "Marsh Town {}"\nshown_by = ["{}"]\n'
        + SAID.format(confirmed="true")
    )
    tables = [wants.format(*one) for one in ((1, 1, "training"), (2, 2, "contract"))]
    bare = f'[[practice]]\nid = "M-3"\ntitle = "T"\nasks = "A."\ncitation = "C"{SAID.format(confirmed="true")}'
    put_in_force(crew.mo, "marsh-town", text_of(*tables, bare))
    assert [len(the_rule(crew.mo, name).missing) for name in ("M-1", "M-2", "M-3")] == [1, 1, 0]

    trained = record_training(crew.mo, ("kim",), ("handling",))
    filed = file_paper(crew.mo, "contract", "Binder 2")

    assert [the_rule(crew.mo, name).shows[-1].seqs for name in ("M-1", "M-2")] == [(trained.seq,), (filed.seq,)]
    assert not the_rule(crew.mo, "M-1").missing
    assert the_rule(crew.mo, "M-3").looked_for == ()
    assert "names no statement, training or paper" in the_rule(crew.mo, "M-3").shows[0].says


def test_a_certificate_that_the_register_has_on_file_is_not_missing(crew: Crew) -> None:
    """40 CFR 441.30(a)(1)(i) names the standards; that a certificate is there stands in the separator's own line."""
    before = the_rule(crew.mo, "US-441-STANDARD")
    with crew.mo.writing() as desk:
        line = desk.append(a_separator(certificate_on_file=True))

    after = the_rule(crew.mo, "US-441-STANDARD")

    assert [one.says.split(".")[0] for one in before.missing] == ["There is no paper (certificate) on record"]
    assert not after.missing
    assert [(one.says, one.seqs) for one in after.shows] == [
        ("Separator SEP: certificate on file, by the register.", (line.entry.seq,))
    ]


def test_what_shows_a_practice_is_what_the_journal_can_record() -> None:
    papers = {one.value for one in PaperKind}
    assert {one.value for one in ShownBy} - papers - {"training"} == {one.value for one in StatementTopic}


def test_the_gaps_of_the_last_year_are_shown_where_a_duty_comes_back(crew: Crew, watch: Watch) -> None:
    """Looks on 2, 9, 10 and 31 March and 7 April 2026: gaps of 7, 1, 21 and 7 days against a week."""
    rule = a_rule(
        "M-1",
        'trigger = ["separator_installed", "separator_inspected"]\nrecurs = true\ndue = { days = 7 }',
        duty="inspect-separator",
    )
    put_in_force(crew.mo, "marsh-town", text_of(rule))
    seqs = []
    for days in (0, 7, 1, 21, 7):
        watch.wait(days=days)
        seqs.append(inspect_separator(crew.kim, "SEP", "in order").seq)

    irregular = the_rule(crew.kim, "M-1")

    # The first gap is that from the installation, on 1 January 2026, to the first look.
    assert [(one.says, one.seqs) for one in irregular.missing] == [
        (
            (
                "separator SEP: 5 gaps ended in the last 12 months, 2 of them longer than 7 days; "
                "the longest 60 days, from 1 Jan 2026 to 2 Mar 2026."
            ),
            (seqs[0], seqs[3]),
        )
    ]
    assert "gaps of the last 12 months that were longer than its interval" in irregular.looked_for

    watch.wait(days=7)
    for _ in range(53):
        inspect_separator(crew.kim, "SEP", "in order")
        watch.wait(days=7)
    regular = the_rule(crew.kim, "M-1")

    assert not regular.missing
    assert any("none longer than 7 days; the longest 7 days" in one.says for one in regular.shows)


def test_what_was_filed_for_another_rule_of_the_ordinance_does_not_show_this_one(crew: Crew, watch: Watch) -> None:
    once = a_rule("M-1", 'trigger = "first_discharge"\ndue = { days = 60 }', duty="certify", citation="Marsh Town 2")
    yearly = a_rule(
        "M-2",
        'trigger = ["in_force", "duty_done"]\nrecurs = true\ndue = { each = "03-31", opens = "01-01" }',
        duty="certify",
    )
    put_in_force(crew.mo, "marsh-town", text_of(once, yearly))
    record_milestone(crew.mo, "first_discharge")
    watch.wait(days=1)
    filed = record_duty_done(crew.mo, "M-2", document="Receipt 3")

    assert not [one for one in the_rule(crew.mo, "M-1").shows if filed.seq in one.seqs]
    assert [one.seqs for one in the_rule(crew.mo, "M-2").shows] == [(filed.seq,)]
    assert [one.due_on for one in the_rule(crew.mo, "M-1").clocks] == [date(2026, 5, 1)]


def test_a_rule_that_keeps_a_record_longer_is_named_with_its_doubt(crew: Crew) -> None:
    unread = a_rule(
        "M-9",
        'trigger = "record_made"\ndue = { years = 9 }\nrecords = "separator_inspection"\nconfirmed_note = "Heard."',
        duty="keep-records",
        confirmed="false",
    ).replace('kind = "deadline"', 'kind = "retention"')
    put_in_force(crew.mo, "marsh-town", text_of(unread))
    inspect_separator(crew.kim, "SEP", "in order")

    (longer,) = [one.says for one in the_rule(crew.mo, "US-441-07").shows if "longer" in one.says]

    assert longer.startswith("M-9 of Marsh Town code (NOT CONFIRMED) keeps the last of them longer")
