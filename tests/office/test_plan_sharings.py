"""Which streams may lie together: a plan's own answers, the ordinances' rules over them, and whose word decides."""

from __future__ import annotations

from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.office.makers import PLAN
from tests.office.test_plan import details, faults
from wasteledger.model.streams import Sharing, SharingMatrix
from wasteledger.office.plan import Plan, read_plan
from wasteledger.office.plan_sharings import lay_rules_over
from wasteledger.ordinance import Level, Ordinance, Override, in_force, sharing_rules
from wasteledger.ordinance.rules import SharingRule
from wasteledger.ordinance.words import Together

STATE = """\
schema = 1
[ordinance]
id = "state"
title = "State scrap rules"
authority = "State"
level = "state"
version = "1"
dated_on = 2026-01-01
source = "Invented for a test"

[[sharing]]
id = "S-1"
title = "Traps"
asks = "Traps and sludge apart."
streams = ["traps", "sludge"]
together = "no"
citation = "ECL 99-0101"
source = "Invented for a test"
read_on = "2026-11"
confirmed = true

[[sharing]]
id = "S-2"
title = "Teeth"
asks = "Teeth with contact scrap only by letter."
streams = ["teeth", "contact"]
together = "yes"
citation = "ECL 99-0102"
source = "Invented for a test"
read_on = "2026-11"
confirmed = false
confirmed_note = "Told by telephone."
"""

DISTRICT = """\
schema = 1
[ordinance]
id = "district"
title = "River district"
authority = "River district"
level = "local"
version = "1"
dated_on = 2026-01-01
source = "Invented for a test"

[[override]]
ordinance = "state"
provision = "S-1"
reason = "The district's plant takes both together."
citation = "Letter of 2 March 2026"
confirmed = true
together = "yes"

[[override]]
ordinance = "state"
provision = "S-2"
reason = "The district's plant wants each tooth lidded."
citation = "Letter of 2 March 2026"
confirmed = false
confirmed_note = "Told by telephone."
together = "own_lid"
"""

MIXED = '\n[[container_types]]\nref = "mixed"\nname = "Mixed"\nstreams = ["{}", "{}"]\n'


def a_plan(beside: Path, *ordinances: tuple[str, str], more: str = "") -> str:
    """The plan of these tests with those ordinance files beside it and in force."""
    (beside / "ordinances").mkdir()
    for stem, text in ordinances:
        (beside / "ordinances" / f"{stem}.toml").write_text(text)
    names = ", ".join(f'"{stem}"' for stem, _ in ordinances)
    without_own = "\n".join(line for line in PLAN.splitlines() if not line.startswith("ordinances"))
    return f"ordinances = [{names}]\n{without_own}\n{more}"


def shares(plan: Plan, stream: str) -> dict[str, str]:
    return dict(details(plan, "stream", stream).shares)


def test_a_stricter_rule_wins_over_the_plan_s_own_answer_and_is_named(tmp_path: Path) -> None:
    text = a_plan(tmp_path, ("state", STATE))

    plan = read_plan(text, beside=tmp_path)

    assert (shares(plan, "traps")["sludge"], shares(plan, "sludge")["traps"]) == ("no", "no")
    for stream, other in (("traps", "sludge"), ("sludge", "traps")):
        last_line = details(plan, "stream", stream).origin.splitlines()[-1]
        assert last_line == f"With “{other}”: no (State scrap rules, ECL 99-0101)."
    assert details(plan, "stream", "traps").origin.startswith("Default. Oxford")


def test_a_looser_rule_leaves_the_plan_s_own_answer(tmp_path: Path) -> None:
    plan = read_plan(a_plan(tmp_path, ("state", STATE)), beside=tmp_path)

    assert shares(plan, "teeth")["contact"] == "ask"
    assert "ECL 99-0102" not in details(plan, "stream", "teeth").origin


def test_container_types_are_held_against_the_rule(tmp_path: Path) -> None:
    own_types = MIXED.format("traps", "sludge")

    (fault,) = faults(a_plan(tmp_path, ("state", STATE), more=own_types), beside=tmp_path)

    assert "“sludge” and “traps” may not share a container (no)" in fault


def test_a_nearer_override_wins_whether_looser_or_not_and_names_both(tmp_path: Path) -> None:
    more = MIXED.format("traps", "sludge")

    plan = read_plan(a_plan(tmp_path, ("state", STATE), ("district", DISTRICT), more=more), beside=tmp_path)

    assert shares(plan, "sludge")["traps"] == "yes"
    assert details(plan, "stream", "traps").origin.splitlines()[-1] == (
        "With “sludge”: yes (River district, Letter of 2 March 2026, laid over State scrap rules, ECL 99-0101)."
    )
    assert shares(plan, "teeth")["contact"] == "own_lid"
    assert details(plan, "stream", "teeth").origin.splitlines()[-1] == (
        "With “contact”: own_lid (River district, Letter of 2 March 2026 (not confirmed), "
        "laid over State scrap rules, ECL 99-0102 (not confirmed))."
    )


def test_a_rule_that_is_set_aside_decides_nothing(tmp_path: Path) -> None:
    aside = DISTRICT.replace('together = "yes"', "set_aside = true")

    plan = read_plan(a_plan(tmp_path, ("state", STATE), ("district", aside)), beside=tmp_path)

    assert shares(plan, "traps")["sludge"] == "own_lid"
    assert "ECL 99-0101" not in details(plan, "stream", "traps").origin


def test_a_pair_that_the_plan_leaves_out_is_added_where_a_rule_speaks_of_it(tmp_path: Path) -> None:
    own = '[[streams]]\nref = "sludge"\nname = "s"\n[[streams]]\nref = "traps"\nname = "t"\n'
    bare = 'ordinances = ["state"]\n[site]\nref = "elm"\nname = "Elm"\ntime_zone = "UTC"\n'
    a_plan(tmp_path, ("state", STATE))

    plan = read_plan(bare + own, beside=tmp_path)

    assert shares(plan, "sludge") == {"traps": "no"}
    assert details(plan, "stream", "sludge").origin == "With “traps”: no (State scrap rules, ECL 99-0101)."


def test_without_rules_the_plan_s_own_answers_stand() -> None:
    plan = read_plan(PLAN)

    assert shares(plan, "traps")["contact"] == "yes"
    assert "With “" not in details(plan, "stream", "traps").origin


# -- laws of laying over -----------------------------------------------------------------------------------------------

WORDS = {"a": "A", "b": "B", "c": "C"}


def a_sharing(identity: str, streams: tuple[str, str], together: Together) -> SharingRule:
    return SharingRule(
        id=identity,
        title="Title",
        asks="As it says.",
        citation=f"Section {identity}",
        source="Invented for a test",
        read_on="2026-11",
        confirmed=True,
        streams=streams,
        together=together,
    )


def with_sharings(
    identity: str, *rules: SharingRule, level: Level = Level.STATE, overrides: tuple[Override, ...] = ()
) -> Ordinance:
    return Ordinance(
        id=identity,
        title=identity,
        authority="Invented",
        level=level,
        version="1",
        dated_on=date(2026, 1, 1),
        source="Invented for a test",
        sharings=rules,
        overrides=overrides,
    )


def pairs() -> st.SearchStrategy[tuple[str, str]]:
    return st.sampled_from([("a", "b"), ("b", "a"), ("b", "c"), ("a", "z")])


def matrices() -> st.SearchStrategy[SharingMatrix]:
    drawn = st.dictionaries(pairs().map(frozenset), st.sampled_from(Sharing))
    return drawn.map(lambda found: SharingMatrix(WORDS, found))


def ordinances() -> st.SearchStrategy[list[Ordinance]]:
    rules = st.lists(st.tuples(pairs(), st.sampled_from(Together)), max_size=3)
    return st.lists(rules, max_size=3).map(
        lambda drawn: [
            with_sharings(f"o{place}", *(a_sharing(f"R-{n}", *one) for n, one in enumerate(of_one)))
            for place, of_one in enumerate(drawn)
        ]
    )


def strictness(sharing: Sharing) -> int:
    return list(Sharing).index(sharing)


@given(matrices(), ordinances())
def test_more_rules_never_loosen_an_answer(matrix: SharingMatrix, forces: list[Ordinance]) -> None:
    laid, origins = lay_rules_over(matrix, sharing_rules(forces))
    fewer, _ = lay_rules_over(matrix, sharing_rules(forces[:-1]))

    for one, other in (("a", "b"), ("b", "c"), ("a", "c")):
        assert strictness(laid.between(one, other)) >= strictness(fewer.between(one, other))
        assert strictness(laid.between(one, other)) >= strictness(matrix.between(one, other))
        if frozenset((one, other)) not in origins:
            assert laid.between(one, other) is matrix.between(one, other)


@given(matrices(), ordinances())
def test_order_of_the_ordinances_changes_no_answer(matrix: SharingMatrix, forces: list[Ordinance]) -> None:
    forward, _ = lay_rules_over(matrix, sharing_rules(forces))
    backward, _ = lay_rules_over(matrix, sharing_rules(forces[::-1]))

    assert forward.pairs == backward.pairs


@pytest.mark.parametrize(("other_says", "result"), [(Together.NO, Sharing.NO), (Together.YES, Sharing.YES)])
def test_an_override_speaks_for_the_rule_that_it_names_and_for_no_other_ordinance(
    other_says: Together, result: Sharing
) -> None:
    override = Override(
        ordinance="state",
        provision="R-1",
        reason="The plant takes both.",
        citation="Letter",
        confirmed=True,
        together=Together.YES,
    )
    forces = in_force(
        [
            with_sharings("federal", a_sharing("F-1", ("b", "a"), other_says), level=Level.FEDERAL),
            with_sharings("state", a_sharing("R-1", ("a", "b"), Together.NO)),
            with_sharings("district", level=Level.LOCAL, overrides=(override,)),
        ]
    )

    laid, origins = lay_rules_over(SharingMatrix(WORDS, {}), sharing_rules(forces))

    assert laid.between("a", "b") is result
    assert any(origin.startswith("district, Letter, laid over state") for origin in origins[frozenset("ab")]) == (
        result is Sharing.YES
    )


def test_words_of_an_ordinance_and_of_a_plan_are_the_same() -> None:
    assert [together.value for together in Together] == [sharing.value for sharing in Sharing]
    assert [together.strictness for together in Together] == [0, 1, 2, 3]
