"""What people are told when something was weighed: what the estimate had said, how far off it was, what it taught."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from wasteledger.estimate.containers import Estimate, standing_mass
from wasteledger.estimate.increments import Increment, mass_increments
from wasteledger.estimate.kind_means import held_at_zero, mean_of
from wasteledger.estimate.learning import UNKNOWN_BODY, sort_out
from wasteledger.estimate.prior import Prior
from wasteledger.estimate.rounding import round_to, round_uncertainty, statement
from wasteledger.ledger.append import Appended, Desk
from wasteledger.ledger.reader import Reader
from wasteledger.model.containers import Holding, Tally
from wasteledger.model.entries import Receipt, Weighing
from wasteledger.model.facts import Entry, Fact, Subject
from wasteledger.model.standing import ContainerStanding, fold
from wasteledger.office.kind_words import held_words, mean_words, one_of, source_words
from wasteledger.office.learning import current_prior
from wasteledger.office.masses import mass_of
from wasteledger.office.received import comparisons_of
from wasteledger.office.starting_values import mass_sources, received_limits
from wasteledger.units import Mass

_MOST_KINDS = 3
"""More kinds than these are counted, not named: the screen of a weighing stays short."""

_ALONE = {
    "trap": "Of the debris in this trap the estimate had said",
    "unit": "Of what this unit held the estimate had said",
    "pieces": "Of these pieces the estimate had said",
}

UNIT_RIGHT = "Is the unit right?"
"""What is asked where a mass is far above what could be there."""

MEND_BODIES = (
    "State the mass of the clean body in the plan (insert_mass of a trap, unit_mass of a separator): wasteledger "
    "register update PLAN.toml. For what went in already: wasteledger correct SEQ --set insert_mg=5.1g"
)
"""How an increment that holds bodies of unknown mass can be made to teach."""


@dataclass(frozen=True, slots=True)
class Lesson:
    """What to say of a weighing: *says* for everybody to read, *warnings* for somebody to act upon."""

    says: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


def lesson_of(desk: Desk, appended: Appended, before: Prior) -> Lesson:
    """What an entry just written was weighed against, and what it taught.

    Args:
        desk: The desk at which it was written, with the calibration that followed it.
        appended: The entry; one that was written before teaches nothing more.
        before: What was believed before it was written.

    Raises:
        BadPrior: The starting values have faults.
    """
    if appended.repeated:
        return Lesson()
    entry, after = appended.entry, current_prior(desk)
    increments = _increments_of(desk, entry)
    says, warnings = _compared(desk, entry, increments, before)
    sorted_out = sort_out(before, increments, mass_sources=mass_sources(desk))
    direct = [
        kind for place, kind in enumerate(before.kinds) if any(row[place] for row in sorted_out.rows)
    ] or _moved_most(before, after)
    says += _learned(before, after, direct)
    for one, why in sorted_out.left_out:
        if why == UNKNOWN_BODY:
            bodies = "1 body" if one.inserts_unknown == 1 else f"{one.inserts_unknown} bodies"
            warnings += (f"Nothing can be learned from this weighing: {bodies} of unknown mass went in. {MEND_BODIES}",)
    newly = [kind for kind in held_at_zero(after) if kind in direct or kind not in held_at_zero(before)]
    return Lesson(says, (*warnings, *(held_words(kind) for kind in newly)))


def standing_before(reader: Reader, container: str, entry: Entry) -> ContainerStanding | None:
    """What stood of *container* just before *entry* happened, which may be long before it was written."""
    subject = Subject("container", container)
    facts = [fact for fact in reader.facts_about(subject) if fact.order < (entry.happened_at, entry.seq)]
    found = fold(subject, facts)
    return found if isinstance(found, ContainerStanding) else None


def far_off(weighed_mg: int, estimated_mg: int, expanded_mg: int) -> str:
    """How far a weighing lies from the value of an estimate, in words: "11 g more (9 %)", "the same".

    Two digits, and no finer than the estimate itself is stated, whose expanded uncertainty is *expanded_mg*.
    """
    difference = weighed_mg - estimated_mg
    step = max(round_uncertainty(abs(difference))[1], round_uncertainty(expanded_mg)[1])
    shown = round_to(abs(difference), step)
    if not shown:
        return "the same"
    share = f" ({abs(difference) / estimated_mg:.0%})".replace("%", " %") if estimated_mg > 0 else ""
    return f"{Mass(shown)} {'more' if difference > 0 else 'less'}{share}"


def _increments_of(desk: Desk, entry: Entry) -> tuple[Increment, ...]:
    match entry.body:
        case Weighing(container=ref):
            facts: Iterable[Fact] = desk.facts_about(Subject("container", ref))
        case Receipt(pickup=ref):
            pickup = desk.find_pickup(ref)
            subjects = [Subject("container", one) for one in pickup.containers] if pickup is not None else []
            found = {fact.place: fact for one in (*subjects, Subject("pickup", ref)) for fact in desk.facts_about(one)}
            facts = sorted(found.values(), key=lambda fact: fact.order)
        case _:
            facts = (Fact(entry.seq, entry.seq, entry.happened_at, entry.recorded_at, entry.recorded_by, entry.body),)
    return tuple(one for one in mass_increments(facts, received_limits()) if one.seq == entry.seq)


def _compared(
    desk: Desk, entry: Entry, increments: tuple[Increment, ...], before: Prior
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    match entry.body:
        case Weighing(container=ref, gross=gross):
            stood = standing_before(desk, ref, entry)
            return (
                ((), ()) if stood is None else _container(mass_of(desk, stood, before), gross.mass_mg - stood.tare_mg)
            )
        case Receipt(pickup=ref):
            return _received(desk, ref, entry.seq), ()
    sources = mass_sources(desk)
    known = [(one, standing_mass(one.holding, before, mass_sources=sources)) for one in increments]
    says = tuple(
        _said_before(_ALONE[one.weighed], estimate, one.net_mg)
        for one, estimate in known
        if not one.inserts_unknown and estimate.estimated_mg
    )
    return says, tuple(ask for one, estimate in known for ask in _unit_asked(one, estimate, before))


def _unit_asked(one: Increment, known: Estimate, before: Prior) -> tuple[str, ...]:
    """Whether the unit is right, where a trap weighed by itself held more than the estimate had allowed for."""
    if one.weighed != "trap":
        return ()
    for tally in one.tallies:
        # Of a trap that was clean or swapped just before, the estimate allows nothing; a full one could be there.
        if not known.estimated_mg:
            full = Tally(tally.source, "", tally.count, tally.dentists_permille)
            known = standing_mass(Holding(tallies=(full,)), before)
        if one.net_mg > known.upper_mg:
            step = round_uncertainty(known.expanded_mg)[1]
            upper = Mass(-(-known.upper_mg // step) * step)
            held = f"{Mass(one.net_mg)} in one {source_words(tally.source)} is more than the estimate had allowed for"
            return (f"{held}, up to {upper} (95 %). {UNIT_RIGHT} If not, correct entry {one.seq}.",)
    return ()


def _container(known: Estimate, weighed_mg: int) -> tuple[tuple[str, ...], tuple[str, ...]]:
    says = (_said_before("The estimate had said", known, weighed_mg),) if known.basis == "estimate" else ()
    # Bodies and pieces of unknown mass are in no estimate, so more may be weighed; less asks all the same.
    if known.lower_mg <= weighed_mg and (weighed_mg <= known.upper_mg or known.unknown_pieces):
        return says, ()
    step = round_uncertainty(known.expanded_mg)[1]
    lower, upper = (Mass(end // step * step) for end in (known.lower_mg, known.upper_mg + step - 1))
    lay = f"between {lower} and {upper}"
    ask = "Was every swap recorded, and is it the right container?"
    return says, (f"The scale says {Mass(weighed_mg)}; the estimate before lay {lay}. {ask}",)


def _said_before(begin: str, estimate: Estimate, weighed_mg: int) -> str:
    said = f"{begin} {statement(estimate)}"
    if not estimate.value_mg:
        return f"{said}."
    return f"{said}; the scale shows {far_off(weighed_mg, estimate.value_mg, estimate.expanded_mg)}."


def _received(desk: Desk, pickup: str, seq: int) -> tuple[str, ...]:
    """Each weight of a receipt against an estimate; one beyond all agreement is said as a warning, elsewhere."""
    return tuple(
        f"{one.container or 'All together'}: the estimate had said {one.left}; the facility states "
        f"{far_off(one.received_mg, one.left_mg, (one.upper_mg - one.lower_mg) // 2)}."
        for one in comparisons_of(desk, pickup)
        if one.receipt_seq == seq and not one.is_weighed and not one.is_beyond and one.left_mg
    )


def _learned(before: Prior, after: Prior, direct: list[str]) -> tuple[str, ...]:
    moved = _moved(before, after)
    if not moved:
        return ()
    named = [kind for kind in direct if kind in moved][:_MOST_KINDS]
    says = [
        f"Learned of a {source_words(kind)}, {one_of(after, kind)}: {mean_words(after, kind)}; "
        f"before, {_short(before, kind)}."
        for kind in named
    ]
    rest = len(moved) - len(named)
    if rest:
        others = "1 other kind" if rest == 1 else f"{rest} other kinds"
        says.append(
            f"{others} moved with it: wasteledger learned." if named else f"{others} moved: wasteledger learned."
        )
    return tuple(says)


def _short(prior: Prior, kind: str) -> str:
    return mean_words(prior, kind).removesuffix(", estimate").replace(" (95 %)", "")


def _moved(before: Prior, after: Prior) -> list[str]:
    """Kinds of which the learning changed what is said of them, as rounded."""
    return [
        kind for kind in after.kinds if kind in before.kinds and mean_words(before, kind) != mean_words(after, kind)
    ]


def _moved_most(before: Prior, after: Prior) -> list[str]:
    """The kinds whose mean moved furthest for its size, where no increment of the entry itself says which to name."""
    return sorted(
        _moved(before, after),
        key=lambda kind: (
            -abs(mean_of(after, kind).value_mg - mean_of(before, kind).value_mg)
            / max(1, mean_of(before, kind).value_mg)
        ),
    )
