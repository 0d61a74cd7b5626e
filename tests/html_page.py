"""An HTML page read back: what is open, its headings, the words for its pictures."""

from __future__ import annotations

from html.parser import HTMLParser

ALONE = ("meta", "br", "img")  # tags that nothing closes


class Page(HTMLParser):
    """Fails on a tag that closes another than the last that was opened."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.heads: list[str] = []
        self.images: list[str] = []
        self.captions = 0
        self.feed(text)

    def handle_starttag(self, tag, attributes):
        said = dict(attributes)
        if tag in ("h1", "h2", "h3"):
            self.heads.append(tag)
        if tag in ("svg", "img"):
            self.images.append(said.get("aria-label") or said.get("alt") or "")
        self.captions += tag == "caption"
        if tag not in ALONE:
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        pass

    def handle_endtag(self, tag):
        assert self.open.pop() == tag
