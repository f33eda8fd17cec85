"""Syllables under rests and held notes."""

from __future__ import annotations

from collections.abc import Iterator

from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import Head, Page
from variants.proof.registry import rule
from variants.proof.views.ties import ends


@rule("lyric-rest", Severity.WARNING, "a syllable stands where nothing is sung anew")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the syllables under rests; under a tied-over note as a hint."""
    for part in page.parts:
        for head in part.heads:
            if not head.lyrics or not (head.is_rest or ends(head)):
                continue
            text = _sung(head)
            if text:
                what = "a rest" if head.is_rest else "a note that is held over"
                yield at_head(
                    head, f"the syllable {text!r} stands under {what}",
                    expected="the syllable under a note that begins",
                    severity=None if head.is_rest else Severity.HINT,
                )  # fmt: skip


def _sung(head: Head) -> str:
    for lyric in head.lyrics:
        # Counts and names of notes may stand anywhere; they are told by their name.
        if lyric.get("name", "") in {"", "verse", "chorus"}:
            text = "".join(one.text or "" for one in lyric.iter("text")).strip()
            if text and not text.isdigit() and text[0] not in "([&":
                return text
    return ""
