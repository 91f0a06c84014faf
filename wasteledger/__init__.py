"""wasteledger: the record of a dental practice's amalgam and trap waste."""

from __future__ import annotations

__version__ = "0.1.0"
