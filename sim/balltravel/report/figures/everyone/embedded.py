"""A figure as part of a page: SVG whose text is text, and whose names clash with no other figure's."""

import io
import re
from xml.etree import ElementTree

import matplotlib as mpl
from markupsafe import Markup
from matplotlib.figure import Figure

SVG, XLINK = "http://www.w3.org/2000/svg", "http://www.w3.org/1999/xlink"
NOTHING = dict.fromkeys(("Date", "Creator", "Format", "Type"))


def embedded(figure: Figure, name: str, label: str) -> Markup:
    """A figure as an SVG element; ``name``: of letters, and of no other figure on the page; ``label``: what a
    screen reader says."""
    buffer = io.StringIO()
    with mpl.rc_context({"svg.fonttype": "none", "svg.hashsalt": name}):
        figure.savefig(buffer, format="svg", metadata=NOTHING)
    drawn = re.sub(r"<!DOCTYPE[^>]*>", "", buffer.getvalue())
    root = ElementTree.fromstring(drawn)
    _without_rules(root)
    for element in root.iter():
        _name_apart(element, name)
        if "d" in element.attrib:
            element.set(
                "d", re.sub(r"\d+\.\d{3,}", lambda place: f"{float(place[0]):.2f}", element.attrib["d"])
            )
    for size in ("width", "height"):
        root.attrib.pop(size, None)
    root.attrib |= {"class": f"drawn {name}", "role": "img", "aria-label": label}
    ElementTree.register_namespace("", SVG)
    ElementTree.register_namespace("xlink", XLINK)
    return Markup(ElementTree.tostring(root, encoding="unicode"))


def _without_rules(root: ElementTree.Element) -> None:
    """Take the style element out, for its rule would hold for the whole page, and put it on the root."""
    for parent in list(root.iter()):
        for child in list(parent):
            if child.tag == f"{{{SVG}}}style":
                parent.remove(child)
    root.set("style", "stroke-linejoin: round; stroke-linecap: butt")


def _name_apart(element: ElementTree.Element, name: str) -> None:
    """Put the figure's name before an element's own and before those that it refers to."""
    for key, value in element.attrib.items():
        if key == "id":
            element.set(key, f"{name}-{value}")
        elif key.endswith("href") and value.startswith("#"):
            element.set(key, f"#{name}-{value[1:]}")
        elif "url(#" in value:
            element.set(key, value.replace("url(#", f"url(#{name}-"))
