"""What a picture shows stands where its values put it, read back from the SVG and from the PDF by other tools."""

from __future__ import annotations

import math
import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from tests.documents import awkward, pictured
from tests.documents.makers import TUESDAY
from tests.documents.reading import by_pypdf, picture
from wasteledger.documents import draw_binder, draw_pictures
from wasteledger.documents.fonts import typefaces
from wasteledger.documents.papers import BadPaper, Basis, Pictures
from wasteledger.documents.papers.pictures import CatchRoom, Course, Fan, Interval, Mark, Measure, Sign, Step
from wasteledger.documents.pictures import svg_files
from wasteledger.settings import Paper

SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class Shape:
    """One shape of an SVG file, in points from the top left corner."""

    tag: str
    places: tuple[tuple[float, float], ...]
    fill: str
    stroke: str
    words: str = ""
    bold: bool = False

    @property
    def middle(self) -> tuple[float, float]:
        xs, ys = [x for x, _ in self.places], [y for _, y in self.places]
        return (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2


@dataclass(frozen=True)
class Sheet:
    """An SVG file that was read back."""

    root: ElementTree.Element
    shapes: tuple[Shape, ...]

    def words(self) -> list[str]:
        return [shape.words for shape in self.shapes if shape.tag == "text"]

    def at(self, words: str) -> tuple[float, float]:
        """Where some words begin."""
        (found,) = [shape for shape in self.shapes if shape.words == words]
        return found.places[0]

    def squares(self) -> list[Shape]:
        """Full marks with level edges, as wide as high."""
        return [one for one in self._full() if one.places[0][1] == one.places[1][1]]

    def lozenges(self) -> list[Shape]:
        """Full marks that stand on a corner."""
        return [one for one in self._full() if one.places[0][1] != one.places[1][1]]

    def rings(self) -> list[Shape]:
        return [shape for shape in self.shapes if shape.tag == "circle"]

    def _full(self) -> list[Shape]:
        return [
            one for one in self.shapes if one.tag == "polygon" and len(one.places) == 4 and one.fill == "rgb(0%,0%,0%)"
        ]


def read(text: str) -> Sheet:
    """Read the text of an SVG file; its one group turns the drawing upside down."""
    root = ElementTree.fromstring(text)
    height = float(root.attrib["height"])
    group = root.find(f"{SVG}g")
    assert group is not None
    assert group.attrib["transform"].split() == ["scale(1,-1)", f"translate(0,-{int(height)})"]
    shapes = []
    for element in group.iter():
        said = element.attrib
        tag = element.tag.removeprefix(SVG)
        match tag:
            case "text":
                numbers = [float(said["x"]), float(said["y"])]
                # Words are turned back about their own baseline.
                assert said["transform"] == f"translate(0,{int(2 * numbers[1])}) scale(1,-1)"
                assert 2 * numbers[1] == int(2 * numbers[1])
            case "circle":
                numbers = [float(said["cx"]), float(said["cy"])]
            case "polygon" | "polyline":
                numbers = [float(number) for number in re.findall(r"-?[\d.]+", said["points"])]
            case "path":
                numbers = [float(number) for number in re.findall(r"-?[\d.]+", said["d"])]
            case _:
                continue
        places = tuple((x, height - y) for x, y in zip(numbers[::2], numbers[1::2], strict=True))
        bold = said.get("font-weight") == "bold"
        shapes.append(Shape(tag, places, said.get("fill", ""), said.get("stroke", ""), element.text or "", bold))
    return Sheet(root, tuple(shapes))


def darkness(page: Path) -> Callable[[float, float], float]:
    """How dark a picture is at a place, from 0 (white) to 1, given one dot to the point."""
    image = Image.open(page).convert("L")

    def dark(x: float, y: float) -> float:
        return 1 - float(np.asarray(image)[round(y), round(x)]) / 255

    return dark


def drawn(pictures: Pictures, name: str) -> Sheet:
    (found,) = [file.text for file in svg_files(pictured.a_paper(pictures)) if file.name == name]
    return read(found)


def of_container(*courses: Course) -> Sheet:
    return drawn(Pictures((pictured.a_container(courses=courses),)), "fullness-C-001")


def height_of(sheet: Sheet, value: float) -> float:
    """Where *value* should stand, found from the lines that two named values of the upright axis stand on."""
    # Years stand under the axis of days; no tick of these pictures is as high.
    named = {float(one.words): one.places[0][1] for one in sheet.shapes if re.fullmatch(r"(?!20\d\d)[\d.]+", one.words)}
    low, high = 0.0, max(named)
    lines = sorted(
        one.places[0][1] for one in sheet.shapes if one.tag == "path" and one.places[0][1] == one.places[1][1]
    )
    bottom, top = (min(lines, key=lambda y, at=named[tick]: abs(y - at)) for tick in (low, high))  # type: ignore[misc]
    return bottom + (value - low) / (high - low) * (top - bottom)


# -- fullness over time ----------------------------------------------------------------------------------------------


def test_levels_that_were_read_stand_at_their_day_and_height() -> None:
    course = pictured.a_level_course(fan=None)
    sheet = of_container(course)

    marks = sheet.lozenges()
    assert len(marks) == len(course.marks) == 6
    span = (course.until_at - course.steps[0].at).total_seconds()
    left, right = 46.0, 522.0  # the plot between its margins on a page of 532 points
    for shape, mark in zip(marks, course.marks, strict=True):
        x, y = shape.middle
        share = (mark.at - course.steps[0].at).total_seconds() / span
        assert x == pytest.approx(left + share * (right - left), abs=0.05)
        assert y == pytest.approx(height_of(sheet, mark.held.value / 10), abs=0.1)
    assert sheet.squares() == []


def test_a_weighing_is_a_square_and_a_level_is_not() -> None:
    sheet = of_container(pictured.a_mass_course())

    assert len(sheet.squares()) == 1
    assert sheet.lozenges() == []
    assert sheet.squares()[0].middle[1] == pytest.approx(height_of(sheet, 300), abs=0.1)
    assert "weighed" in sheet.words()


def test_the_band_reaches_from_the_lower_to_the_upper_end() -> None:
    course = pictured.a_mass_course()
    sheet = of_container(course)

    bands = [one for one in sheet.shapes if one.tag == "polygon" and one.fill == "rgb(80%,80%,80%)"]
    # The weighing parts it in two.
    assert len(bands) == 2
    last = course.steps[-1].held
    ys = [y for _, y in bands[1].places]
    assert min(ys) == pytest.approx(height_of(sheet, last.upper / 1000), abs=0.1)
    first_after = next(step for step in course.steps if step.at > course.marks[0].at)
    assert max(ys) == pytest.approx(height_of(sheet, first_after.held.lower / 1000), abs=0.1)


def test_the_line_is_a_stair_that_holds_until_the_next_step() -> None:
    steps = (Step(pictured.OPENED, pictured.exactly(100)), Step(TUESDAY, pictured.exactly(500)))
    sheet = of_container(
        pictured.a_level_course(steps=steps, marks=(), fan=None, until_at=TUESDAY + timedelta(days=190))
    )

    (line,) = [one for one in sheet.shapes if one.tag == "polyline"]
    heights = [height_of(sheet, percent) for percent in (10, 10, 50, 50)]
    assert [y for _, y in line.places] == pytest.approx(heights, abs=0.1)
    assert line.places[1][0] == line.places[2][0] == pytest.approx((46 + 522) / 2, abs=0.3)


def test_the_fan_leads_to_the_days_that_the_forecast_names() -> None:
    course = pictured.a_level_course()
    sheet = of_container(course)
    assert course.fan is not None

    (fan,) = [one for one in sheet.shapes if one.tag == "polygon" and one.fill == "rgb(88%,88%,88%)"]
    start, early, late = fan.places
    line = height_of(sheet, 100)
    assert start[1] == pytest.approx(height_of(sheet, course.steps[-1].held.value / 10), abs=0.1)
    assert early[1] == late[1] == pytest.approx(line, abs=0.1)
    noon = [datetime(day.year, day.month, day.day, 12) for day in (date(2026, 4, 2), date(2026, 7, 20))]  # noqa: DTZ001
    reach = [(at - course.fan.from_at).total_seconds() for at in noon]
    assert (early[0] - start[0]) / (late[0] - start[0]) == pytest.approx(reach[0] / reach[1], abs=0.001)
    for words in ("10 % by 2 Apr 2026", "50 % by 10 May 2026", "90 % by 20 Jul 2026"):
        assert words in sheet.words()


def test_what_no_day_in_sight_brings_is_said_and_leaves_the_picture_level() -> None:
    course = pictured.a_short_course()
    pictures = Pictures((pictured.a_container(courses=(course,)),))
    sheet = drawn(pictures, "fullness-C-001")

    (fan,) = [one for one in sheet.shapes if one.tag == "polygon" and one.fill == "rgb(88%,88%,88%)"]
    assert fan.places[0][1] == fan.places[-1][1]
    assert fan.places[1][1] > height_of(sheet, 100)
    said = by_pypdf(draw_pictures(pictured.a_paper(pictures)).pdf)
    assert (
        "Full with a chance of 10 % by 1 May 2027; a chance of 50 % is not reached as far as the forecast looks. "
        "From no swap yet."
    ) in " ".join(said.split())


def test_where_no_day_is_in_sight_one_sentence_says_it() -> None:
    course = pictured.a_short_course(fan=pictured.a_look_without_a_day())
    pictures = Pictures((pictured.a_container(courses=(course,)),))

    said = " ".join(by_pypdf(draw_pictures(pictured.a_paper(pictures)).pdf).split())
    assert "The chance that it is full stays below 10 % as far as the forecast looks. From no swap yet." in said
    assert "no day in sight" not in said


def test_what_is_of_unknown_mass_is_never_cut_off() -> None:
    """The last words of a statement went missing where it was too long for one line."""
    says = (
        "about 1.23 kg, between 0.91 kg and 1.64 kg (95 %), estimate, of which 0.81200 kg weighed, and 4 pieces of "
        "unknown mass"
    )
    sheet = of_container(pictured.a_mass_course(says=says))
    assert says in " ".join(sheet.words())

    short = "about 1230 g, between 910 g and 1640 g, and 4 pieces of unknown mass"
    room = pictured.a_catch().rooms[0]
    rooms = (replace(room, total=replace(room.total, says=short)), *pictured.a_catch().rooms[1:])
    catch = pictured.a_catch(rooms=rooms)
    paper = pictured.a_paper(Pictures((), catch))
    assert short in " ".join(by_pypdf(draw_pictures(paper).pdf).split())
    assert draw_pictures(paper).findings == ()


def test_a_course_close_to_its_limit_shows_the_limit_and_one_far_from_it_does_not() -> None:
    assert "limit of mass" in of_container(pictured.a_heavy_course()).words()
    assert "limit of mass" not in of_container(pictured.a_mass_course()).words()


def test_it_says_whether_it_is_an_estimate() -> None:
    sheet = of_container(pictured.a_mass_course())

    assert "about 690 g, between 530 g and 930 g (95 %), estimate" in sheet.words()


@pytest.mark.parametrize(
    ("steps", "until_at"),
    [
        ((), TUESDAY),
        ((Step(TUESDAY, pictured.exactly(1)), Step(pictured.OPENED, pictured.exactly(1))), TUESDAY),
        ((Step(TUESDAY, pictured.exactly(1)),), pictured.OPENED),
    ],
)
def test_a_course_out_of_order_is_refused(steps: tuple[Step, ...], until_at: datetime) -> None:
    with pytest.raises(BadPaper):
        Course(Measure.LEVEL, steps, until_at)


def test_a_look_ahead_to_nothing_is_refused() -> None:
    with pytest.raises(BadPaper, match="wants a mark"):
        pictured.a_level_course(fan=Fan(TUESDAY, 0, None, None, None))


@pytest.mark.parametrize("ends", [(5, 6, 7), (5, 1, 4), (-1, -2, 3)])
def test_a_value_outside_its_interval_is_refused(ends: tuple[int, int, int]) -> None:
    with pytest.raises(BadPaper, match="does not lie between"):
        Interval(*ends)


# -- catch by room and trap ------------------------------------------------------------------------------------------


def test_each_trap_has_its_row_mark_and_interval() -> None:
    catch = pictured.a_catch()
    sheet = drawn(Pictures(catch=catch), "catch")

    rows = [row for room in catch.rooms for row in (room.total, *room.traps)]
    shown = [row for row in rows if row.basis is not Basis.NONE]
    marks = sorted([*sheet.squares(), *sheet.rings()], key=lambda one: one.middle[1])
    assert [mark.tag == "circle" for mark in marks] == [row.basis is Basis.ESTIMATE for row in shown]
    names = [one.places[0][1] for one in sheet.shapes if one.words in {row.name for row in shown}]
    assert [mark.middle[1] for mark in marks] == pytest.approx(names, abs=5)
    # Equal ratios are equally far apart: 30 g, 100 g and 1 kg stand on lines of the scale.
    lines = sorted({one.places[0][0] for one in sheet.shapes if one.tag == "path" and one.stroke == "rgb(85%,85%,85%)"})
    a_decade = (lines[-1] - lines[0]) / math.log10(1_000_000 / 30_000)
    for mark, row in zip(marks, shown, strict=True):
        ahead = math.log10(row.caught.value / 30_000) * a_decade
        assert mark.middle[0] == pytest.approx(lines[0] + ahead, abs=0.1)
    whiskers = [one for one in sheet.shapes if one.tag == "path" and one.stroke == "rgb(35%,35%,35%)"]
    assert len(whiskers) == len(shown)
    for line, row in zip(sorted(whiskers, key=lambda one: one.middle[1]), shown, strict=True):
        wide = math.log10(row.caught.upper / row.caught.lower) * a_decade
        assert line.places[1][0] - line.places[0][0] == pytest.approx(wide, abs=0.1)


def test_rooms_stand_out_and_nothing_swapped_has_no_mark() -> None:
    sheet = drawn(Pictures(catch=pictured.a_catch()), "catch")

    bold = {one.words for one in sheet.shapes if one.bold}
    assert {"Room 1", "Room 2", "Room 3", "Room 4"} <= bold
    assert "R2-H, high-volume trap" not in bold
    assert sheet.words().count("no swap") == 2


def test_a_long_round_goes_on_over_the_page_with_its_scale() -> None:
    printed = draw_pictures(pictured.a_paper(Pictures(catch=pictured.a_catch(30))))
    said = by_pypdf(printed.pdf)

    assert printed.pages == 3
    assert said.count("Debris without the traps’ bodies") == 3
    for number in range(1, 31):
        assert f"Room {number} " in said


# -- stated against received -----------------------------------------------------------------------------------------


def test_each_container_stands_at_what_was_received_and_stated() -> None:
    points = pictured.some_points()
    sheet = drawn(Pictures(received=points), "received")

    (rising,) = [
        one
        for one in sheet.shapes
        if one.tag == "path" and one.places[0][0] != one.places[1][0] and one.places[0][1] != one.places[1][1]
    ]
    (x0, y0), (x1, y1) = rising.places

    def up(x: float) -> float:
        """The height at which the line of equal masses stands over *x*."""
        return y0 + (x - x0) / (x1 - x0) * (y1 - y0)

    decade = (x1 - x0) / math.log10(1_600 * 1.6 * 1.6 * 3_000_000 / (6_000 * 1_600))
    weighed = [point for point in points if point.basis is Basis.WEIGHED]
    assert len(sheet.squares()) == len(weighed) == 1
    # Five estimates, and what the weighed one had been estimated at.
    assert len(sheet.rings()) == 6
    for point, mark in zip(weighed, sheet.squares(), strict=True):
        across = x0 + math.log10(point.received.value / (6_000 / 1.6)) * decade
        assert mark.middle[0] == pytest.approx(across, abs=0.1)
        # Where both are nearly the same, the mark stands on the line.
        assert mark.middle[1] == pytest.approx(up(across), abs=0.2)
    outlier = min(sheet.rings(), key=lambda one: up(one.middle[0]) - one.middle[1])
    assert outlier.middle[0] == pytest.approx(x0 + math.log10(410_000 / (6_000 / 1.6)) * decade, abs=0.1)


def test_what_differs_is_named_in_bold() -> None:
    sheet = drawn(Pictures(received=pictured.some_points()), "received")

    assert {one.words for one in sheet.shapes if one.bold and one.words.startswith("C-")} == {"C-002"}


def test_a_container_of_two_marks_is_named_once() -> None:
    sheet = drawn(Pictures(received=pictured.some_points()), "received")

    names = [words for words in sheet.words() if words.startswith("C-")]
    assert len(names) == len(set(names))
    assert "C-004" in names


def test_a_mass_of_nothing_has_no_place_by_ratio_but_stands_in_the_table() -> None:
    nothing = pictured.a_point("C-009", 0, 4_000, stated=pictured.exactly(0))
    paper = pictured.a_paper(Pictures(received=(nothing, pictured.a_point("C-011"))))

    (file,) = svg_files(paper)
    assert "C-009" not in read(file.text).words()
    assert "C-009" in by_pypdf(draw_pictures(paper).pdf)
    assert svg_files(pictured.a_paper(Pictures(received=(nothing,)))) == ()


# -- files for a page ------------------------------------------------------------------------------------------------


def test_a_file_says_what_it_shows_and_carries_no_style_that_a_page_refuses() -> None:
    for file in svg_files(pictured.a_paper()):
        sheet = read(file.text)
        title, said = sheet.root.find(f"{SVG}title"), sheet.root.find(f"{SVG}desc")
        assert title is not None
        assert said is not None
        assert title.text == file.title
        assert said.text
        assert len(said.text) > 30
        assert sheet.root.attrib["role"] == "img"
        assert sheet.root.attrib["aria-labelledby"].split() == [title.attrib["id"], said.attrib["id"]]
        assert sheet.root.attrib["viewBox"] == f"0 0 {sheet.root.attrib['width']} {sheet.root.attrib['height']}"
        ids = [element.attrib["id"] for element in sheet.root.iter() if "id" in element.attrib]
        assert all(name.startswith(file.name) for name in ids)
        assert not [element for element in sheet.root.iter() if "style" in element.attrib]
        assert {element.tag.removeprefix(SVG) for element in sheet.root.iter()} <= {
            *("svg", "title", "desc", "rect", "g", "text", "path", "polygon", "polyline", "circle")
        }
        for key in ("fill", "stroke"):
            used = {element.attrib[key] for element in sheet.root.iter() if key in element.attrib}
            assert all(
                colour in ("none", "white") or len(set(re.findall(r"[\d.]+", colour))) == 1 for colour in used
            ), used


def test_words_are_as_wide_as_was_measured() -> None:
    faces = typefaces()
    (file,) = svg_files(pictured.a_paper(Pictures((pictured.a_container(),))))

    for element in ElementTree.fromstring(file.text).iter(f"{SVG}text"):
        size, bold = float(element.attrib["font-size"]), element.attrib.get("font-weight") == "bold"
        wide = faces.width(faces.prepare(element.text or ""), size, bold=bold)
        assert float(element.attrib["textLength"]) == pytest.approx(wide, abs=0.01)


@pytest.mark.parametrize("name", [*awkward.NAMED, "a\x00b\x1f", "\ud800"], ids=repr)
def test_names_that_are_hard_to_print_stand_in_reading_order_and_stay_xml(name: str) -> None:
    room = pictured.a_catch().rooms[1]
    catch = pictured.a_catch(rooms=(replace(room, total=replace(room.total, name=name[:200])),))
    container = pictured.a_container(stream=name[:200], state="")

    for file in svg_files(pictured.a_paper(Pictures((container,), catch))):
        words = read(file.text).words()
        assert words
        if file.name.startswith("fullness") and name.strip() and len(name) < 60 and name.isprintable():
            assert unicodedata.normalize("NFC", name).strip() in words


def test_what_was_cut_to_fit_is_told() -> None:
    long = pictured.a_container(stream=awkward.LONG_NAME * 2)

    printed = draw_pictures(pictured.a_paper(Pictures((long,))))

    assert printed.findings == (f"shortened on paper, whole in the ledger: “{awkward.LONG_NAME * 2}, open”",)


def test_what_no_face_has_is_told() -> None:
    printed = draw_pictures(pictured.a_paper(Pictures((pictured.a_container(stream=awkward.HAN),))))

    assert len(printed.findings) == 1
    assert "uncovered characters" in printed.findings[0]


# -- with drawn values -----------------------------------------------------------------------------------------------

MOMENTS = st.integers(0, 3 * 365 * 24 * 60).map(lambda minutes: pictured.OPENED + timedelta(minutes=minutes))


@st.composite
def courses(draw: st.DrawFn) -> Course:
    """Any course at all: minutes or years long, empty or far over its limit, with marks and a look ahead or without."""
    measure = draw(st.sampled_from(list(Measure)))
    most = 20_000_000 if measure is Measure.MASS else 1500
    times = sorted(draw(st.lists(MOMENTS, min_size=1, max_size=12)))
    steps = []
    for at in times:
        lower, value, upper = sorted(draw(st.tuples(*[st.integers(0, most)] * 3)))
        steps.append(Step(at, Interval(value, lower, upper)))
    until_at = times[-1] + timedelta(minutes=draw(st.integers(0, 60 * 24 * 90)))
    limit = draw(st.one_of(st.none(), st.integers(1, most))) if measure is Measure.MASS else 1000
    share = draw(st.one_of(st.none(), st.integers(1, 1500)))
    fan = None
    if limit and draw(st.booleans()):
        ahead = sorted(draw(st.lists(st.integers(0, 3653), max_size=3)))
        days = [*(until_at.date() + timedelta(days=each) for each in ahead), None, None, None]
        fan = Fan(until_at, limit, days[0], days[1], days[2], "From no swap yet.")
    return Course(
        measure=measure,
        steps=tuple(steps),
        until_at=until_at,
        marks=tuple(Mark(step.at, step.held, draw(st.sampled_from(Sign))) for step in steps if draw(st.booleans())),
        limit=limit,
        plan_at=limit * share // 1000 if limit and share else None,
        close_at=limit * draw(st.integers(1, 1200)) // 1000 if limit and draw(st.booleans()) else None,
        says="about 2.44 kg, between 2.31 kg and 2.60 kg (95 %), estimate",
        fan=fan,
    )


@given(st.lists(courses(), min_size=1, max_size=2))
@settings(max_examples=40, deadline=None)
def test_no_words_of_a_container_lie_over_each_other_or_off_the_picture(some: list[Course]) -> None:
    sheet = of_container(*some)

    assert_words_are_apart(sheet)
    left, right = 46 - 0.1, 522 + 0.1
    for shape in sheet.shapes:
        if shape.tag in ("polyline", "polygon", "circle"):
            slack = 4.3 if shape.tag == "polygon" and shape.fill != "rgb(100%,100%,100%)" else 0
            slack = 100 if shape.fill == "rgb(100%,100%,100%)" else slack
            assert all(left - slack <= x <= right + slack for x, _ in shape.places), shape


@given(st.lists(st.tuples(st.integers(0, 10**8), st.integers(0, 10**8), st.booleans()), min_size=1, max_size=60))
@settings(max_examples=25, deadline=None)
def test_no_names_of_containers_lie_over_each_other(masses: list[tuple[int, int, bool]]) -> None:
    points = tuple(
        pictured.a_point(
            f"C-{number:03}", stated, received, agrees=True, basis=Basis.WEIGHED if sure else Basis.ESTIMATE
        )
        for number, (stated, received, sure) in enumerate(masses)
    )

    for file in svg_files(pictured.a_paper(Pictures(received=points))):
        assert_words_are_apart(read(file.text))


@given(st.lists(st.tuples(st.integers(1, 10**8), st.integers(0, 1000)), min_size=1, max_size=9))
@settings(max_examples=25, deadline=None)
def test_no_words_of_a_catch_lie_over_each_other(caught: list[tuple[int, int]]) -> None:
    rows = tuple(
        pictured.a_row(f"R{number}-H", mass, caught=Interval(mass, mass * share // 1000, mass * (1000 + share) // 1000))
        for number, (mass, share) in enumerate(caught)
    )

    (file,) = svg_files(pictured.a_paper(Pictures(catch=pictured.a_catch(rooms=(CatchRoom(rows[0], rows),)))))

    assert_words_are_apart(read(file.text))


def assert_words_are_apart(sheet: Sheet) -> None:
    boxes = []
    for element in sheet.root.iter(f"{SVG}text"):
        if not (element.text or "").strip():
            continue
        x, size = float(element.attrib["x"]), float(element.attrib["font-size"])
        baseline = float(sheet.root.attrib["height"]) - float(element.attrib["y"])
        boxes.append((x, baseline - 0.7 * size, x + float(element.attrib["textLength"]), baseline, element.text))
    for box in boxes:
        assert box[0] >= -0.01, box
        assert box[2] <= float(sheet.root.attrib["width"]) + 0.01, box
        assert box[3] <= float(sheet.root.attrib["height"]), box
        assert box[1] >= -0.5, box
    for one, other in combinations(boxes, 2):
        apart = one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
        assert apart, (one, other)


# -- on paper --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", list(Paper))
def test_the_same_picture_stands_on_paper(size: Paper) -> None:
    said = by_pypdf(draw_pictures(pictured.a_paper(), size).pdf)

    for words in (
        "C-001",
        "Level, % of the fill line",
        "fill line",
        "plan a pickup",
        "90 % by 20 Jul 2026",
        "Full with a chance of 10 % by 2 April 2026",
        "Catch by room and trap",
        "about 240 g, between 80 g and 720 g",
        "5 of 6 agree within their uncertainties.",
        "entry 1204 of site elm-street",
    ):
        assert words in said, words


def test_the_ink_is_where_the_marks_are(tmp_path: Path) -> None:
    """The page as poppler draws it: dark at the six lozenges of the level, and grey within the fan."""
    course = pictured.a_level_course()
    container = pictured.a_container(courses=(course,))
    pdf = draw_pictures(pictured.a_paper(Pictures((container,)))).pdf
    sheet = drawn(Pictures((container,)), "fullness-C-001")
    dark = darkness(picture(pdf, tmp_path, 72))

    top = next(
        offset
        for offset in range(60, 160)
        if all(dark(40 + x, offset + y) > 0.8 for x, y in (mark.middle for mark in sheet.lozenges()))
    )
    (fan,) = [one for one in sheet.shapes if one.tag == "polygon" and one.fill == "rgb(88%,88%,88%)"]
    x = sum(x for x, _ in fan.places) / 3
    y = sum(y for _, y in fan.places) / 3
    assert 0.05 < dark(40 + x + 8, top + y - 2) < 0.3


def test_the_binder_holds_them_too() -> None:
    said = by_pypdf(draw_binder(pictured.a_binder_with_pictures()).pdf)

    assert "Pictures: how full, what was caught, how near the estimates came" in said
    assert "90 % by 20 Jul 2026" in said
    assert "about 240 g, between 80 g and 720 g" in said


def test_with_nothing_to_show_the_paper_says_so() -> None:
    assert "There is nothing to draw yet" in by_pypdf(draw_pictures(pictured.a_paper(Pictures())).pdf)


def test_marks_keep_their_shape_whatever_they_stand_on() -> None:
    mark = Mark(TUESDAY, pictured.exactly(0), Sign.WEIGHED)
    sheet = of_container(pictured.a_mass_course(marks=(mark,), until_at=TUESDAY))

    (square,) = sheet.squares()
    xs, ys = [x for x, _ in square.places], [y for _, y in square.places]
    assert max(xs) - min(xs) == pytest.approx(max(ys) - min(ys), abs=0.01)
