"""A measure drawn in lines of text, with a pointer under the moment that is meant."""

from __future__ import annotations

from variants.proof.finding import Flaw
from variants.proof.page import Head, PageBar

# Wide enough for a chord of six; wider measures are cut around the pointer.
MOST_COLUMNS = 9
POINTER = "▲"


def excerpt(flaw: Flaw) -> list[str]:
    """Return the staff of a flaw in its measure: beats, pitches, places on the neck, pointer.

    Empty when the flaw is not about a measure with notes.
    """
    bar = flaw.bar
    if bar is None or not bar.heads:
        return []
    staff = flaw.staff or min(head.staff for head in bar.heads)
    columns = _excerpt_columns(bar, staff)
    onsets = sorted(columns)
    if not onsets:
        return []
    meant = next((onset for onset in onsets if onset >= flaw.onset), None)
    onsets, before, after = _around_pointer(onsets, meant)
    rows = [
        [bar.beat(onset) for onset in onsets],
        [" ".join(_pitch_cells(columns[onset])) for onset in onsets],
    ]
    places = [" ".join(_place_cells(columns[onset])) for onset in onsets]
    if any(places):
        rows.append(places)
    if flaw.onset >= 0:
        rows.append([POINTER if onset == meant else "" for onset in onsets])
        if meant is None:
            # Past the last note: where something is missing at the end.
            for row in rows[:-1]:
                row.append("")
            rows[-1].append(POINTER)
    return _excerpt_lines(rows, labels=("beat", "note", "tab") if any(places) else ("beat", "note"),
                  dots=(before, after))  # fmt: skip


def _excerpt_columns(bar: PageBar, staff: int) -> dict[int, list[Head]]:
    columns: dict[int, list[Head]] = {}
    for head in bar.heads:
        if head.staff == staff:
            columns.setdefault(head.onset, []).append(head)
    return columns


def _around_pointer(onsets: list[int], meant: int | None) -> tuple[list[int], bool, bool]:
    if len(onsets) <= MOST_COLUMNS:
        return onsets, False, False
    middle = onsets.index(meant) if meant is not None else len(onsets) - 1
    first = max(0, min(middle - MOST_COLUMNS // 2, len(onsets) - MOST_COLUMNS))
    last = first + MOST_COLUMNS
    return onsets[first:last], first > 0, last < len(onsets)


def _pitch_cells(heads: list[Head]) -> list[str]:
    found = []
    for head in heads:
        name = "rest" if head.is_rest else str(head.pitch or "x")
        held = "~" if head.tie_stop or head.tied_stop else ""
        found.append(f"{held}{name.lower() if head.is_grace else name}")
    return found


def _place_cells(heads: list[Head]) -> list[str]:
    return [f"{head.string}:{head.fret}" for head in heads if head.is_placed]


def _excerpt_lines(
    rows: list[list[str]], *, labels: tuple[str, ...], dots: tuple[bool, bool]
) -> list[str]:
    widths = [max(len(row[place]) for row in rows) for place in range(len(rows[0]))]
    margin = max(map(len, labels))
    lines = []
    for number, row in enumerate(rows):
        is_pointer = number >= len(labels)
        label = "" if is_pointer else labels[number]
        edge = " " if is_pointer else "┆"
        cells = "   ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        left = "… " if dots[0] and not is_pointer else "  " if dots[0] else ""
        right = " …" if dots[1] and not is_pointer else ""
        lines.append(f"{label.rjust(margin)} {edge} {left}{cells}{right}".rstrip())
    return lines
