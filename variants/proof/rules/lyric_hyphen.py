"""Words that begin and do not end."""

from __future__ import annotations

from collections.abc import Iterator

from lxml import etree

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Head, Page, PagePart
from variants.proof.registry import rule


@rule("lyric-hyphen", Severity.WARNING, "a word is broken off between its syllables")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the syllables whose hyphen leads to no other, and those that continue nothing."""
    for part in page.parts:
        for line in _lines(part):
            opened: Head | None = None
            for head, kind in line:
                if kind in {"middle", "end"} and opened is None:
                    yield at_head(head, "the syllable ends a word that nothing begins",
                                  expected="a word from its first syllable")  # fmt: skip
                elif kind in {"begin", "single"} and opened is not None:
                    yield at_head(opened, "the hyphen of the syllable leads to no other",
                                  expected="the rest of the word")  # fmt: skip
                opened = head if kind in {"begin", "middle"} else None
            if opened is not None:
                yield at_head(opened, "the hyphen of the syllable leads to no other",
                              expected="the rest of the word")  # fmt: skip


def _lines(part: PagePart) -> list[list[tuple[Head, str]]]:
    lines: dict[tuple[str, str, str, int], list[tuple[Head, str]]] = {}
    for head in part.heads:
        for lyric in head.lyrics:
            kind = (lyric.findtext("syllabic") or "").strip()
            if kind and _has_text(lyric):
                key = (lyric.get("number", "1"), lyric.get("name", ""), head.voice, head.staff)
                lines.setdefault(key, []).append((head, kind))
    for line in lines.values():
        line.sort(key=lambda one: one[0].moment)
    return list(lines.values())


def _has_text(lyric: etree._Element) -> bool:
    return any((one.text or "").strip() for one in lyric.iter("text"))
