"""One plain line for each kind of entry, for lists and logs."""

from __future__ import annotations

from datetime import tzinfo

from wasteledger.model import entries as kinds
from wasteledger.model.facts import Entry, replaced_body
from wasteledger.model.filings import DutyDone, OtherWaste, PaperFiled, ReminderSent, Statement, Training
from wasteledger.model.procedures import BySurfaces, Procedures
from wasteledger.model.register import Register
from wasteledger.model.traps import Condition
from wasteledger.model.values import Body, Reading, read_utc
from wasteledger.office.kind_words import source_words
from wasteledger.office.words import count
from wasteledger.units import Mass, Volume


def describe(said: Entry | Body, zone: tzinfo) -> str:
    """What an entry says, in one line, its note included; times are local ones in *zone*."""
    body = said.body if isinstance(said, Entry) else said
    words = (_of_traps(body) or _of_containers(body) or _of_separators(body) or _of_the_rest(body, zone)) + "."
    return f"{words} Note: {' '.join(body.note.split())}" if body.note else words


def _of_traps(body: Body) -> str:
    match body:
        case kinds.Look(condition=Condition.NOT_LOOKED):
            return f"Trap {body.trap} not looked at: {body.reason}{_paper(body)}"
        case kinds.Look():
            dry = ", left to dry" if body.left_to_dry else ""
            return f"Trap {body.trap} looked at: {body.condition.words}{_amalgam(body.amalgam_seen)}{dry}{_paper(body)}"
        case kinds.Swap():
            seen = "" if body.condition is Condition.NOT_LOOKED else f", {body.condition.words}"
            days = "" if body.days_in_service is None else f", after {count(body.days_in_service, 'day')}"
            weighed = ""
            if body.gross is not None and body.tare is not None:
                weighed = f", weighed {_mass(body.gross)} (clean {_mass(body.tare)})"
            return (
                f"Trap {body.trap} ({body.trap_kind.words}) swapped into container {body.container}"
                f"{seen}{_amalgam(body.amalgam_seen)}{days}{weighed}{_paper(body)}"
            )
    return ""


def _of_containers(body: Body) -> str:
    match body:
        case kinds.Deposit():
            parts = [count(body.count, "piece")] if body.count is not None else []
            parts += [f"weighed {_mass(body.mass)}"] if body.mass is not None else []
            parts += [str(Volume(body.volume_ml))] if body.volume_ml is not None else []
            room = f" from room {body.room}" if body.room else ""
            return f"{_words(body.stream)}{room} into container {body.container}: {', '.join(parts)}{_paper(body)}"
        case kinds.Weighing():
            return f"Container {body.container} weighed: gross {_mass(body.gross)}"
        case kinds.Level():
            return f"Container {body.container} read: {_percent(body.level_permille)} of its fill line"
        case kinds.ContainerOpened():
            where = f", at {body.place}" if body.place else ""
            streams = ", ".join(body.streams)
            what = f"{body.container_type}, for {streams}"
            return f"Container {body.container} opened ({what}), empty {_mass(body.tare)}{where}"
        case kinds.ContainerClosed():
            why = {"full": "full", "pickup": "for a pickup", "other": "for another reason"}[body.why]
            return f"Container {body.container} closed, {why}"
        case kinds.ContainerMoved():
            return f"Container {body.container} moved to {body.place}"
        case kinds.PickupBooked():
            named = f" (reference {body.reference})" if body.reference else ""
            return (
                f"Pickup {body.pickup} booked for {body.planned_on.isoformat()} with {body.carrier.name}, to "
                f"{body.facility.name}: {', '.join(body.containers)}{named}"
            )
        case kinds.PickupReleased():
            left = "; ".join(f"{one.container} {one.statement}" for one in body.containers)
            paper = f" (document {body.document})" if body.document else ""
            return f"Pickup {body.pickup} left with {body.taken_by} of {body.carrier.name}: {left}{paper}"
        case kinds.Receipt():
            return _receipt(body)
    return ""


def _receipt(body: kinds.Receipt) -> str:
    proves = {"received": "the receipt", "recycled": "the proof of recycling", "both": "receipt and proof of recycling"}
    net = [f"{one.container} {Mass(one.net_mg)}" for one in body.containers]
    net += [f"in all {Mass(body.total_mg)}"] if body.total_mg is not None else []
    said = f": {', '.join(net)}" if net else ""
    differs = f"; differs: {body.discrepancy}" if body.discrepancy else ""
    return f"Pickup {body.pickup}: {proves[body.proves]} of {body.received_on.isoformat()} came{said}{differs}"


def _of_separators(body: Body) -> str:
    match body:
        case kinds.SeparatorInspection():
            level = "" if body.level_permille is None else f", level {_percent(body.level_permille)}"
            seen = ", bypass seen" if body.bypass_seen else ""
            seen += ", leak seen" if body.leak_seen else ""
            follow = f"; {body.follow_up}" if body.follow_up else ""
            by = f", by {body.done_by}" if body.done_by else ""
            return f"Separator {body.separator} inspected: {body.result}{level}{seen}{by}{follow}{_paper(body)}"
        case kinds.Repair():
            what = f"{body.make} {body.model}".strip()
            return f"Separator {body.separator} {body.action} by {body.done_by} ({what}): {body.description}"
        case kinds.UnitReplaced():
            weighed = f", weighed {_mass(body.mass)}" if body.mass is not None else ""
            by = f", by {body.done_by}" if body.done_by else ""
            where = f"the old one in container {body.container}"
            return f"Separator {body.separator}: retaining unit changed, {where}{weighed}{by}"
        case kinds.LineCleaning():
            volume = f", {Volume(body.volume_ml)}" if body.volume_ml is not None else ""
            left = "" if body.suction_left_minutes is None else f", suction on for {body.suction_left_minutes} min"
            return f"Lines cleaned with {body.cleaner} in {', '.join(body.rooms)}{volume}{left}{_paper(body)}"
    return ""


def _of_the_rest(body: Body, zone: tzinfo) -> str:
    match body:
        case Register():
            name = getattr(body.details, "name", "") or getattr(body.details, "room", "")
            what = _words(body.details.subject)
            return f"{what} {body.ref}{f' ({name})' if name else ''} {'retired' if body.retired else 'registered'}"
        case kinds.Milestone():
            return _words(body.what)
        case kinds.Remark():
            about = [f"{name} {getattr(body, name)}" for name in ("pickup", "container", "trap") if getattr(body, name)]
            about += [f"entry {body.about}"] if body.about is not None else []
            return f"Remark{f' on {_and(about)}' if about else ''}: {' '.join(body.text.split())}".rstrip(".")
        case kinds.Correction():
            return _correction(body, zone)
        case kinds.Calibration():
            return _calibration(body)
        case Procedures():
            return _procedures(body)
    return _of_filings(body) or _words(body.KIND)


def _of_filings(body: Body) -> str:
    match body:
        case DutyDone():
            rule = f" ({body.ordinance}{f', {body.rule}' if body.rule else ''})" if body.ordinance else ""
            about = [f"{name} {getattr(body, name)}" for name in _DUTY_SUBJECTS if getattr(body, name)]
            due = f", due {body.due_on.isoformat()}" if body.due_on else ""
            by = f", by {body.done_by}" if body.done_by else ""
            paper = f", document {body.document}" if body.document else ""
            return f"Done: {_plain(body.duty)}{rule}{''.join(f', {one}' for one in about)}{due}{by}{paper}"
        case Training():
            by = f", by {body.held_by}" if body.held_by else ""
            topics = ", ".join(_plain(topic) for topic in body.topics)
            return f"Trained: {', '.join(body.people)} in {topics}{by}{_document(body.document)}"
        case PaperFiled():
            of = f" of separator {body.separator}" if body.separator else ""
            about = [f", {body.about}"] if body.about else []
            where = f"to be had from {body.place}" if body.on_request else f"on file in {body.place}"
            return f"Paper: {_plain(body.what)}{of}{''.join(about)}, {where}{_document(body.document)}"
        case Statement():
            return f"Stated: {_plain(body.topic)}{'' if body.holds else f' does not hold: {body.why}'}".rstrip(".")
        case OtherWaste():
            made = f"{body.name}: {Mass(body.made_mg)} made ({_plain(body.basis)}){', acute' if body.acute else ''}"
            on_hand = f", {Mass(body.on_hand_mg)} on hand" if body.on_hand_mg is not None else ""
            return f"Other hazardous waste of {body.month}, {made}{on_hand}"
        case ReminderSent():
            return f"Reminder of {body.on.isoformat()} sent to {body.to}: {count(body.pressing, 'duty', 'duties')}"
    return ""


_DUTY_SUBJECTS = ("separator", "container", "pickup")


def _plain(word: str) -> str:
    return word.replace("_", " ").replace("-", " ")


def _document(document: str | None) -> str:
    return f" (document {document})" if document else ""


def _calibration(body: kinds.Calibration) -> str:
    learned = f"Learned from the entries up to {body.data_to}, estimate of the"
    # Two digits, and never as a power of ten.
    means = [(kind, float(f"{float(mean):.2g}")) for kind, mean in zip(body.kinds, body.means, strict=True)]
    if body.quantity == "volume":
        moved = [f"{_room(kind)} {mean:g}" for kind, mean in means if mean != 1]
        return f"{learned} room that a millilitre takes: {', '.join(moved) or 'as stated or assumed'}"
    masses = ", ".join(f"{source_words(kind)} {mean / 1000:g} g" for kind, mean in means)
    return f"{learned} debris in one of each: {masses}"


def _room(kind: str) -> str:
    basis, _, source = kind.partition(".")
    return f"{source_words(source)} ({basis})" if source else source_words(kind)


def _procedures(body: Procedures) -> str:
    days = body.first_on.isoformat()
    days += "" if body.last_on == body.first_on else f" to {body.last_on.isoformat()}"
    room = f", room {body.room}" if body.room else ""
    table = ", from a table" if body.source == "csv" else ""
    done = f"removed {_restorations(body.removed)}, placed {_restorations(body.placed)}"
    return f"Amalgam restorations of {days}{room}: {done}{table}"


def _restorations(counted: BySurfaces) -> str:
    parts = [f"{number} with {words}" for words, number in counted.named]
    return f"{counted.total} ({', '.join(parts)})" if parts else "none"


def _correction(body: kinds.Correction, zone: tzinfo) -> str:
    why = f", because: {' '.join(body.reason.split())}".rstrip(".")
    if body.action == "void":
        return f"Entry {body.corrects} made void{why}"
    if body.action == "reinstate":
        return f"Entry {body.corrects} counts again{why}"
    if body.replacement is None:
        return f"Entry {body.corrects} replaced{why}"
    at = read_utc(body.replacement.happened_at).astimezone(zone)
    put_in = describe(replaced_body(body.replacement), zone).removesuffix(".")
    return f"Entry {body.corrects} replaced, at {at:%Y-%m-%d %H:%M}: {put_in}{why}"


def _mass(reading: Reading) -> str:
    return str(Mass(reading.mass_mg))


def _amalgam(seen: bool | None) -> str:
    return "" if seen is None else (", amalgam seen" if seen else ", no amalgam seen")


def _paper(body: kinds.Look | kinds.Swap | kinds.Deposit | kinds.SeparatorInspection | kinds.LineCleaning) -> str:
    return " (first on paper)" if body.on_paper else ""


def _percent(permille: int) -> str:
    whole, tenths = divmod(permille, 10)
    return f"{whole}.{tenths} %" if tenths else f"{whole} %"


def _words(name: str) -> str:
    words = name.replace("_", " ")
    return words[:1].upper() + words[1:]


def _and(parts: list[str]) -> str:
    return " and ".join(parts)
