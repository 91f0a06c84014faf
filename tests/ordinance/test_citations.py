"""Section numbers found in citations: the same rule under its later, dead or copied number."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.ordinance.makers import CONVENTIONS, FEDERAL, a_rule, an_ordinance
from wasteledger import resources
from wasteledger.ordinance import citation_keys, find_cited, keys_of, read_ordinance, rule_keys_of, same_rule
from wasteledger.ordinance.rules import Rule

GENERATOR = read_ordinance(resources.find("ordinances/us-federal-generator.toml"))


@pytest.mark.parametrize(
    ("text", "keys"),
    [
        ("40 CFR 262.14(a)(5)", {"40cfr262.14(a)(5)"}),
        ("40 CFR 441.30(b)(1)", {"40cfr441.30(b)(1)"}),
        ("40 C.F.R. § 441.30(b)(1)", {"40cfr441.30(b)(1)"}),
        ("40 CFR §§ 441.30 (b) (1)", {"40cfr441.30(b)(1)"}),
        ("40 cfr 441.30(B)(1)", {"40cfr441.30(b)(1)"}),
        ("40 CFR Part 441", {"40cfr441"}),
        ("310 CMR 73.05", {"310cmr73.05"}),
        ("310 CMR 73.05 (am. 2016, 2021)", {"310cmr73.05"}),
        ("6 NYCRR 374-4.2(b)", {"6nycrr374-4.2(b)"}),
        ("6 NYCRR Subpart 374-4", {"6nycrr374-4"}),
        ("R 338.11817(3)", {"r338.11817(3)"}),
        ("Mich. Admin. Code R 338.11817(3)", {"r338.11817(3)"}),
        ("N.J.A.C. 7:14A-21.12", {"njac7:14a-21.12"}),
        ("10 V.S.A. § 7110", {"10vsa7110"}),
        ("38 M.R.S. 1661", {"38mrs1661"}),
        ("38 M.R.S. 1661, 1667 (2003)", {"38mrs1661", "38mrs1667"}),
        ("N.H. Code Admin. R. Env-Wq 306.04(f)", {"env-wq306.04(f)"}),
        ("ORS 679.520 (2007)", {"ors679.520"}),
        ("Conn. Gen. Stat. 22a-616(d), 22a-622", {"conngenstat22a-616(d)", "conngenstat22a-622"}),
        ("R.I.G.L. 23-24.9-9.2", {"rigl23-24.9-9.2"}),
        ("ECL 27-0926", {"ecl27-0926"}),
        ("Minn. R. 7045.0298", {"minnr7045.0298"}),
        ("OAC 3745-52-42(B)", {"oac3745-52-42(b)"}),
        ("NR 229.05(1)(a)", {"nr229.05(1)(a)"}),
        ("KrWG 49", {"krwg49"}),
        ("SI 2025/1189", {"si2025/1189"}),
        ("O. Reg. 205/94, as amended by O. Reg. 196/03", {"oreg205/94"}),
        ("O.Reg. 205/94", {"oreg205/94"}),
        ("Art. 10(4)", {"art10(4)"}),
        ("reg. 53(4)", {"reg53(4)"}),
    ],
)
def test_number_is_found_however_it_is_written(text: str, keys: set[str]) -> None:
    assert citation_keys(text) == keys


@pytest.mark.parametrize(
    ("text", "keys"),
    [
        ("40 CFR 262.16(b), (c)", {"40cfr262.16(b)", "40cfr262.16(c)"}),
        ("40 CFR 262.40(a); 40 CFR 262.42(b)", {"40cfr262.40(a)", "40cfr262.42(b)"}),
        ("40 CFR 262.40(a), 262.42(b)", {"40cfr262.40(a)", "40cfr262.42(b)"}),
        ("40 CFR 262.42(a)(1) and (2)", {"40cfr262.42(a)(1)", "40cfr262.42(a)(2)"}),
        ("40 CFR 441.30(a)(1)(i), (ii)", {"40cfr441.30(a)(1)(i)", "40cfr441.30(a)(1)(ii)"}),
        ("40 CFR 441.30(a)(1)(i) and (b)", {"40cfr441.30(a)(1)(i)", "40cfr441.30(b)"}),
        ("40 CFR 441.30(a)(1)(i) and (a)(2)", {"40cfr441.30(a)(1)(i)", "40cfr441.30(a)(2)"}),
        # At the first level (i) is the letter after (h), and no Roman number.
        ("40 CFR 262.15(h), (i)", {"40cfr262.15(h)", "40cfr262.15(i)"}),
        ("Art. 10(4)(a), (b)", {"art10(4)(a)", "art10(4)(b)"}),
        ("40 CFR 441.50(a)(1)(i); NR 229.05(1)(a)", {"40cfr441.50(a)(1)(i)", "nr229.05(1)(a)"}),
    ],
)
def test_list_gives_a_key_for_each_of_its_members(text: str, keys: set[str]) -> None:
    assert citation_keys(text) == keys


@pytest.mark.parametrize(
    ("text", "end"),
    [
        ("40 CFR 441.30(a)(2)(i) to (iii)", "40 CFR 441.30(a)(2)(i)"),
        ("40 CFR 441.30(a)(2)(i)–(iii)", "40 CFR 441.30(a)(2)(iii)"),
        ("40 CFR 262.10 to .14", "40 CFR 262.14"),
        ("40 CFR 262.10 through 262.14", "40 CFR 262.10"),
        ("82 FR 27154 to 27178", "82 FR 27154"),
    ],
)
def test_range_is_left_alone_and_is_neither_of_its_ends(text: str, end: str) -> None:
    assert len(citation_keys(text)) == 1
    assert citation_keys(text).isdisjoint(citation_keys(end))


@pytest.mark.parametrize(
    "text",
    [
        "Regulation (EU) 2017/852, Art. 10(4)",
        "Article 10(4) of Regulation (EU) 2017/852",
        "Art. 10(4) of Regulation (EU) No 2017/852 as amended by Regulation (EU) 2024/1849",
    ],
)
def test_article_belongs_to_its_regulation(text: str) -> None:
    assert citation_keys(text) == {"eu2017/852art10(4)"}


def test_regulation_belongs_to_its_instrument() -> None:
    cited = citation_keys("Hazardous Waste (England and Wales) Regulations 2005 (SI 2005/894), reg. 53(4)")

    assert cited == {"si2005/894reg53(4)"}
    assert citation_keys("SI 2005/894, reg. 49").isdisjoint(cited)


@pytest.mark.parametrize(
    "text",
    [
        "Section 4",
        "Letter of the district, 2 March 2026",
        "Permit D-204 of 2024",
        "AbwV, Anhang 50 E(2) 5",
        "BMP 2",
        "Own convention",
        "Told on 12 May 2026",
    ],
)
def test_other_forms_stand_for_themselves(text: str) -> None:
    assert citation_keys(text) == {text.casefold()}
    assert citation_keys(f" {text.upper()}  ") == {text.casefold()}


@given(
    st.integers(1, 50),
    st.integers(1, 999),
    st.integers(1, 99),
    st.lists(st.sampled_from(["a", "b", "1", "12", "ii", "iv"]), max_size=4),
    st.sampled_from(["{v} CFR {n}", "{v} C.F.R. {n}", "{v} CFR § {n}", "{v} cfr {n}", "see {v} CFR {n}, and the note"]),
)
def test_any_federal_number_is_found_in_every_dress(
    volume: int, part: int, section: int, paragraphs: list[str], dress: str
) -> None:
    number = f"{part}.{section}" + "".join(f"({one})" for one in paragraphs)

    assert citation_keys(dress.format(v=volume, n=number)) == {f"{volume}cfr{number}"}


@given(st.text())
def test_any_text_has_a_key(text: str) -> None:
    assert citation_keys(text)


def cited(citation: str, *others: str) -> Rule:
    return replace(a_rule("R-1"), citation=citation, also_cited_as=others)


def test_dead_and_later_number_of_one_rule_are_one_rule() -> None:
    # 81 FR 85732 moved 40 CFR 261.5(g)(3) to 262.14(a)(5); 40 CFR 441.50(b)(3) still cites the dead number.
    old_paper = cited("40 CFR 261.5(g)(3)")
    now = cited("40 CFR § 262.14(a)(5)", "40 CFR 261.5(g)(3)")
    other = cited("40 CFR 262.14(a)(4)")

    assert same_rule(old_paper, now)
    assert same_rule(now, old_paper)
    assert not same_rule(now, other)
    assert keys_of(now) == {"40cfr262.14(a)(5)", "40cfr261.5(g)(3)"}


@pytest.mark.parametrize("text", ["Section 4", "Art. 10(4)", "reg. 49", "Letter of 2 March 2026"])
def test_number_without_its_code_joins_no_two_rules(text: str) -> None:
    assert keys_of(cited(text))
    assert rule_keys_of(cited(text)) == frozenset()
    assert not same_rule(cited(text), cited(text))


def test_rule_is_found_by_its_number_and_by_a_dead_one() -> None:
    def found(text: str) -> list[str]:
        return [said.provision.id for said in find_cited([FEDERAL, GENERATOR, CONVENTIONS], text)]

    assert found("40 CFR 441.30(a)(1)(v)") == ["US-441-03"]
    assert found("40 C.F.R. § 441.30(a)(1)(v)") == ["US-441-03"]
    assert found("441.30(a)(1)(v)") == ["US-441-03"]
    assert found("§ 441.30(a)(1)(v)") == ["US-441-03"]
    # 40 CFR 441.50(b) only refers to that number, and is another clause.
    assert found("40 CFR 261.5(g)(3)") == found("40 CFR 262.14(a)(5)") == ["US-RCRA-VSQG-DELIVERY"]
    assert found("261.5(g)(3)") == found("40 CFR 261.5(g)(3)")
    assert found("own convention")
    assert found("40 CFR 999.1") == []
    assert found("999.1") == []


def test_what_lies_beneath_a_number_is_found_where_nothing_has_it() -> None:
    ids = [said.provision.id for said in find_cited([FEDERAL], "40 CFR 441.50")]

    assert {"US-441-01", "US-441-02", "US-441-07", "US-441-08"} <= set(ids)
    assert "US-441-03" not in ids
    assert [said.provision.id for said in find_cited([FEDERAL], "441.50")] == ids
    # 441.5 is no part of 441.50.
    assert find_cited([FEDERAL], "40 CFR 441.5") == ()


def test_found_provision_names_its_ordinance() -> None:
    twins = [an_ordinance("one", cited("ECL 27-0926")), an_ordinance("two", cited("ECL § 27-0926"))]

    assert [said.ordinance.id for said in find_cited(twins, "ECL 27-0926")] == ["one", "two"]
