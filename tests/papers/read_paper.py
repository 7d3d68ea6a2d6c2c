"""How the tests read a paper: the texts of a PDF's pages and of a page's tables."""

from __future__ import annotations

from html.parser import HTMLParser

import pypdfium2

HOSTILE = "</script><img src=x onerror=alert(1)> ${alert(1)} `{{7*7}}` \\u0060 😀\u202e" + "W" * 131
"""200 characters that would break out of HTML, JavaScript, a template or a line of text."""


class Rows(HTMLParser):
    """The rows of every table in a page, as texts."""

    def __init__(self, html: str) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self._inside = False
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: object) -> None:
        if tag == "tr":
            self.rows.append([])
        if tag in ("td", "th"):
            self.rows[-1].append("")
            self._inside = True

    def handle_endtag(self, tag: str) -> None:
        if tag in ("td", "th"):
            self._inside = False

    def handle_data(self, data: str) -> None:
        if self._inside:
            self.rows[-1][-1] += data


def pdf_pages(content: bytes) -> list[str]:
    """The text of each page."""
    document = pypdfium2.PdfDocument(content)
    try:
        return [page.get_textpage().get_text_bounded() for page in document]
    finally:
        document.close()


def squeezed(text: str) -> str:
    """A text with every run of blanks as one."""
    return " ".join(text.split())
