"""What stands in a container, from the shipped starting values and the streams of the register."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from wasteledger.estimate.containers import Estimate, standing_mass
from wasteledger.estimate.fullness import Fullness, fullness
from wasteledger.estimate.prior import Prior, read_prior
from wasteledger.estimate.rounding import round_to, round_uncertainty, statement
from wasteledger.ledger.reader import Reader
from wasteledger.model.register import StreamDetails
from wasteledger.model.standing import ContainerStanding
from wasteledger.resources import find

# Documents say masses in the estimate's own words, and come to them through the office.
__all__ = ["fullness_of", "mass_of", "round_to", "round_uncertainty", "shipped_prior", "statement"]


def shipped_prior() -> Prior:
    """The starting values in force: the office's own file, else the shipped one.

    Raises:
        BadPrior: The file has faults, all of them named.
    """
    return _prior(find("estimate/defaults.toml"))


@lru_cache(maxsize=4)
def _prior(path: Path) -> Prior:
    return read_prior(path.read_bytes(), name=path.name)


def mass_of(reader: Reader, container: ContainerStanding, prior: Prior | None = None) -> Estimate:
    """What *container* holds now."""
    sources = {
        line.ref: line.details.mass_source
        for line in reader.lines("stream")
        if isinstance(line.details, StreamDetails) and line.details.mass_source
    }
    return standing_mass(container.holding, prior or shipped_prior(), mass_sources=sources)


def fullness_of(container: ContainerStanding, estimate: Estimate) -> Fullness:
    """How full it is by level, mass and pieces."""
    return fullness(container, estimate)
