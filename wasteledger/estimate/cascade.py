"""What the stages of a suction line hold back, one after the other, of the amalgam that enters it."""

from __future__ import annotations

from wasteledger.errors import NotUnderstood


class ShareOutOfRange(NotUnderstood):
    """A share that is not between 0 and 1."""

    code = "share-out-of-range"

    def __init__(self, noun: str, share: float) -> None:
        super().__init__(f"{share} is no {noun}.", hint="A share lies between 0 and 1; write 68 % as 0.68.")
        self.share = share


def caught_by_stage(entering_mg: float, *shares_caught: float) -> tuple[float, ...]:
    """Mass that each stage holds, first stage first, in mg.

    *shares_caught* are shares of what reaches each stage (0 to 1), not of what entered the line.

    >>> [round(mass) for mass in caught_by_stage(1000, 0.5, 0.2)]
    [500, 100]

    Raises:
        ShareOutOfRange: A share below 0 or above 1.
    """
    held, reaching = [], entering_mg
    for share in shares_caught:
        held.append(reaching * _checked("capture", share))
        reaching -= held[-1]
    return tuple(held)


def escaping_mg(entering_mg: float, *shares_caught: float) -> float:
    """Mass that passes all stages, in mg; *shares_caught* as in `caught_by_stage`.

    Raises:
        ShareOutOfRange: A share below 0 or above 1.
    """
    passing = entering_mg
    for share in shares_caught:
        passing *= 1 - _checked("capture", share)
    return passing


def share_removed(entering: float, leaving: float) -> float:
    """The share (0 to 1) that a stage took out, from what entered and what left it: masses or concentrations.

    >>> round(share_removed(1087.38, 79.13), 3)
    0.927

    Raises:
        ShareOutOfRange: Nothing entered, or more left than entered.
    """
    if not entering > 0:
        raise ShareOutOfRange("amount that can enter a stage", entering)
    return _checked("share removed", 1 - leaving / entering)


def mercury_in_mg(amalgam_mg: float, mercury_share: float) -> float:
    """Mercury in a mass of set amalgam, in mg; published arithmetic takes a *mercury_share* of 0.50.

    Raises:
        ShareOutOfRange: A share below 0 or above 1.
    """
    return amalgam_mg * _checked("share of mercury", mercury_share)


def _checked(noun: str, share: float) -> float:
    if not 0 <= share <= 1:
        raise ShareOutOfRange(noun, share)
    return share
