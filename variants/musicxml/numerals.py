"""Numbers in a file: only what MusicXML allows, within bounds, so that none can do harm.

Python reads more than the standard has: ``1e999999999`` fills the memory, ``1_000`` and digits of
other scripts are no numbers in XML.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache

from variants.errors import InputError

# The type xs:decimal of XML Schema; no number in a score needs more characters.
_DECIMAL = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)\Z", re.ASCII)
_LONGEST = 24
# No count, line, octave or staff comes near this.
MOST = 1_000_000


@lru_cache(maxsize=1024)
def decimal(text: str | None) -> Fraction | None:
    """Return the number that a text is, ``None`` if it is none.

    >>> decimal(" 0.5 "), decimal("1e9"), decimal(None)
    (Fraction(1, 2), None, None)
    """
    stripped = (text or "").strip()
    if len(stripped) > _LONGEST or not _DECIMAL.match(stripped):
        return None
    return Fraction(stripped)


def number(text: str | None, what: str) -> Fraction:
    """Return a number.

    Args:
        text: What stands in the file.
        what: What it is, for the message.

    Raises:
        InputError: The text is none.
    """
    found = decimal(text)
    if found is None:
        raise InputError(f"{what} is {shown(text)}, not a number", way_out="correct the file")
    return found


def whole(text: str | None, what: str, *, least: int = -MOST, most: int = MOST) -> int:
    """Return a whole number; some programs write 1.0 for 1.

    Raises:
        InputError: The text is none, or it is out of bounds.
    """
    if text is not None and len(text) == 1 and "0" <= text <= "9":
        value = int(text)
    else:
        found = decimal(text)
        if found is None or found.denominator != 1:
            raise InputError(
                f"{what} is {shown(text)}, not a whole number", way_out="correct the file"
            )
        value = int(found)
    if not least <= value <= most:
        way_out = f"use {least} to {most}" if most < MOST else "correct the file"
        raise InputError(f"{what} is {shown(text)}", way_out=way_out)
    return value


def is_digits(text: str) -> bool:
    """Return whether a text is a small whole number without a sign.

    >>> is_digits("12"), is_digits("²"), is_digits("")
    (True, False, False)
    """
    return text.isascii() and text.isdigit() and len(text) <= len(str(MOST))


def shown(text: str | None) -> str:
    """Return what stands in the file as it can be printed in a message, cut if it is long."""
    if text is None:
        return "missing"
    stripped = text.strip()
    return repr(stripped if len(stripped) <= _LONGEST else stripped[:_LONGEST] + "...")
