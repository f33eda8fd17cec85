"""The notes of a staff by the moment at which they begin."""

from __future__ import annotations

from variants.proof.page import Head, Page, PagePart

# Index of the measure, tick in it, and for grace notes their place before the main note.
Moment = tuple[int, int, int]


def by_moment(page: Page, part: PagePart, staff: int) -> dict[Moment, list[Head]]:
    """Return the notes of one staff by moment; rests, cues and hidden notes are left out."""
    key = ("moments", id(part))
    tables = page.views.get(key)
    if tables is None:
        tables = page.views[key] = _tables(part)
    return tables.get(staff, {})  # type: ignore[attr-defined, no-any-return]


def _tables(part: PagePart) -> dict[int, dict[Moment, list[Head]]]:
    tables: dict[int, dict[Moment, list[Head]]] = {}
    for bar in part.bars:
        graces: dict[str, int] = {}
        for head in bar.heads:
            voice = head.voice
            if head.is_grace:
                if not head.is_chord:
                    graces[voice] = graces.get(voice, 0) + 1
            elif graces and not head.is_chord:
                graces[voice] = 0
            if head.pitch is None or head.is_cue:
                continue
            table = tables.setdefault(head.staff, {})
            rank = graces.get(voice, 0) if graces else 0
            table.setdefault((bar.index, head.onset, rank), []).append(head)
    return tables
