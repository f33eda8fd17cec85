"""Damaged ABC, kern, MIDI and MEI are read or refused in one line, like everything else."""

from __future__ import annotations

import random

import pytest

from tests.reference.test_other_notations import ABC, KERN, MEI, midi
from tests.xsd import validate
from variants.convert import format_of, read_other
from variants.errors import InputError
from variants.musicxml import to_bytes

SOURCES = {
    ".abc": ABC.encode(),
    ".krn": KERN.encode(),
    ".mei": MEI.encode(),
    ".mid": midi(60, 64, 67, 72, key="G"),
}
CASES = 20


def damaged(data: bytes, seed: int) -> bytes:
    """Return a file with a few bytes cut, doubled, changed or put in; the same for a seed."""
    draw = random.Random(seed)  # noqa: S311 - repeatable damage, nothing secret
    for _ in range(draw.choice((1, 1, 2, 4))):
        place = draw.randrange(len(data)) if data else 0
        end = place + draw.randrange(1, 12)
        kind = draw.randrange(5)
        if kind == 0:
            data = data[:place] + data[end:]
        elif kind == 1:
            data = data[:end] + data[place:end] + data[end:]
        elif kind == 2:
            data = data[:place] + bytes([draw.randrange(256)]) + data[place + 1 :]
        elif kind == 3:
            data = (
                data[:place]
                + draw.choice((b"\n", b"|", b"[", b"99", b"\0", b"*-", b"K:"))
                + (data[place:])
            )
        else:
            data = data[: max(place, 4)]
    return data


@pytest.mark.parametrize("ending", SOURCES)
def test_damaged_files_are_read_or_refused(ending: str) -> None:
    """What is read is written, valid; what is not is one line with a way out."""
    kind = format_of(f"a{ending}")
    assert kind is not None
    for seed in range(CASES):
        refused = None
        try:
            score = read_other(damaged(SOURCES[ending], seed), kind, name=f"a{ending}")
        except InputError as error:
            refused = error
        else:
            assert validate(to_bytes(score)) == [], seed
        if refused is not None:
            assert "\n" not in str(refused), seed
            assert refused.way_out, seed
