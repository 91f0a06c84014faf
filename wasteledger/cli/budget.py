"""Says the budget of a container: what its statement rests on, and how much amalgam and metal is in it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from wasteledger.cli import output

if TYPE_CHECKING:
    from wasteledger.office.budget import Budget


def say_budget(found: Budget) -> None:
    """The mass with its parts and causes of uncertainty, then the content, which is always an estimate."""
    from wasteledger.office.budget import causes_of, part_words, rounded

    output.say(f"Budget of {found.container}, as reckoned now: {found.statement}")
    output.columns(found.parts)
    if found.causes:
        output.say(f"  standard uncertainty {rounded(found.estimate.standard_uncertainty_mg)}, made of:")
    output.columns([(one.name, one.uncertainty, one.share, one.means) for one in found.causes], "    ")
    if found.causes:
        output.say(f"  degrees of freedom {found.freedom}")
    for warning in found.warnings:
        output.say(f"! {warning}")
    if not found.contents and not found.notes:
        return
    output.say("Content (estimate, also of what was weighed):")
    for (substance, words), part in zip(found.contents, found.content.parts, strict=False):
        output.say(f"  {substance}: {words}")
        output.say(f"    {part_words(part)}")
        causes = ", ".join(f"{one.name} {one.share}" for one in causes_of(part.budget))
        output.say(f"    variance: {causes}")
    if found.sources:
        output.say("By source (estimate; full swaps, debris, amalgam, mercury, silver):")
        output.columns(found.sources)
    for note in found.notes:
        output.say(f"  {note}")
