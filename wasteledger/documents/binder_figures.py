"""Pieces and masses of the inspection binder in words, each with its basis."""

from __future__ import annotations

from wasteledger.documents.fill import _without_basis
from wasteledger.documents.papers import Basis, MassFigure
from wasteledger.model.entries import Receipt
from wasteledger.office.masses import round_to, round_uncertainty, statement
from wasteledger.office.movements import Adjustment, Held, Movement
from wasteledger.units import Mass


def held_figure(held: Held) -> MassFigure:
    """Pieces, and their mass as far as it is known."""
    count = _pieces(held.pieces)
    if held.mass is None or (not held.mass.value_mg and not held.mass.upper_mg):
        return MassFigure(Basis.NONE, count)
    basis = Basis.WEIGHED if held.mass.basis == "weighed" else Basis.ESTIMATE
    value_mg = held.mass.value_mg if basis is Basis.WEIGHED else None
    return MassFigure(basis, f"{count}: {_without_basis(statement(held.mass))}", value_mg)


def taken_out(one: Movement) -> MassFigure:
    """What the release recorded, which is what the manifest says."""
    if one.released is None:
        return MassFigure(Basis.NONE, _pieces(0))
    said, is_weighed = _without_basis(one.released.statement), one.released.basis == "weighed"
    basis = Basis.WEIGHED if is_weighed else Basis.ESTIMATE
    return MassFigure(basis, f"{_pieces(one.taken_out.pieces)}: {said}", one.released.net_mg if is_weighed else None)


def set_right(one: Adjustment | None) -> MassFigure:
    """What weighings changed; a weighing less an estimate is an estimate."""
    if one is None:
        return MassFigure(Basis.NONE)
    step = round_uncertainty((one.upper_mg - one.lower_mg + 1) // 2)[1]
    lower_mg, upper_mg = one.lower_mg // step * step, -(-one.upper_mg // step) * step
    said = f"{_signed(round_to(one.value_mg, step))}, between {_signed(lower_mg)} and {_signed(upper_mg)}"
    if one.is_weighed:
        return MassFigure(Basis.WEIGHED, said, one.value_mg)
    return MassFigure(Basis.ESTIMATE, said)


def received_mass(receipt: Receipt | None) -> MassFigure | None:
    """What the facility states, where it states a mass."""
    if receipt is None or (receipt.total_mg is None and not receipt.containers):
        return None
    total_mg = receipt.total_mg
    if total_mg is None:
        total_mg = sum(one.net_mg for one in receipt.containers)
    return MassFigure(Basis.WEIGHED, f"{Mass(total_mg)} by the facility's paper", total_mg)


def _pieces(count: int) -> str:
    return "1 piece" if count == 1 else f"{count} pieces"


def _signed(mass_mg: int) -> str:
    return f"{'−' if mass_mg < 0 else '+'}{Mass(abs(mass_mg))}"
