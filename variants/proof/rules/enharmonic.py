"""Spellings that no one expects in the key."""

from __future__ import annotations

from collections.abc import Iterator

from variants.music import Key, Pitch, spelled
from variants.proof.finding import Flaw, Severity, at_head
from variants.proof.page import LETTERS, Head, KeyTable, Page, PagePart
from variants.proof.registry import rule

# Places on the line of fifths, counted from the signature: the scale lies from -1 to 5; the
# lowered second and sixth of minor keys below it, the raised second and fifth above it (common
# practice).
LOWEST, HIGHEST = -6, 10


@rule("enharmonic", Severity.HINT, "a note is spelled in a way that its key does not ask for")
def check(page: Page) -> Iterator[Flaw]:
    """Yield the notes that have a nearer name."""
    for part in page.parts:
        for head, fifths in _with_keys(part):
            pitch = head.pitch
            if pitch is None or pitch.is_microtone:
                continue
            if not LOWEST <= pitch.fifths - fifths <= HIGHEST:
                yield at_head(
                    head, f"{pitch} is oddly spelled in the signature of {_signature(fifths)}",
                    expected=str(_usual(pitch, fifths)),
                )  # fmt: skip


def _with_keys(part: PagePart) -> Iterator[tuple[Head, int]]:
    tables: dict[int, int | None] = {0: 0}
    for bar in part.bars:
        for _, staff, table in bar.keys:
            if staff == 0:
                tables.clear()
            tables[staff] = _fifths(table)
        for head in bar.heads:
            if head.pitch is None or head.staff in part.tab_staves:
                continue
            fifths = tables.get(head.staff, tables.get(0, 0))
            if fifths is not None:
                yield head, fifths


def _fifths(table: KeyTable | None) -> int | None:
    if table is None:
        return None
    total = sum(table)
    if total.denominator != 1:
        return None
    fifths = int(total)
    regular = tuple(Key(fifths).altered(letter) for letter in LETTERS)
    return fifths if regular == table else None


def _usual(pitch: Pitch, fifths: int) -> Pitch:
    return spelled(pitch.midi, Key(fifths))


def _signature(fifths: int) -> str:
    if not fifths:
        return "C major"
    return f"{abs(fifths)} {'sharp' if fifths > 0 else 'flat'}{'s' if abs(fifths) > 1 else ''}"
