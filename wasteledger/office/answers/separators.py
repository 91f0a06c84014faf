"""Answers about what the separator is: its equipment file, its papers, and who answers for it."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from wasteledger.model.entries import Repair, SeparatorInspection, UnitReplaced
from wasteledger.model.filings import PaperKind, StatementTopic
from wasteledger.model.register import SeparatorDetails
from wasteledger.office.answers.inquiry import Inquiry, Registered
from wasteledger.office.answers.points import Point, here, missing, shown, some
from wasteledger.office.words import count, short_day

Separator = Registered[SeparatorDetails]

ENTER = "enter it in the plan: wasteledger register update"
"""How the office mends what the register lacks."""


def separators(asked: Inquiry) -> list[Separator]:
    """The separators in service at the end of the period."""
    return asked.registered(SeparatorDetails)


def no_separator() -> Point:
    """What to say where there is none."""
    return missing("No separator is in the register.", do=ENTER)


def is_of(body: SeparatorInspection | Repair | UnitReplaced, one: Separator) -> bool:
    """Whether an entry speaks of that separator."""
    return body.separator == one.ref


def separator_in_place(asked: Inquiry) -> Iterator[Point]:
    """Question 1: the equipment file, and the chairs that drain to it."""
    there = separators(asked)
    for one in there:
        yield shown(f"{one.ref}: {_equipment(one.details)}.", (one.seq,))
        whole = [
            noted for noted in asked.until_end(Repair) if is_of(noted.body, one) and noted.body.action == "replaced"
        ]
        if whole and whole[-1].seq > one.seq:
            made = " ".join(part for part in (whole[-1].body.make, whole[-1].body.model) if part) or "make not noted"
            words = (
                f"{one.ref}: replaced whole on {short_day(whole[-1].on)} ({made}); the register was not changed since."
            )
            yield missing(words, (whole[-1].seq,), do=ENTER)
        if gaps := _not_entered(one.details):
            yield missing(f"{one.ref}: {', '.join(gaps)} not entered.", (one.seq,), do=ENTER)
    if not there:
        yield no_separator()
        return
    site = asked.site
    served = sum(one.details.chairs_served for one in there)
    if site is not None and site.details.amalgam_chairs > served > 0:
        words = f"{count(site.details.amalgam_chairs, 'chair')} with amalgam, {served} on a separator, as entered."
        yield missing(words, (site.seq, *(one.seq for one in there)))
    all_on = [one.seq for one in there if one.details.chairs_all]
    if all_on:
        yield shown("Entered in the register: every chair with amalgam drains to it.", all_on)
    else:
        yield asked.stated(
            StatementTopic.ALL_AMALGAM_CHAIRS_ON_SEPARATOR, "every chair with amalgam drains to a separator"
        )


def certificate(asked: Inquiry) -> Iterator[Point]:
    """Question 2."""
    yield from _on_file(asked, PaperKind.CERTIFICATE, "certificate", lambda details: details.certificate_on_file)


def _on_file(
    asked: Inquiry, what: PaperKind, noun: str, is_registered: Callable[[SeparatorDetails], bool | None]
) -> Iterator[Point]:
    """Whether a paper of each separator lies on file, by what was noted and by the register."""
    there = separators(asked)
    if not there:
        yield no_separator()
    for one in there:
        found = list(asked.filed(what, f"{noun.capitalize()} of {one.ref}", separator=one.ref))
        yield from found
        if is_registered(one.details):
            yield shown(f"{one.ref}: {noun} on file, as the register says.", (one.seq,))
        elif not found:
            do = f"wasteledger paper {what} --separator {one.ref} --place …"
            yield missing(f"{one.ref}: no {noun} is noted.", do=do)


def installed_rightly(asked: Inquiry) -> Iterator[Point]:
    """Question 3: pictures, what inspections saw of water running past, and the statement."""
    there = separators(asked)
    if not there:
        yield no_separator()
        return
    yield from asked.filed(PaperKind.SEPARATOR_PHOTO, "Photograph")
    for one in there:
        seen = [noted for noted in asked.within(SeparatorInspection) if is_of(noted.body, one)]
        past = [noted for noted in seen if noted.body.bypass_seen]
        if past:
            days = some([short_day(noted.on) for noted in past])
            yield missing(f"{one.ref}: water was seen running past it on {days}.", (noted.seq for noted in past))
        elif seen:
            words = f"{one.ref}: {count(len(seen), 'inspection')} in the period, none noted water running past it."
            yield shown(words, (noted.seq for noted in seen))
        else:
            yield missing(f"{one.ref}: no inspection in the period.", do=inspect_with(one))
    yield asked.stated(StatementTopic.INSTALLED_AS_THE_MAKER_SAYS, "it is put in as its maker says")
    yield here("The pipes can be seen at the separator.")


def peak_flow(asked: Inquiry) -> Iterator[Point]:
    """Question 4."""
    if not separators(asked):
        yield no_separator()
        return
    yield asked.stated(StatementTopic.SIZED_FOR_PEAK_FLOW, "it takes the most water that can come at once")


def manual_here(asked: Inquiry) -> Iterator[Point]:
    """Question 9."""
    yield from _on_file(asked, PaperKind.OPERATING_MANUAL, "manual", lambda details: details.manual_on_file)


def shared_separator(asked: Inquiry) -> Iterator[Point]:
    """Question 30: who answers for it."""
    there = separators(asked)
    if not there:
        yield no_separator()
    for one in there:
        details = one.details
        if details.run_by is None:
            yield missing(f"{one.ref}: who runs it is not entered.", (one.seq,), do=ENTER)
        else:
            runs = {"practice": "run by the practice", "shared": "shared with others", "landlord": "run by a landlord"}
            yield shown(f"{one.ref}: {runs[details.run_by]}.", (one.seq,))
        if details.responsible:
            yield shown(f"{one.ref}: {details.responsible} answers for it.", (one.seq,))
        else:
            yield missing(f"{one.ref}: who answers for it is not entered.", (one.seq,), do=ENTER)
        if details.run_by in ("shared", "landlord"):
            found = list(asked.filed(PaperKind.CONTRACT, f"Agreement on {one.ref}", separator=one.ref, only_its=True))
            yield from found
            if details.agreement_on_file:
                yield shown(f"{one.ref}: the agreement is on file, as the register says.", (one.seq,))
            elif not found:
                do = f"wasteledger paper contract --separator {one.ref} --place …"
                yield missing(f"{one.ref}: no agreement about its care is noted.", (one.seq,), do=do)
    site = asked.site
    if there and site is not None and site.details.maintenance_by:
        yield shown(f"Maintained by {site.details.maintenance_by}.", (site.seq,))


def inspect_with(one: Separator) -> str:
    """How the office writes an inspection down."""
    return f"wasteledger separator inspect {one.ref} --result …"


def _equipment(details: SeparatorDetails) -> str:
    made = " ".join(part for part in (details.make, details.model) if part)
    parts = [f"{details.name} ({made})" if made else details.name]
    parts += [f"installed {short_day(details.installed_on)}"] if details.installed_on else []
    parts += [details.standard] if details.standard else []
    if details.removal_permille is not None:
        parts.append(f"holds back {details.removal_permille / 10:g} %, as entered")
    parts += [f"serves {count(details.chairs_served, 'chair')}"] if details.chairs_served else []
    return ", ".join(parts)


def _not_entered(details: SeparatorDetails) -> list[str]:
    wanted = (
        ("make", details.make),
        ("model", details.model),
        ("day of installation", details.installed_on),
        ("standard", details.standard),
        ("chairs served", details.chairs_served),
    )
    return [name for name, value in wanted if not value]
