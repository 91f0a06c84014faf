"""What stands in a container and how full it is, by what the practice's own weighings and levels have taught so far."""

from __future__ import annotations

from wasteledger.estimate.containers import Estimate, standing_mass
from wasteledger.estimate.fullness import Fullness, fullness
from wasteledger.estimate.prior import Prior
from wasteledger.estimate.rounding import round_to, round_uncertainty, statement
from wasteledger.ledger.reader import Reader
from wasteledger.model.standing import ContainerStanding
from wasteledger.office.learning import current_prior
from wasteledger.office.starting_values import mass_sources, shipped_prior
from wasteledger.office.volumes import Volumes

# Documents say masses in the estimate's own words, and come to them through the office.
__all__ = ["fullness_of", "mass_of", "round_to", "round_uncertainty", "shipped_prior", "statement"]


def mass_of(reader: Reader, container: ContainerStanding, prior: Prior | None = None) -> Estimate:
    """What *container* holds now; *prior* stands in for the newest calibration where one is given."""
    return standing_mass(container.holding, prior or current_prior(reader), mass_sources=mass_sources(reader))


def fullness_of(
    reader: Reader, container: ContainerStanding, estimate: Estimate, volumes: Volumes | None = None
) -> Fullness:
    """How full *container* is by level, mass and pieces; *volumes* spares reading them where they were read already."""
    return fullness(container, estimate, (volumes or Volumes(reader)).level(container))
