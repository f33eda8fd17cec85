"""Damages MusicXML files in the ways that files are damaged: seeded, so each failure comes back.

Elements are dropped, doubled, swapped, renamed and moved; texts and attributes are replaced by
what does not belong there; bytes are cut, flipped and put in, in plain and in compressed files.
"""

from __future__ import annotations

import io
import random
from collections.abc import Callable

from lxml import etree

from variants.musicxml.writer import pack

# What does not belong into a number, a name, an id, a step, ...
NASTY = (
    "",
    " ",
    "0",
    "-1",
    "-999999999",
    "1",
    "2",
    "3",
    "7",
    "99",
    "999999",
    "1e9",
    "1e400",
    "nan",
    "inf",
    "0x10",
    "1/0",
    "1/3",
    "0.5",
    "-0.25",
    "1.0",
    "10000000000000000000000",
    "1_0",
    "٣",
    "²",
    "+1",
    "A",
    "h",
    "X",
    "yes",
    "no",
    "start",
    "stop",
    "continue",
    "left",
    "right",
    "both",
    "forward",
    "backward",
    "quarter",
    "eighth",
    "maxima",
    "1024th",
    "TAB",
    "percussion",
    "none",
    "3+2",
    "1+",
    "+",
    "<>&\"'",
    "a b",
    "é♯",
    "🎸",
    "P1",
    "P2",
    "P1-I1",
    "major",
    "up",
    "sharp",
    "5 5",
    "9" * 400,
)

# Share of the files that are packed as .mxl.
_COMPRESSED = 0.15

Mutation = Callable[[random.Random, etree._Element], None]


def mutated(data: bytes, seed: int) -> bytes:
    """Return a damaged form of a file; the same seed gives the same damage."""
    draw = random.Random(seed)  # noqa: S311 - repeatable damage, nothing secret
    root = etree.fromstring(data, etree.XMLParser(remove_blank_text=True, load_dtd=False))
    for _ in range(draw.choice((1, 1, 1, 2, 3, 8))):
        draw.choice(_MUTATIONS)(draw, root)
    encoding = draw.choice(("utf-8", "utf-8", "utf-16", "ascii"))
    buffer = io.BytesIO()
    etree.ElementTree(root).write(buffer, encoding=encoding, xml_declaration=True)
    text = buffer.getvalue()
    if draw.random() < _COMPRESSED:
        return _damaged_bytes(draw, pack(text)) if draw.random() < 0.7 else pack(text)
    return _damaged_bytes(draw, text) if draw.random() < 0.15 else text


def _elements(root: etree._Element) -> list[etree._Element]:
    return [one for one in root.iter(etree.Element) if one is not root]


def _drop(draw: random.Random, root: etree._Element) -> None:
    one = draw.choice(_elements(root) or [root])
    parent = one.getparent()
    if parent is not None:
        parent.remove(one)


def _double(draw: random.Random, root: etree._Element) -> None:
    one = draw.choice(_elements(root) or [root])
    parent = one.getparent()
    if parent is not None:
        parent.insert(parent.index(one), etree.fromstring(etree.tostring(one, with_tail=False)))


def _move(draw: random.Random, root: etree._Element) -> None:
    every = _elements(root) or [root]
    one, other = draw.choice(every), draw.choice(every)
    if one not in other.iterancestors() and one is not other and one is not root:
        other.insert(draw.randrange(len(other) + 1), one)


def _swap(draw: random.Random, root: etree._Element) -> None:
    one = draw.choice(_elements(root) or [root])
    parent = one.getparent()
    if parent is not None and len(parent) > 1:
        parent.insert(draw.randrange(len(parent)), one)


def _rename(draw: random.Random, root: etree._Element) -> None:
    every = _elements(root) or [root]
    draw.choice(every).tag = draw.choice((str(draw.choice(every).tag), "nonsense", "note", "time"))


def _retext(draw: random.Random, root: etree._Element) -> None:
    leaves = [one for one in _elements(root) if not len(one)] or [root]
    draw.choice(leaves).text = draw.choice(NASTY)


def _reattribute(draw: random.Random, root: etree._Element) -> None:
    holders = [one for one in root.iter(etree.Element) if one.attrib] or [root]
    one = draw.choice(holders)
    for name in draw.sample(sorted(map(str, one.attrib)), k=min(1, len(one.attrib))):
        if draw.random() < 0.3:
            del one.attrib[name]
        else:
            one.set(name, draw.choice(NASTY))


def _new_attribute(draw: random.Random, root: etree._Element) -> None:
    names = ("number", "type", "id", "line", "location", "measure", "times", "implicit", "tempo")
    draw.choice(_elements(root) or [root]).set(draw.choice(names), draw.choice(NASTY))


def _empty(draw: random.Random, root: etree._Element) -> None:
    one = draw.choice(_elements(root) or [root])
    for child in list(one):
        one.remove(child)


def _damaged_bytes(draw: random.Random, data: bytes) -> bytes:
    place = draw.randrange(len(data))
    kind = draw.randrange(5)
    if kind == 4:
        flipped = data[place] ^ (1 << draw.randrange(8))
        return data[:place] + bytes([flipped]) + data[place + 1 :]
    if kind == 0:
        return data[:place]
    if kind == 1:
        return data[:place] + bytes([draw.randrange(256)]) + data[place + 1 :]
    if kind == 2:
        return data[:place] + b"\0" + data[place:]
    return data[:place] + data[place + draw.randrange(1, 40) :]


_MUTATIONS: tuple[Mutation, ...] = (
    _drop, _double, _move, _swap, _rename, _retext, _retext, _retext, _reattribute, _reattribute,
    _new_attribute, _empty,
)  # fmt: skip
