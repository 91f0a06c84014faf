"""The ordinances themselves: which there are, what one says, what is wrong in one, what one comes to here."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from tests.makers import Watch, a_repair, a_separator, an_inspection
from tests.office.makers import Crew, open_pail, released
from tests.office.places import A_LOCAL_RULE
from tests.office.test_duties import put_in_force
from wasteledger import settings
from wasteledger.model.entries import SeparatorInspection
from wasteledger.office.duties import record_duty_done
from wasteledger.office.explaining import Explained, Explanation, NoSuchRule, explain
from wasteledger.office.ordinance_check import Check, check_files
from wasteledger.office.ordinances import (
    ListedOrdinance,
    NoSuchOrdinance,
    ShownOrdinance,
    list_ordinances,
    ordinance_files,
    show_ordinance,
)
from wasteledger.office.provision_words import AUTHORITY_DECIDES, says, shown
from wasteledger.office.separator import inspect_separator, repair_separator
from wasteledger.office.swaps import record_milestone
from wasteledger.office.workplace import Workplace
from wasteledger.ordinance import BadOrdinance, read_ordinance
from wasteledger.resources import find

HEAD = """
schema = 1
[ordinance]
id = "{ref}"
title = "{title}"
authority = "Invented authority"
level = "{level}"
version = "1"
dated_on = 2025-01-01
source = "Invented for a test"
"""

SAID = """
source = "Invented for a test"
read_on = "2026-11"
confirmed = {confirmed}
"""


def text_of(*tables: str, ref: str = "marsh-town", title: str = "Marsh Town code", level: str = "local") -> str:
    return HEAD.format(ref=ref, title=title, level=level) + "".join(tables)


def a_rule(
    name: str,
    more: str,
    *,
    citation: str = "Marsh Town 1",
    duty: str = "own-paint",
    confirmed: str = "true",
) -> str:
    said = SAID.format(confirmed=confirmed)
    return (
        f'[[rule]]\nid = "{name}"\ntitle = "Rule {name}"\nasks = "It asks."\nkind = "deadline"\nduty = "{duty}"\n'
        f'citation = "{citation}"{said}{more}\n'
    )


def listed(place: Workplace | None) -> dict[str, ListedOrdinance]:
    if place is None:
        return {one.id: one for one in list_ordinances(None).ordinances}
    with place.reading() as reader:
        return {one.id: one for one in list_ordinances(reader).ordinances}


def showing(place: Workplace, name: str, on: date | None = None) -> ShownOrdinance:
    with place.reading() as reader:
        return show_ordinance(name, reader, on=on)


def explained(place: Workplace, wanted: str) -> Explanation:
    with place.reading() as reader:
        return explain(reader, place.today(), wanted)


def the_rule(place: Workplace, wanted: str) -> Explained:
    (found,) = explained(place, wanted).found
    return found


def checked(folder: Path, *texts: str) -> Check:
    paths = [folder / f"file{place}.toml" for place, _ in enumerate(texts, 1)]
    for path, text in zip(paths, texts, strict=True):
        path.write_text(text, "utf-8")
    return check_files(paths)


# -- list and show -----------------------------------------------------------------------------------------------------


def test_the_list_says_which_are_in_force_and_how_many_were_not_read(place: Workplace) -> None:
    found = listed(place)

    federal = found["us-federal-dental"]
    assert (federal.in_force, federal.origin, federal.file) == (True, "shipped", "us-federal-dental.toml")
    assert federal.unconfirmed == sum(
        not one.confirmed for one in read_ordinance(find_file("us-federal-dental")).provisions
    )
    assert federal.unconfirmed > 0
    assert not found["us-massachusetts"].in_force
    assert {one.id for one in found.values() if one.in_force} == {"us-federal-dental", "office-conventions"}
    assert len(found) >= len(ordinance_files())


def find_file(stem: str) -> Path:
    return find(f"ordinances/{stem}.toml")


def test_the_list_goes_from_the_widest_to_the_nearest() -> None:
    levels = [one.level for one in list_ordinances(None).ordinances]
    order = ["union", "federal", "national", "state", "local", "office"]
    assert levels == sorted(levels, key=order.index)
    assert list_ordinances(None).site is None
    assert not any(one.in_force for one in list_ordinances(None).ordinances)


def test_a_text_in_force_whose_file_is_not_here_is_listed_from_the_register(crew: Crew) -> None:
    put_in_force(crew.mo, "river-district", A_LOCAL_RULE)

    line = listed(crew.mo)["river-district"]

    assert (line.origin, line.file, line.in_force, line.rules) == ("register", "", True, 3)


def test_the_offices_own_file_is_said_to_be_so_and_one_with_faults_stays_in_the_list(
    place: Workplace, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = tmp_path / "own" / "ordinances"
    own.mkdir(parents=True)
    changed = find_file("office-conventions").read_text("utf-8").replace("Office conventions", "Our conventions")
    (own / "office-conventions.toml").write_text(changed, "utf-8")
    (own / "marsh-town.toml").write_text(text_of('colour = "green"\n'), "utf-8")
    monkeypatch.setenv(settings.TEMPLATES, str(own.parent))

    found = listed(place)

    assert (found["office-conventions"].origin, found["office-conventions"].file_differs) == ("own", True)
    # What is in force is what the register has, not what the file says now.
    assert found["office-conventions"].title == "Office conventions"
    assert showing(place, "office-conventions").title == "Office conventions"
    assert showing(place, "office-conventions").file_differs
    assert (found["marsh-town"].faults, found["marsh-town"].origin) == (1, "own")
    with pytest.raises(BadOrdinance, match="colour"):
        show_ordinance("marsh-town", None)


def test_what_is_in_force_is_shown_with_the_change_of_a_nearer_rule(crew: Crew) -> None:
    override = """
[[override]]
ordinance = "us-federal-dental"
provision = "US-441-03"
reason = "The town wants it sooner."
citation = "Marsh Town letter 4"
confirmed = false
confirmed_note = "Told by telephone."
asks = "A separator that does not work is repaired within five business days."
due = { business_days = 5, holidays = "us-federal" }
"""
    put_in_force(crew.mo, "marsh-town", text_of(override))

    found = {one.id: one for one in showing(crew.mo, "us-federal-dental").provisions}
    plain = {one.id: one for one in show_ordinance("us-federal-dental", None).provisions}

    changed = found["US-441-03"]
    assert changed.asks == "A separator that does not work is repaired within five business days."
    assert changed.says[0].startswith("Due 5 business days after")
    assert changed.asks_without == plain["US-441-03"].asks
    assert changed.override.startswith("Changed by Marsh Town code (Marsh Town letter 4): The town wants it sooner.")
    assert "NOT CONFIRMED: Told by telephone." in changed.override
    assert plain["US-441-03"].says[0].startswith("Due 10 business days after")
    assert not plain["US-441-03"].override
    (told,) = showing(crew.mo, "marsh-town").overrides
    assert told.startswith("us-federal-dental:US-441-03: asks instead: A separator that does not work")
    assert "due 5 business days" in told
    assert "NOT CONFIRMED: Told by telephone." in told


def test_a_day_leaves_out_what_does_not_stand_on_it() -> None:
    """Regulation (EU) 2017/852 as amended: an import ban that begins on 1 July 2026 does not stand the day before."""
    before = show_ordinance("eu-2017-852", None, on=date(2026, 6, 30))
    after = show_ordinance("eu-2017-852", None, on=date(2026, 7, 1))

    gone = {one.id for one in before.provisions} - {one.id for one in after.provisions}
    come = {one.id for one in after.provisions} - {one.id for one in before.provisions}
    assert gone
    assert come
    assert set(before.not_on) >= come
    assert set(after.not_on) >= gone
    assert before.as_json()["decides"] == AUTHORITY_DECIDES


def test_an_ordinance_that_is_nowhere_is_refused_with_those_there_are(place: Workplace) -> None:
    with pytest.raises(NoSuchOrdinance) as caught:
        showing(place, "us-atlantis")
    assert "us-federal-dental" in caught.value.hint
    assert showing(place, "us-federal-dental.toml").id == "us-federal-dental"


def test_every_shipped_provision_has_words_its_clause_and_how_sure_it_is() -> None:
    for file in ordinance_files():
        assert file.ordinance is not None, file.path
        for provision in file.ordinance.provisions:
            words = shown(provision)
            assert words.asks
            assert words.citation
            assert words.standing_of_source
            assert words.confirmed != words.standing_of_source.startswith("NOT CONFIRMED: ")
            for line in says(provision):
                assert line.endswith("."), line
                assert not {"compliant", "legal"} & set(line.lower().split())


# -- check -------------------------------------------------------------------------------------------------------------


def test_a_broken_file_gives_every_fault_with_its_line(tmp_path: Path) -> None:
    broken = text_of(
        '[[rule]]\nid = "A"\nduty = "ship-contianer"\nkind = "deadline"\ntitle = "T"\nasks = "It asks."\n'
        'trigger = "container_fulll"\ndue = { days = 0 }\ncitation = "C"\nsource = "S"\nread_on = "2026-13"\n'
        "confirmed = false\n"
    )

    found = checked(tmp_path, broken)

    lines = broken.splitlines()
    assert not found.holds
    assert {(fault.key, lines[fault.line - 1].split(" ")[0]) for fault in found.faults} == {
        ("rule[1].duty", "duty"),
        ("rule[1].trigger", "trigger"),
        ("rule[1].due.days", "due"),
        ("rule[1].read_on", "read_on"),
        ("rule[1].confirmed_note", "[[rule]]"),
    }
    assert not found.files
    assert found.as_json()["holds"] is False


def test_what_does_not_fit_between_two_files_is_a_fault_of_the_one_that_says_it(tmp_path: Path) -> None:
    change = (
        '[[override]]\nordinance = "marsh-town"\nprovision = "NO-SUCH"\nreason = "So."\ncitation = "Hill 1"\n'
        "confirmed = true\nset_aside = true\n"
    )
    hill = text_of(change, ref="hill-state", title="Hill State", level="state")
    marsh = text_of(a_rule("M-1", 'trigger = "first_discharge"\ndue = { days = 9 }'))

    found = checked(tmp_path, hill, marsh)

    (fault,) = found.faults
    assert (fault.file, fault.line) == ("file1.toml", hill.splitlines().index("[[override]]") + 1)
    assert "level state cannot change one of level local" in fault.problem
    assert [one.id for one in found.files] == ["hill-state", "marsh-town"]


def test_the_same_id_twice_is_a_fault(tmp_path: Path) -> None:
    marsh = text_of(a_rule("M-1", 'trigger = "first_discharge"\ndue = { days = 9 }'))

    faults = checked(tmp_path, marsh, marsh).faults

    assert [(fault.file, fault.problem) for fault in faults] == [
        ("file1.toml", "“marsh-town” is in force twice."),
        ("file2.toml", "“marsh-town” is in force twice."),
    ]


def test_a_change_of_a_shipped_rule_is_tried_against_that_rule(tmp_path: Path) -> None:
    change = (
        '[[override]]\nordinance = "us-federal-dental"\nprovision = "{}"\nreason = "So."\ncitation = "Marsh 1"\n'
        "confirmed = true\nset_aside = true\n"
    )
    good, bad = (checked(tmp_path, text_of(change.format(name))) for name in ("US-441-06", "US-441-99"))

    assert good.holds
    assert good.held_against == ("us-federal-dental",)
    assert [fault.key for fault in bad.faults] == ["override of us-federal-dental:US-441-99"]


def test_a_clean_file_is_told_what_to_think_of(tmp_path: Path) -> None:
    marsh = text_of(
        a_rule("M-1", 'trigger = "malfunction_found"\ndue = { business_days = 5, holidays = "moon" }'),
        a_rule(
            "M-2",
            'trigger = "malfunction_found"\ndue = { days = 9 }\nconfirmed_note = "Heard."',
            citation="40 CFR § 441.30(a)(1)(v)",
            duty="repair-separator",
            confirmed="false",
        ),
        '[[label]]\nid = "M-3"\ntitle = "Words"\nasks = "Words."\nlines = ["One"]\nstreams = ["trapps"]\n'
        f'citation = "Marsh Town 3"{SAID.format(confirmed="true")}',
    )

    found = checked(tmp_path, marsh)

    assert found.holds
    told = {one.code: one.says for one in found.findings}
    assert told["not-confirmed"] == "1 of 3 provisions are not confirmed: M-2."
    assert told["unknown-holidays"].startswith("M-1 names the holidays “moon”")
    assert told["unknown-stream"].startswith("M-3 speaks of the stream “trapps”")
    assert told["same-clause"].startswith("M-2 cites the same clause as US-441-03 of US federal dental office rule")
    (stream,) = [one for one in found.findings if one.code == "unknown-stream"]
    assert stream.do == "Perhaps “traps” is meant."


def test_holidays_are_checked_as_what_they_are_and_then_known(tmp_path: Path) -> None:
    moon = tmp_path / "holidays-moon.toml"
    moon.write_text(
        'schema = 1\n[holidays]\nid = "moon"\ntitle = "Moon days"\nsource = "Invented"\nyears = [2026]\n'
        '[[day]]\non = 2026-07-20\nname = "Landing"\n',
        "utf-8",
    )
    marsh = tmp_path / "marsh.toml"
    rule = a_rule("M-1", 'trigger = "malfunction_found"\ndue = { business_days = 5, holidays = "moon" }')
    marsh.write_text(text_of(rule), "utf-8")

    found = check_files([marsh, moon])

    assert [one.sort for one in found.files] == ["ordinance", "holidays"]
    assert "unknown-holidays" not in {one.code for one in found.findings}


def test_a_file_is_tried_with_what_is_in_force_here(place: Workplace, tmp_path: Path) -> None:
    path = tmp_path / "marsh.toml"
    path.write_text(text_of(a_rule("M-1", 'trigger = "first_discharge"\ndue = { days = 9 }')), "utf-8")
    with place.reading() as reader:
        found = check_files([path, find_file("office-conventions")], reader)

    assert found.holds
    assert found.held_against == ("us-federal-dental",)


# -- explain -----------------------------------------------------------------------------------------------------------


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
    assert after.shows[0].says.startswith("Done last on 3 Mar 2026: Separator SEP repaired by Robin")
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
    assert not rule.missing


def test_a_clock_that_everybody_has_and_nothing_started_is_missing(crew: Crew) -> None:
    put_in_force(crew.mo, "river-district", A_LOCAL_RULE)

    looked = the_rule(crew.mo, "river-district:RD-2")
    full = the_rule(crew.mo, "RD-1")

    assert looked.missing[0].says.startswith("No clock runs: nothing shows the last look at the containers.")
    assert "wasteledger done" in looked.missing[0].says
    assert not full.missing
    assert "container close --why full" in full.shows[0].says


def test_a_dead_number_finds_its_rule_and_says_that_it_is_dead(place: Workplace) -> None:
    """81 FR 85732 moved 40 CFR 261.5(g)(3) to 262.14(a)(5) in 2016; 441.50(b)(3) and many forms still print it."""
    dead = the_rule(place, "40 CFR 261.5(g)(3)")
    later = the_rule(place, "§ 262.14(a)(5)")
    own = [one for one in explained(place, "40 CFR 441.50(b)").found if one.provision.id == "US-441-07"]

    assert dead.provision.id == later.provision.id == "US-441-07"
    assert dead.how.startswith("“40 CFR 261.5(g)(3)” is another number of this clause, dead or later")
    assert dead.how.endswith("it is 40 CFR 441.50(b) here.")
    assert later.how
    assert own[0].how == ""


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
    assert any("not before 14 Jun 2017, so it sets no day" in one.says for one in rule.shows)
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
