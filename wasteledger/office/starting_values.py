"""What is taken for known before anything was weighed: files that an office may lay its own copies over."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from wasteledger.estimate.agreement import RECEIVED, ReceivedLimits, read_received_limits
from wasteledger.estimate.prior import DEFAULTS, Prior, read_prior
from wasteledger.ledger.reader import Reader
from wasteledger.model.register import StreamDetails
from wasteledger.resources import find


def shipped_prior() -> Prior:
    """The starting values in force: the office's own file, else the shipped one.

    Raises:
        BadPrior: The file has faults, all of them named.
    """
    return _prior(find(DEFAULTS))


def received_limits() -> ReceivedLimits:
    """How well a received weight is taken to be known where its paper does not say: the office's file, else ours.

    Raises:
        BadPrior: The file has faults, all of them named.
    """
    return _limits(find(RECEIVED))


def mass_sources(reader: Reader) -> dict[str, str]:
    """The kind that each stream put in by count takes its mass from, by stream; of retired streams too.

    What went in while a stream was in use still lies there.
    """
    return {
        line.ref: line.details.mass_source
        for line in reader.lines("stream", retired=True)
        if isinstance(line.details, StreamDetails) and line.details.mass_source
    }


@lru_cache(maxsize=4)
def _prior(path: Path) -> Prior:
    return read_prior(path.read_bytes(), name=path.name)


@lru_cache(maxsize=4)
def _limits(path: Path) -> ReceivedLimits:
    return read_received_limits(path.read_bytes(), name=path.name)
