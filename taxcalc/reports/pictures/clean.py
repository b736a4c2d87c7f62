"""An SVG of the drawing library made fit for a page: no styles, no foreign names, a title and a description."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final
from xml.etree import ElementTree as ET  # our own drawing is read back, nobody else's

if TYPE_CHECKING:
    from taxcalc.reports.pictures.picture import Picture

SVG: Final = "http://www.w3.org/2000/svg"
LINK: Final = "{http://www.w3.org/1999/xlink}href"
FONT: Final = re.compile(r"(?:(italic|oblique)\s+)?(?:(bold|\d+)\s+)?([\d.]+)px\s+(.+)")
FAMILY: Final = "DejaVu Sans, Verdana, sans-serif"
"""Verdana has the widths of the first one, which not every computer has."""
_DROPPED: Final = {f"{{{SVG}}}metadata", f"{{{SVG}}}style", f"{{{SVG}}}title"}
_ADDRESS: Final = re.compile(r"url\(#([^)]+)\)")


def cleaned(drawing: bytes, picture: Picture) -> str:
    """Give the drawing as one element: `role="img"` with its words, attributes in the place of styles.

    A page that lets no style in (its content-security policy) would draw styles of the elements away.
    """
    ET.register_namespace("", SVG)
    root = ET.fromstring(drawing)  # noqa: S314 - made a moment ago by the drawing library
    for element in root.iter():
        for child in [child for child in element if child.tag in _DROPPED]:
            element.remove(child)
        _plain(element)
    _rename(root, picture.name)
    root.attrib.pop("version", None)
    width, height = root.attrib.pop("width"), root.attrib.pop("height")
    root.attrib |= {"role": "img", "aria-labelledby": f"{picture.name}-title {picture.name}-words"}
    root.attrib["viewBox"] = f"0 0 {width.removesuffix('pt')} {height.removesuffix('pt')}"
    for at, (tag, words) in enumerate((("title", picture.finding), ("desc", picture.alt))):
        part = ET.Element(f"{{{SVG}}}{tag}", {"id": f"{picture.name}-{('title', 'words')[at]}"})
        part.text = words
        root.insert(at, part)
    return ET.tostring(root, encoding="unicode", short_empty_elements=True)


def _plain(element: ET.Element) -> None:
    """Write the declarations of a style as attributes of the element."""
    for declaration in element.attrib.pop("style", "").split(";"):
        name, _, value = (part.strip() for part in declaration.partition(":"))
        if name == "font" and (found := FONT.fullmatch(value)):
            slant, weight, size, _family = found.groups()
            element.attrib |= {"font-size": size, "font-family": FAMILY}
            element.attrib |= {"font-weight": weight} if weight else {}
            element.attrib |= {"font-style": slant} if slant else {}
        elif name == "font-family":
            element.attrib[name] = FAMILY
        elif name == "font-size":
            element.attrib[name] = value.removesuffix("px")
        elif name:
            element.attrib[name] = value
    if LINK in element.attrib:
        element.attrib["href"] = element.attrib.pop(LINK)


def _rename(root: ET.Element, name: str) -> None:
    """Keep only the ids that something refers to, with the name of the picture in front, unique in a page."""
    used = {
        found
        for element in root.iter()
        for key, value in element.attrib.items()
        for found in (_ADDRESS.findall(value) + ([value[1:]] if key == "href" else []))
    }
    for element in root.iter():
        if element.attrib.get("id") not in used:
            element.attrib.pop("id", None)
        for key, value in element.attrib.items():
            if key == "id":
                element.attrib[key] = f"{name}-{value}"
            elif key == "href":
                element.attrib[key] = f"#{name}-{value[1:]}"
            else:
                element.attrib[key] = _ADDRESS.sub(rf"url(#{name}-\1)", value)
