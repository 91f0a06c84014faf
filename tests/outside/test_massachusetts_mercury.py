"""Mercury of one US state's dental facilities, a dentist and year, from pounds.

Source: Massachusetts Department of Environmental Protection, slides of its program for dental amalgam and mercury, read
2026-11-25: 330 lb a year, 3,600 eligible dentists. 41.579 g a dentist and year by division (inputs are rounded to two
digits).
"""

from __future__ import annotations

import pytest

from wasteledger.units import Mass


def test_massachusetts_grams_per_dentist() -> None:
    released = Mass.parse("330 lb")

    assert float(released.in_unit("g") / 3600) == pytest.approx(41.579, abs=5e-4)
    assert Mass(round(released.mg / 3600)).rounded("g", 2) == "41.58 g"
