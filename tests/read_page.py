"""A page as a tree, and the search for what must not be in it: figures without their caution."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator

VOID = {"meta", "input", "br", "link", "img", "hr"}


@dataclass
class Element:
    """An element with its attributes and what is in it."""

    tag: str
    attributes: dict[str, str] = field(default_factory=dict)
    children: list[Element | str] = field(default_factory=list)

    def all(self, *tags: str) -> Iterator[Element]:
        """Give this element and all below it, of some tags or of any."""
        if not tags or self.tag in tags:
            yield self
        for child in self.children:
            if isinstance(child, Element):
                yield from child.all(*tags)

    @property
    def text(self) -> str:
        """Give the text below it, runs of blanks as one."""
        parts = (child if isinstance(child, str) else child.text for child in self.children)
        return " ".join(" ".join(parts).split())


class _Reader(HTMLParser):
    """Builds the tree; an element that is closed out of turn is a fault."""

    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = Element("")
        self.open = [self.root]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Open an element."""
        element = Element(tag, {name: value or "" for name, value in attrs})
        self.open[-1].children.append(element)
        if tag not in VOID:
            self.open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Add an element without contents, as XML writes it."""
        self.open[-1].children.append(Element(tag, {name: value or "" for name, value in attrs}))

    def handle_endtag(self, tag: str) -> None:
        """Close an element."""
        closed = self.open.pop()
        assert closed.tag == tag, f"<{closed.tag}> is closed by </{tag}>"

    def handle_data(self, data: str) -> None:
        """Add text."""
        self.open[-1].children.append(data)


def read(page: str) -> Element:
    """Read a page; raises `AssertionError` where it is not well formed."""
    reader = _Reader()
    reader.feed(page)
    reader.close()
    assert len(reader.open) == 1, f"never closed: {[element.tag for element in reader.open[1:]]}"
    return reader.root


def uncautioned(page: str, caution: str) -> list[str]:
    """Name the sections, tables and pictures that do not show the caution."""
    root = read(page)
    by_id = {element.attributes["id"]: element for element in root.all() if "id" in element.attributes}
    found = []
    for section in root.all("section"):
        if caution not in section.text:
            found.append(f"section {section.attributes['aria-labelledby']}")
        for table in section.all("table"):
            described = by_id.get(table.attributes.get("aria-describedby", ""), Element(""))
            if described.text != caution:
                found.append(f"table {table.attributes.get('id')}")
        for drawing in section.all("svg"):
            said = " ".join(element.text for element in drawing.all("text"))
            if caution not in said:
                found.append(f"picture {drawing.attributes['aria-labelledby']}")
    return found
