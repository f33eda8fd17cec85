"""Plain text for the terminal: fields, tables, wrapped lines. No colour, so nothing hangs on it."""

from __future__ import annotations

import contextlib
import shutil
import sys
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from typing import TextIO

_NARROWEST = 60
_WIDEST = 100
GAP = 2


def width() -> int:
    """Return the columns to write in: those of the terminal, within readable bounds."""
    columns = shutil.get_terminal_size((80, 24)).columns
    return max(_NARROWEST, min(columns, _WIDEST))


def fields(rows: Iterable[tuple[str, str]], *, indent: int = 0) -> list[str]:
    """Return lines of label and text, the texts under each other; rows without text are left out.

    >>> fields([("Key", "A minor"), ("Tempo", "")])
    ['Key  A minor']
    """
    kept = [(label, text) for label, text in rows if text]
    column = max((len(label) for label, _ in kept), default=0) + GAP
    lines: list[str] = []
    for label, text in kept:
        head = " " * indent + label.ljust(column)
        lines += wrapped(text, first=head, other=" " * (indent + column))
    return lines


def wrapped(text: str, *, first: str = "", other: str = "") -> list[str]:
    """Return a text in lines that fit; a word that is too long stands alone and whole."""
    return textwrap.wrap(
        text,
        width(),
        initial_indent=first,
        subsequent_indent=other,
        break_long_words=False,
        break_on_hyphens=False,
    ) or [first.rstrip()]


def table(
    heads: Sequence[str],
    rows: Sequence[Sequence[str]],
    *,
    right: Sequence[int] = (),
    indent: int = 0,
) -> list[str]:
    """Return a table; the last column is wrapped where the line would be too long.

    Args:
        heads: The head of each column.
        rows: Its rows.
        right: Columns that are set flush right, from 0.
        indent: Blanks before each line.
    """
    widths = [max(len(row[i]) for row in (heads, *rows)) for i in range(len(heads))]
    before = sum(widths[:-1]) + GAP * (len(widths) - 1)
    last = max(16, width() - before - indent)
    rule = ["-" * min(w, last) if i == len(widths) - 1 else "-" * w for i, w in enumerate(widths)]
    lines: list[str] = []
    for row in (heads, rule, *rows):
        cells = [
            cell.rjust(widths[i]) if i in right else cell.ljust(widths[i])
            for i, cell in enumerate(row[:-1])
        ]
        head = " " * indent + "".join(cell + " " * GAP for cell in cells)
        final = row[-1].rjust(widths[-1]) if len(widths) - 1 in right else row[-1]
        lines += wrapped_cell(final, head, last)
    return lines


def wrapped_cell(text: str, head: str, columns: int) -> list[str]:
    """Return a last cell in lines of so many columns, the first behind ``head``."""
    pieces = textwrap.wrap(text, columns, break_long_words=False, break_on_hyphens=False) or [""]
    lines = [(head + pieces[0]).rstrip()]
    return lines + [" " * len(head) + piece for piece in pieces[1:]]


@contextlib.contextmanager
def working(message: str) -> Iterator[None]:
    """Show on a terminal, and nowhere else, that something takes its time."""
    if not sys.stderr.isatty():
        yield
        return
    sys.stderr.write(message)
    sys.stderr.flush()
    try:
        yield
    finally:
        sys.stderr.write("\r" + " " * len(message) + "\r")
        sys.stderr.flush()


def bar(share: float, *, columns: int = 20) -> str:
    """Return a bar of so many columns for a share from 0 to 1.

    >>> bar(0.5, columns=6)
    '[===   ]'
    """
    filled = round(max(0.0, min(1.0, share)) * columns)
    return f"[{'=' * filled}{' ' * (columns - filled)}]"


def show(lines: Iterable[str], stream: TextIO | None = None) -> None:
    """Print lines to a stream, standard output unless another is given."""
    out = sys.stdout if stream is None else stream
    for line in lines:
        out.write(line + "\n")


def show_json(value: object, stream: TextIO | None = None) -> None:
    """Print a value as JSON, with signs that the stream can carry."""
    import json

    out = sys.stdout if stream is None else stream
    is_unicode = (out.encoding or "").lower().replace("-", "").startswith("utf")
    out.write(json.dumps(value, indent=2, ensure_ascii=not is_unicode) + "\n")


def count(number: int, thing: str) -> str:
    """Return a number with its noun.

    >>> count(1, "note"), count(3, "note")
    ('1 note', '3 notes')
    """
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"
