"""What is on file: trainings, papers, statements."""

from __future__ import annotations

from enum import StrEnum
from typing import Annotated

import typer

from wasteledger.cli import output
from wasteledger.cli.common import Place, writes


class Topic(StrEnum):
    """What somebody was trained in; the model's words, repeated so that help loads no model."""

    HANDLING = "handling"
    DISPOSAL = "disposal"
    SPILL = "spill"
    LINE_CLEANERS = "line_cleaners"
    SEPARATOR = "separator"
    PAPERWORK = "paperwork"


class PaperKind(StrEnum):
    """What a paper on file is; likewise."""

    OPERATING_MANUAL = "operating_manual"
    CERTIFICATE = "certificate"
    ONE_TIME_REPORT = "one_time_report"
    CERTIFICATION = "certification"
    RECYCLER_INSTRUCTIONS = "recycler_instructions"
    SAFETY_SHEET = "safety_sheet"
    MAINTENANCE_PLAN = "maintenance_plan"
    PROCEDURE = "procedure"
    SEPARATOR_PHOTO = "separator_photo"
    CONTRACT = "contract"
    INVOICE = "invoice"
    OTHER = "other"


class StatementTopic(StrEnum):
    """What can be stated of a practice; likewise."""

    NO_BULK_MERCURY = "no_bulk_mercury"
    TRAPS_KEPT_FROM_SINKS = "traps_kept_from_sinks"
    AMALGAM_KEPT_FROM_OTHER_BINS = "amalgam_kept_from_other_bins"
    ALL_AMALGAM_CHAIRS_ON_SEPARATOR = "all_amalgam_chairs_on_separator"
    INSTALLED_AS_THE_MAKER_SAYS = "installed_as_the_maker_says"
    SIZED_FOR_PEAK_FLOW = "sized_for_peak_flow"
    CAPSULES_RECYCLED = "capsules_recycled"
    NO_PROHIBITED_ACT = "no_prohibited_act"


def add_to(app: typer.Typer) -> None:
    """Put the commands into *app*."""
    panel = "Manager"
    app.command("training", rich_help_panel=panel)(training)
    app.command("paper", rich_help_panel=panel)(paper)
    app.command("statement", rich_help_panel=panel)(statement)


DocumentOption = Annotated[
    str | None, typer.Option("--document", metavar="TEXT", help="Its number or name, as the paper has it.")
]


@writes
def training(
    place: Place,
    who: Annotated[
        list[str], typer.Option("--who", metavar="PERSON", help="Who was trained, by short name; may be repeated.")
    ],
    topic: Annotated[
        list[Topic], typer.Option("--topic", metavar="TOPIC", help=f"One of: {', '.join(Topic)}; may be repeated.")
    ],
    held_by: Annotated[str | None, typer.Option("--held-by", metavar="NAME", help="Who taught.")] = None,
    document: DocumentOption = None,
) -> None:
    """Record who was trained in what."""
    from wasteledger.office.filings import record_training

    topics = tuple(one.value for one in topic)
    recorded = record_training(place.work, tuple(who), topics, place.said, held_by=held_by, document=document)
    output.answer(recorded, place.json)


@writes
def paper(
    place: Place,
    what: Annotated[
        PaperKind,
        typer.Argument(metavar="WHAT", help=f"One of: {', '.join(PaperKind)}.", show_default=False, show_choices=False),
    ],
    where: Annotated[str, typer.Option("--place", metavar="TEXT", help="Where it lies, such as “Binder 2”.")],
    document: DocumentOption = None,
    separator: Annotated[
        str | None, typer.Option("--separator", metavar="SEPARATOR", help="Which one it is about.")
    ] = None,
    about: Annotated[str | None, typer.Option("--about", metavar="TEXT", help="What else it is about.")] = None,
    on_request: Annotated[
        bool, typer.Option("--on-request", help="It does not lie here but can be had from there.")
    ] = False,
) -> None:
    """Record that a paper lies on file, and where."""
    from wasteledger.office.filings import file_paper

    recorded = file_paper(
        place.work,
        what.value,
        where,
        place.said,
        document=document,
        separator=separator,
        about=about,
        on_request=on_request,
    )
    output.answer(recorded, place.json)


@writes
def statement(
    place: Place,
    topic: Annotated[
        StatementTopic,
        typer.Argument(
            metavar="TOPIC", help=f"One of: {', '.join(StatementTopic)}.", show_default=False, show_choices=False
        ),
    ],
    denied: Annotated[bool, typer.Option("--not", help="It does not hold; say why.")] = False,
    why: Annotated[str | None, typer.Option("--why", metavar="TEXT", help="Why it does not hold.")] = None,
) -> None:
    """State what no swap or weighing can show.

    It is yours: your name stands beside it.
    """
    from wasteledger.office.filings import record_statement

    recorded = record_statement(place.work, topic.value, place.said, holds=not denied, why=why)
    output.answer(recorded, place.json)
