"""The ordinances themselves: which there are, what one says, what is wrong in one, what one comes to here."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest

from tests.office.makers import Crew
from tests.office.places import A_LOCAL_RULE
from tests.office.rule_files import SAID, a_rule, find_file, put_in_force, text_of
from wasteledger import settings
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
from wasteledger.office.workplace import Workplace
from wasteledger.ordinance import BadOrdinance, read_ordinance

TODAY = date(2026, 11, 25)


def listed(place: Workplace | None) -> dict[str, ListedOrdinance]:
    if place is None:
        return {one.id: one for one in list_ordinances(None).ordinances}
    with place.reading() as reader:
        return {one.id: one for one in list_ordinances(reader).ordinances}


def showing(place: Workplace, name: str, on: date | None = None) -> ShownOrdinance:
    with place.reading() as reader:
        return show_ordinance(name, reader, on=on)


def checked(folder: Path, *texts: str) -> Check:
    paths = [folder / f"file{place}.toml" for place, _ in enumerate(texts, 1)]
    for path, text in zip(paths, texts, strict=True):
        path.write_text(text, "utf-8")
    return check_files(paths, TODAY)


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
    assert told["not-confirmed"] == "Not confirmed, 1 of 2 provisions: M-2."
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

    found = check_files([marsh, moon], TODAY)

    assert [one.sort for one in found.files] == ["ordinance", "holidays"]
    assert found.holds
    (fault,) = check_files([marsh], TODAY).faults
    lines = marsh.read_text("utf-8").splitlines()
    assert lines[fault.line - 1].startswith("due = ")
    assert fault.problem == "M-1 names the holidays “moon”, and no file has them."
    assert "us-federal" in fault.accepted


def test_holidays_of_a_change_that_no_file_has_are_a_fault(tmp_path: Path) -> None:
    change = (
        '[[override]]\nordinance = "us-federal-dental"\nprovision = "US-441-03"\nreason = "So."\n'
        'citation = "Marsh 1"\nconfirmed = true\ndue = { business_days = 5, holidays = "moon" }\n'
    )
    text = text_of(change)

    (fault,) = checked(tmp_path, text).faults

    assert text.splitlines()[fault.line - 1] == "[[override]]"
    assert "“moon”" in fault.problem


def test_a_misspelt_ordinance_is_asked_after_among_all_that_are_there(tmp_path: Path) -> None:
    change = (
        '[[override]]\nordinance = "office-convention"\nprovision = "OFFICE-RECEIPT-30"\nreason = "So."\n'
        'citation = "Marsh 1"\nconfirmed = true\nset_aside = true\n'
    )

    (fault,) = checked(tmp_path, text_of(change)).faults

    assert fault.problem.startswith("There is no ordinance “office-convention”")
    assert fault.accepted.startswith("Perhaps “office-conventions” is meant. There are: ")
    assert "us-massachusetts" in fault.accepted


@pytest.mark.parametrize(
    ("duty", "trigger", "ends"),
    [
        ("own-sweep", '"in_force"', "duty_done"),
        ("test-separator", '["in_force"]', "duty_done or separator_tested"),
        ("look-at-containers", '"in_force"', "containers_looked_at or duty_done"),
        ("clean-lines", '["in_force", "duty_done"]', "line_cleaned"),
        ("own-sweep", '["in_force", "duty_done"]', ""),
        ("clean-lines", '["in_force", "line_cleaned"]', ""),
        ("look-at-containers", '["in_force", "containers_looked_at"]', ""),
        ("ship-stock", '["in_force", "last_pickup"]', ""),
    ],
)
def test_a_clock_that_nothing_ends_is_pointed_out(tmp_path: Path, duty: str, trigger: str, ends: str) -> None:
    lines = f"trigger = {trigger}\ndue = {{ days = 30 }}\nrecurs = true"
    found = checked(tmp_path, text_of(a_rule("M-1", lines, duty=duty)))

    told = [(one.says, one.do) for one in found.findings if one.code == "never-ended"]

    assert found.holds
    says = "M-1 comes back, and nothing that is recorded starts its clock anew: once past, it stays overdue."
    assert told == ([(says, f"Add to its trigger: {ends}.")] if ends else [])


def test_what_is_asked_once_needs_nothing_that_starts_it_anew(tmp_path: Path) -> None:
    once = a_rule("M-1", 'trigger = "in_force"\ndue = { days = 30 }', duty="own-sweep")

    assert "never-ended" not in {one.code for one in checked(tmp_path, text_of(once)).findings}


@pytest.mark.parametrize(
    ("duty", "trigger", "wrong"),
    [
        ("inspect-separator", '["container_full", "separator_inspected"]', ["container_full"]),
        ("inspect-separator", '["in_force", "separator_inspected"]', ["in_force"]),
        ("ship-container", '"separator_installed"', ["separator_installed"]),
        ("clean-lines", '["container_first_waste", "pickup_released"]', ["container_first_waste", "pickup_released"]),
        ("inspect-separator", '["separator_inspected", "separator_installed"]', []),
        ("ship-container", '"container_full"', []),
        ("own-sweep", '"container_full"', []),
    ],
)
def test_a_duty_that_is_done_to_something_else_is_pointed_out(
    tmp_path: Path, duty: str, trigger: str, wrong: list[str]
) -> None:
    found = checked(tmp_path, text_of(a_rule("M-1", f"trigger = {trigger}\ndue = {{ days = 30 }}", duty=duty)))

    told = [one.says for one in found.findings if one.code == "other-subject"]

    assert found.holds
    assert [says.split(" happens to ")[0] for says in told] == [f"M-1: {event}" for event in wrong]


def test_a_file_with_the_id_of_a_shipped_one_is_said_to_take_its_place(tmp_path: Path) -> None:
    shipped = find_file("us-vermont").read_text("utf-8")

    same, changed = checked(tmp_path, shipped), checked(tmp_path, shipped.replace("by 31 January of", "in January of"))

    assert "takes-a-place" not in {one.code for one in same.findings}
    (place,) = [one for one in changed.findings if one.code == "takes-a-place"]
    assert place.says == (
        "Its id “us-vermont” is that of a shipped file: put in force, it takes the place of the shipped file."
    )
    assert changed.holds


def test_no_shipped_file_has_a_clock_that_nothing_ends() -> None:
    found = check_files([file.path for file in ordinance_files()], TODAY)

    assert {one.code for one in found.findings} <= {"not-confirmed", "same-clause"}


def test_nothing_was_read_or_dated_after_today(tmp_path: Path) -> None:
    rule = a_rule("M-1", 'trigger = "first_discharge"\ndue = { days = 9 }')
    late = text_of(
        rule.replace('"2026-11"', '"2026-12"'),
        rule.replace("M-1", "M-2").replace('"2026-11"', '"2026-11-26"'),
        rule.replace("M-1", "M-3").replace('"2026-11"', '"2026-11-25"'),
        rule.replace("M-1", "M-4"),
    ).replace("2025-01-01", "2026-11-26")

    told = {one.code: one.says for one in checked(tmp_path, late).findings}

    assert told["dated-later"] == "It is dated 26 Nov 2026, after today (25 Nov 2026)."
    assert told["read-later"] == "Read after today (25 Nov 2026), by read_on: M-1 (2026-12), M-2 (2026-11-26)."


def test_a_file_is_tried_with_what_is_in_force_here(place: Workplace, tmp_path: Path) -> None:
    path = tmp_path / "marsh.toml"
    path.write_text(text_of(a_rule("M-1", 'trigger = "first_discharge"\ndue = { days = 9 }')), "utf-8")
    with place.reading() as reader:
        found = check_files([path, find_file("office-conventions")], TODAY, reader)

    assert found.holds
    assert found.held_against == ("us-federal-dental",)
