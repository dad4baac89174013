"""HTML pages taken apart, for tests."""

import re
from html.parser import HTMLParser

VOID = {"meta", "br", "link", "img", "input", "hr"}


class Page(HTMLParser):
    """A page: its tags with their attributes, and its text piece by piece."""

    def __init__(self, source: str) -> None:
        super().__init__()
        self.source = source
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.pieces: list[str] = []
        self._open: list[str] = []
        self.feed(source)
        assert not self._open, f"left open: {self._open}"

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self._open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        assert self._open.pop() == tag, f"</{tag}> closes something else"

    def handle_data(self, data: str) -> None:
        if "style" not in self._open:
            self.pieces.append(data)

    @property
    def text(self) -> str:
        """All text, with single spaces."""
        return " ".join(" ".join(self.pieces).split())

    def with_class(self, name: str) -> list[str]:
        """Return the text in every innermost ``div`` or ``td`` of a class, spaced singly."""
        found = re.findall(rf'<(div|td|tr) class="{name}[^>]*>(.*?)</\1>', self.source, re.DOTALL)
        return [" ".join(re.sub(r"<[^>]+>", " ", inner).split()) for _, inner in found]


def asks_nothing_of_the_network(source: str) -> bool:
    """Say whether a page names nothing to be fetched: no address, no file, no script."""
    fetched = re.findall(r"""(?:src|href)\s*=\s*["']?([^"'\s>]+)""", source)
    fetched += re.findall(r"url\(\s*[\"']?([^)\"']+)", source)
    apart = re.search(r"<(?:script|link|iframe|img|object|embed|base)\b|@import", source)
    return apart is None and all(each.startswith("#") for each in fetched)
