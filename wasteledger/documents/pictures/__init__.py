"""Pictures: each drawn once with ReportLab's graphics, onto paper and as SVG for a page.

Importing this package loads ReportLab; `wasteledger.documents` imports it when a picture is first drawn.
"""

from __future__ import annotations

from wasteledger.documents.pictures.sheet import SvgFile, draw, picture_blocks, svg_files

__all__ = ["SvgFile", "draw", "picture_blocks", "svg_files"]
