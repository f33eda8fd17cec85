"""Reading the file that a call names."""

from __future__ import annotations

import sys
from typing import TYPE_CHECKING

from cli.output import STANDARD_STREAM

if TYPE_CHECKING:
    from variants.score import Score


def load_score(name: str) -> Score:
    """Return a score as it stands in its file, octaves not settled.

    Args:
        name: A file, or ``-`` for standard input.

    Raises:
        InputError: It cannot be read; the message begins with the name.
    """
    from variants.errors import InputError, NeckwiseError
    from variants.musicxml import LIMITS, read_raw
    from variants.musicxml.source import load

    if name == STANDARD_STREAM:
        data = sys.stdin.buffer.read(LIMITS.file_bytes + 1)
        if len(data) > LIMITS.file_bytes:
            raise InputError(
                f"is larger than {LIMITS.file_bytes // 2**20} MiB",
                place=shown(name),
                way_out="split the score",
            )
    else:
        data = load(name)
    try:
        return read_raw(data)
    except NeckwiseError as error:
        raise error.at(shown(name)) from None


def shown(name: str) -> str:
    """Return the name of a source for messages."""
    return "standard input" if name == STANDARD_STREAM else name
