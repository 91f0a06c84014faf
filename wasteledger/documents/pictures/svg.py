"""A drawing as SVG text for a page: real words, a title and a description, and no style that a page could refuse."""

from __future__ import annotations

import re
from typing import Any
from xml.dom import minidom
from xml.dom.minidom import Document, Element

from reportlab.graphics import renderSVG

from wasteledger.documents.pictures.sketch import REST, WORDS, Sketch

# What a browser has of these is near to Fira Sans in width; textLength makes up for the rest.
FAMILY = "Fira Sans, Noto Sans, Segoe UI, Helvetica, Arial, sans-serif"

# Characters that XML 1.0 cannot hold at all, section 2.2.
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def svg_of(sketch: Sketch, name: str, title: str, description: str) -> str:
    """The text of an SVG file.

    Words stand in reading order, once each, as text; the page's own fonts draw them, spread to the measured width.
    Colours and widths are attributes, since a page whose policy takes no inline style drops a style attribute.

    Args:
        sketch: What was drawn.
        name: Unique on the page; the title and the description are found by it.
        title: What it is, in a few words.
        description: What it shows, for somebody who cannot see it.
    """
    canvas: Any = renderSVG.SVGCanvas((sketch.width, sketch.height))
    renderSVG.draw(sketch.drawing, canvas, 0, 0, showBoundary=False)
    document: Document = canvas.doc
    svg = document.documentElement
    if svg is None:
        raise ValueError("ReportLab drew no root")
    # The document type that it names has no use, and validators load it from the network.
    if document.doctype is not None:
        document.removeChild(document.doctype)
    for shape in list(svg.getElementsByTagName("*")):
        _tidy(shape)
    _say(document, svg, name, title, description)
    return str(document.toprettyxml(indent=" ", newl="\n", encoding="utf-8").decode("utf-8"))


def _tidy(shape: Element) -> None:
    if shape.tagName == "clipPath":
        _parent(shape).removeChild(shape)
        return
    if shape.hasAttribute(REST):
        _parent(shape).removeChild(shape)
        return
    for said in shape.getAttribute("style").split(";"):
        key, _, value = (part.strip() for part in said.partition(":"))
        # Its writer puts the join of lines where their caps should stand, and clips to what is the whole view.
        if key and value != "miter" and key not in ("clip-path", "font-family"):
            shape.setAttribute(key, "none" if value == "None" else value.removesuffix("px"))
        if key == "font-family" and value.endswith("Bold"):
            shape.setAttribute("font-weight", "bold")
    for surplus in ("style", "id"):
        if shape.hasAttribute(surplus):
            shape.removeAttribute(surplus)
    if shape.tagName == "path":
        # A line that is closed is drawn to and fro, and its dashes with it.
        shape.setAttribute("d", shape.getAttribute("d").strip().removesuffix("Z").strip())
    if shape.tagName == "text":
        _tidy_words(shape)


def _tidy_words(text: Element) -> None:
    words = text.getAttribute(WORDS)
    text.removeAttribute(WORDS)
    # Spread or drawn together to the width that was measured, whatever face the page has.
    text.setAttribute("lengthAdjust", "spacingAndGlyphs")
    node = text.firstChild
    if isinstance(node, minidom.Text):
        node.data = _plain(words)


def _say(document: Document, svg: Element, name: str, title: str, description: str) -> None:
    for surplus in ("xmlns:xlink", "preserveAspectRatio", "fill-rule"):
        svg.removeAttribute(surplus)
    svg.setAttribute("version", "1.1")
    svg.setAttribute("role", "img")
    svg.setAttribute("font-family", FAMILY)
    svg.setAttribute("aria-labelledby", f"{name}-title {name}-desc")
    for tag, words in (("title", title), ("desc", description)):
        said = svg.getElementsByTagName(tag)[0]
        said.setAttribute("id", f"{name}-{tag}")
        if isinstance(said.firstChild, minidom.Text):
            said.firstChild.data = _plain(words)
    paper = document.createElement("rect")
    for key, value in (("width", "100%"), ("height", "100%"), ("fill", "white")):
        paper.setAttribute(key, value)
    svg.insertBefore(paper, svg.getElementsByTagName("g")[0])


def _plain(words: str) -> str:
    return _NOT_XML.sub("\ufffd", words)


def _parent(shape: Element) -> Element:
    parent = shape.parentNode
    if not isinstance(parent, Element):
        raise ValueError("a shape stands outside the drawing")
    return parent
