"""The structure of a PDF for readers who hear the page: per sheet a section with its drawing, described in
words, its headings and its texts in the order they were drawn (ISO 32000-1, 14.7 and 14.8).

No claim of PDF/UA is made: nothing here has been through its validator.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any, Literal, TypeAlias

from reportlab.pdfbase import pdfdoc
from reportlab.pdfgen.canvas import Canvas

Role: TypeAlias = Literal["Figure", "H1", "P"]


@dataclass
class _Section:
    title: str
    alt: str
    marked: list[tuple[Role, int]] = field(default_factory=list)
    """Role and element of each marked-content sequence of the page, by its number."""


class StructureTree:
    """Marks content while pages are drawn; ``finish`` writes the tree that names it."""

    def __init__(self, canvas: Canvas) -> None:
        self._canvas = canvas
        self._document = canvas._doc
        self._sections: list[_Section] = []
        self._open: Role | None = None

    def begin_sheet(self, title: str, alt: str) -> None:
        self._sections.append(_Section(title, alt))

    def mark(self, role: Role) -> None:
        """What is drawn from here on is a part of the drawing, a heading or a text."""
        if role == self._open == "Figure":
            return
        marked = self._sections[-1].marked
        element = marked[-1][1] if marked else 0
        # texts with no line between them, such as a note or a row, are one element of several sequences
        if role != self._open or role == "H1":
            element += 1
        self._close()
        # reportlab knows no marked content; its own methods append operators to the page likewise
        self._canvas._code.append(f"/{role} <</MCID {len(marked)}>> BDC")
        marked.append((role, element))
        self._open = role

    def end_sheet(self) -> None:
        """Call before the page is shown."""
        self._close()

    def _close(self) -> None:
        if self._open:
            self._canvas._code.append("EMC")
        self._open = None

    def finish(self) -> None:
        """Call after the last page is shown. Adds the tree, and to each page its place in it."""
        pages = self._document.Pages.pages
        root = self._name("root")
        sections, numbers = [], []
        for index, (section, page) in enumerate(zip(self._sections, pages, strict=True)):
            # keys that reportlab's page does not list are written when its own list is longer
            page.__NoDefault__ = [*page.__NoDefault__, "StructParents", "Tabs"]
            page.StructParents, page.Tabs = index, pdfdoc.PDFName("S")
            reference, parents = self._section(section, index)
            sections.append(reference)
            numbers += [index, self._document.Reference(pdfdoc.PDFArray(parents))]
        whole = self._add("document", S="/Document", P=root, K=pdfdoc.PDFArray(sections))
        tree = self._add("parents", Nums=pdfdoc.PDFArray(numbers))
        entries = {"K": whole, "ParentTree": tree, "ParentTreeNextKey": len(pages)}
        self._add("root", Type="/StructTreeRoot", **entries)
        self._document.Catalog.StructTreeRoot = root
        self._document.Catalog.MarkInfo = pdfdoc.PDFDictionary({"Marked": "true"})

    def _section(self, section: _Section, index: int) -> tuple[Any, list[Any]]:
        """The section's element, and for each marked sequence of its page the element that owns it."""
        page = pdfdoc.PDFObjectReference(f"Page{index + 1}")
        me, figure = self._name(f"section{index}"), self._name(f"figure{index}")
        kids: list[Any] = []
        parents: list[Any] = []
        texts: dict[int, tuple[Role, list[int]]] = {}
        drawn: list[int] = []
        for n, (role, element) in enumerate(section.marked):
            if role == "Figure":
                drawn.append(n)
                parents.append(figure)
            else:
                texts.setdefault(element, (role, []))[1].append(n)
                parents.append(self._name(f"text{index}-{element}"))
        if drawn:
            alt = pdfdoc.PDFString(section.alt or section.title)
            kids.append(figure)
            self._add(f"figure{index}", S="/Figure", P=me, Pg=page, Alt=alt, K=pdfdoc.PDFArray(drawn))
        for element, (role, held) in texts.items():
            part = f"text{index}-{element}"
            kids.append(self._add(part, S=f"/{role}", P=me, Pg=page, K=pdfdoc.PDFArray(held)))
        whole = self._name("document")
        self._add(
            f"section{index}", S="/Sect", P=whole, T=pdfdoc.PDFString(section.title), K=pdfdoc.PDFArray(kids)
        )
        return me, parents

    @staticmethod
    def _name(part: str) -> Any:
        return pdfdoc.PDFObjectReference(f"structure-{part}")

    def _add(self, part: str, **entries: Any) -> Any:
        return self._document.Reference(pdfdoc.PDFDictionary(entries), f"structure-{part}")
