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


TUNE = "X:1\nT:t\nL:1/4\nK:C\n"
SPINE = "**kern\n*M4/4\n{}\n*-\n"


def _mei(attributes: str, inside: str) -> bytes:
    return (
        '<mei xmlns="http://www.music-encoding.org/ns/mei"><music><body><mdiv><score>'
        f'<scoreDef meter.unit="4" {attributes}><staffGrp><staffDef n="1" lines="5" '
        'clef.shape="G" clef.line="2"/></staffGrp></scoreDef><section><measure n="1"><staff n="1">'
        f'<layer n="1">{inside}</layer></staff></measure></section></score></mdiv></body></music>'
        "</mei>"
    ).encode()


def _track(*events: bytes) -> bytes:
    body = b"".join(events) + b"\0\xff\x2f\0"
    return b"MTrk" + len(body).to_bytes(4, "big") + body


def _midi(*tracks: bytes, division: int = 480) -> bytes:
    head = b"MThd\0\0\0\6\0\1" + len(tracks).to_bytes(2, "big") + division.to_bytes(2, "big")
    return head + b"".join(tracks)


STRIKE, LET_GO = b"\x90\x3c\x40", b"\x80\x3c\x40"
QUARTER = b"\x83\x60"  # 480 ticks as a variable-length number
NOTE = '<note pname="c" oct="4" dur="4"/>'
HOSTILE = {
    "note.abc": f"{TUNE}C1000000|".encode(),
    "chord.abc": f"{TUNE}[CEG]1000000|".encode(),
    "rest.abc": f"{TUNE}z1000000|".encode(),
    "rests.abc": f"{TUNE}CZ100000|".encode(),
    "tuplet.abc": f"{TUNE}(3:1000000:3CDE|".encode(),
    "unit.abc": TUNE.replace("1/4", "100000/1").encode() + b"C|",
    "metre.abc": TUNE.replace("K:", "M:1000000/4\nK:").encode() + b"C|",
    "digits.abc": f"{TUNE}C{'9' * 5000}|".encode(),
    "many.abc": f"{TUNE}{'C500 ' * 50}|".encode(),
    "note.krn": SPINE.format("1%1000000c").encode(),
    "rest.krn": SPINE.format("1%1000000r").encode(),
    "zeros.krn": SPINE.format("0" * 40 + "c").encode(),
    "metre.krn": SPINE.replace("*M4", "*M1000000").format("1c").encode(),
    "many.krn": SPINE.format("1%100c\n" * 60).encode(),
    "metre.mei": _mei('meter.count="1000000"', f"{NOTE}<mRest/>"),
    "dots.mei": _mei("", NOTE.replace("/>", ' dots="1000000"/>')),
    "tuplet.mei": _mei("", f'<tuplet num="1" numbase="1000000">{NOTE}</tuplet>'),
    "nested.mei": _mei("", '<tuplet num="1" numbase="30">' * 2 + NOTE + "</tuplet>" * 2),
    "rests.mei": _mei("", f'{NOTE}<multiRest num="1000000"/>'),
    "late.mid": _midi(_track(b"\x8f\xff\xff\x00" + STRIKE, QUARTER + LET_GO)),
    "held.mid": _midi(_track(b"\0" + STRIKE, b"\x8f\xff\xff\x00" + LET_GO)),
    "metre.mid": _midi(_track(b"\0\xff\x58\4\4\xff\x18\x08", b"\0" + STRIKE)),
    "tracks.mid": _midi(
        *[_track(b"\x87\xa0\x00" + STRIKE, *[b"\x87\xa0\x00" + LET_GO] * 100)] * 400
    ),
}


TOO_LONG = r"longer than any|more than \d dots|time signature"


@pytest.mark.parametrize("name", HOSTILE)
def test_lengths_are_bounded_before_anything_is_made_of_them(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A few bytes that stand for years are refused with their place; no library sees them."""

    def unseen(*_: object) -> bytes:
        raise AssertionError(name)

    monkeypatch.setattr("variants.convert.through._exported", unseen)
    kind = format_of(name)
    assert kind is not None
    with pytest.raises(
        InputError, match=r"longer than any|more than \d dots|time signature"
    ) as told:
        read_other(HOSTILE[name], kind, name=name)
    assert told.value.place.startswith(("line ", "track "))
    assert told.value.way_out


def test_what_cannot_be_read_is_told_in_our_words() -> None:
    """Place and element, never what the library's own code met: a key, an index, a type."""
    kind = format_of("a.mei")
    assert kind is not None
    with pytest.raises(InputError) as told:
        read_other(_mei("", f'{NOTE}<note pname="s" oct="4" dur="4"/>{NOTE}'), kind, name="a")
    assert str(told.value).startswith(
        'measure 1: what stands here cannot be read as MEI (<note pname="s" oct="4" dur="4">); '
    )


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
