"""Forty scores of our own, written as other programs write them.

Ten are composed by hand: pick-ups, two voices that cross, power chords, a jig, 5/8, chord symbols,
lyrics, repeats with endings. Thirty are mixtures of such things, drawn by a seed. The XML is made
here and not by the writer under test.

A measure is a line of tokens, voices parted by ``/``. A token is ``[Am]C4+E4:q.~=la``: symbol,
pitches (``r``: rest), value (``w h q e s``, dots, ``3`` for a triplet), tie, syllable. ``|:``,
``:|``, ``1.`` and ``2.`` before a measure are its repeats and its ending.
"""

from __future__ import annotations

import random
import re
from dataclasses import dataclass
from fractions import Fraction
from xml.sax.saxutils import escape

SEED = 4021
DIVISIONS = 24
_NAMES = {"w": "whole", "h": "half", "q": "quarter", "e": "eighth", "s": "16th"}
_QUARTERS = {"w": Fraction(4), "h": Fraction(2), "q": Fraction(1), "e": Fraction(1, 2),
             "s": Fraction(1, 4)}  # fmt: skip
_TOKEN = re.compile(r"(?:\[(.+?)\])?([A-Gr][^:~=]*)(?::([whqes]\.*3?))?(~?)(?:=(.+))?$")
_SYMBOL = re.compile(r"([A-G])([#b]?)(m7|7|m|5)?$")
_KINDS = {"": "major", "m": "minor", "7": "dominant", "m7": "minor-seventh", "5": "power"}
_SIGN = {"": 0, "#": 1, "b": -1}


@dataclass(frozen=True)
class Tune:
    """A score in short.

    Args:
        name: Its name.
        metre: ``6/8``.
        fifths: Sharps of its key, negative for flats.
        measures: Its measures; see the head of this module.
        pickup: Whether the first measure is one.
    """

    name: str
    metre: str
    fifths: int
    measures: tuple[str, ...]
    pickup: bool = False


BY_HAND = (
    Tune("ferry-jig", "6/8", 1, (
        "D4:e", "|: G4:e B4:e D5:e D5:q B4:e", "C5:e B4:e A4:e G4:q. ",
        "A4:e B4:e A4:e A4:e F#4:e D4:e",
        "1. :| G4:q.~ G4:q D4:e", "2. G4:h.",
    ), pickup=True),
    Tune("slow-walk-in-five", "5/8", 0, (
        "E4:q. G4:q", "A4:e G4:e E4:e D4:q", "C4:e E4:e G4:e A4:e G4:e", "E4:q. E4:q",
    )),
    Tune("power-stomp", "4/4", -1, (
        "[D5]D3+A3:e D3+A3:e r:e [F5]F3+C4:q [G5]G3+D4:e r:q", "[C5]C3+G3:q.  C3+G3:e~ C3+G3:h",
        "[D5]D3+A3+D4:h [Bb5]Bb2+F3:h",
    )),
    Tune("two-that-cross", "3/4", 2, (
        "D4:q F#4:q A4:q / A4:q F#4:q D4:q", "B4:h. / G3:q B3:q D4:q",
        "A4:e G4:e F#4:q E4:q / A3:h.",
        "D4:h. / F#4:q A4:q D5:q",
    )),
    Tune("lantern-song", "4/4", 0, (
        "G4:q=Light", "[C]E4:q=the E4:q=lamp G4:q=be C5:q=fore",
        "[Am]A4:h=night [F]A4:q=comes G4:q=and",
        "[G7]F4:q=leave D4:q=it G4:q=burn B4:q=ing", "[C]C5:h.=here",
    ), pickup=True),
    Tune("quiet-arpeggio", "4/4", 0, (
        "C4:h E4:h / C3:e G3:e C4:e G3:e C3:e G3:e C4:e G3:e",
        "D4:h C4:h / A2:e E3:e A3:e E3:e F3:q C3:q",
        "B3:w / G2:q D3:q G3:h",
    )),
    Tune("blue-triplets", "4/4", 1, (
        "[G7]G3:q3 B3:e3 D4:q3 B3:e3 F4:h", "E4:e3 F4:e3 E4:e3 D4:q B3:h",
        "[C7]C4:q r:q Bb3:e G3:e E3:q",
    )),
    Tune("cut-and-pushed", "2/2", -2, (
        "[Bb]Bb3:q. D4:q. F4:q~", "F4:q Eb4:q. D4:q. ", "[Gm]G3:h r:e Bb3:e D4:q",
        "[F7]F3+A3+C4+Eb4:w",
    )),
    Tune("seven-eight-riff", "7/8", -3, (
        "C3:e C3:e Eb3:e F3:e G3:q.", "C3:e C3:e Eb3:e F3:e Gb3:e F3:e Eb3:e", "C3+G3:h C3+G3:q.",
    )),
    Tune("nine-eight-lullaby", "9/8", 3, (
        "|: A4:q. C#5:q. E5:q.", "D5:q B4:e C#5:q A4:e B4:q.", "1. :| E4:q.~ E4:q.~ E4:q.",
        "2. A4:h.~ A4:q.",
    )),
)  # fmt: skip


def music_xml(tune: Tune) -> bytes:
    """Return a tune as a MusicXML file for a guitar, written an octave higher than it sounds."""
    rows = []
    held: dict[int, bool] = {}
    for index, text in enumerate(tune.measures):
        left, right, body = _barlines(text, tune.measures[index + 1 : index + 2])
        first = _attributes(tune) if index == 0 else ""
        voices = body.split("/")
        notes = ""
        for number, voice in enumerate(voices, 1):
            xml, length, held[number] = _voice(voice, number, is_held=held.get(number, False))
            notes += xml
            if number < len(voices):
                notes += f"<backup><duration>{length}</duration></backup>"
        implicit = ' implicit="yes"' if tune.pickup and index == 0 else ""
        number = index if tune.pickup else index + 1
        rows.append(f'<measure number="{number}"{implicit}>{left}{first}{notes}{right}</measure>')
    return (
        '<?xml version="1.0" encoding="UTF-8"?><score-partwise version="4.0"><work><work-title>'
        f'{tune.name}</work-title></work><part-list><score-part id="P1"><part-name>Guitar'
        f'</part-name></score-part></part-list><part id="P1">{"".join(rows)}</part>'
        "</score-partwise>"
    ).encode()


def _attributes(tune: Tune) -> str:
    beats, kind = tune.metre.split("/")
    return (
        f"<attributes><divisions>{DIVISIONS}</divisions><key><fifths>{tune.fifths}</fifths></key>"
        f"<time><beats>{beats}</beats><beat-type>{kind}</beat-type></time><clef><sign>G</sign>"
        "<line>2</line><clef-octave-change>-1</clef-octave-change></clef></attributes>"
    )


def _barlines(text: str, after: tuple[str, ...]) -> tuple[str, str, str]:
    """Return the barlines on either side of a measure, and what stands between them."""
    signs = re.findall(r"\|:|:\||[12]\.(?= )", text)
    body = re.sub(r"\|:|:\||^[12]\. ", "", re.sub(r"^([12])\. ", "", text))
    ending = next((one[0] for one in signs if one[0] in "12"), "")
    left = '<repeat direction="forward"/>' if "|:" in signs else ""
    right = '<repeat direction="backward"/>' if ":|" in signs else ""
    start = f'<ending number="{ending}" type="start"/>' if ending else ""
    stop = (
        f'<ending number="{ending}" type="{"stop" if right else "discontinue"}"/>' if ending else ""
    )
    last = "<bar-style>light-heavy</bar-style>" if right or not after else ""
    inside_left, inside_right = start + left, last + stop + right
    return (
        f'<barline location="left">{inside_left}</barline>' if inside_left else "",
        f'<barline location="right">{inside_right}</barline>' if inside_right else "",
        body,
    )


def _voice(text: str, number: int, *, is_held: bool) -> tuple[str, int, bool]:
    """Return the notes of a voice, their length, and whether a tie goes on from it."""
    found, total = [], 0
    tokens = text.split()
    triplet = 0
    for token in tokens:
        match = _TOKEN.match(token)
        if match is None:
            msg = f"no token: {token}"
            raise ValueError(msg)
        symbol, names, value, tie, word = match.groups()
        value = value or "q"
        length = _length(value)
        bracket = ""
        if value.endswith("3"):
            before = triplet % DIVISIONS
            triplet += length
            bracket = "start" if not before else "stop" if not triplet % DIVISIONS else ""
        found.append(_harmony(symbol) if symbol else "")
        chord = names.split("+")
        for place, name in enumerate(chord):
            found.append(
                _note(
                    name, value, is_chord=place > 0, voice=number, ties=(is_held, bool(tie)),
                    word=word or "", bracket=bracket,
                )
            )  # fmt: skip
        is_held = bool(tie)
        total += length
    return "".join(found), total, is_held


def _length(value: str) -> int:
    length = _QUARTERS[value[0]] * DIVISIONS * (2 - Fraction(1, 2 ** value.count(".")))
    return int(length * Fraction(2, 3) if value.endswith("3") else length)


def _note(
    name: str, value: str, *, is_chord: bool, voice: int, ties: tuple[bool, bool], word: str,
    bracket: str,
) -> str:  # fmt: skip
    length = _length(value)
    kinds = [kind for kind, is_there in zip(("stop", "start"), ties, strict=True) if is_there]
    if name == "r":
        kinds, pitch = [], "<rest/>"
    else:
        alter = _SIGN[name[1:-1]]
        pitch = (
            f"<pitch><step>{name[0]}</step>"
            + (f"<alter>{alter}</alter>" if alter else "")
            + f"<octave>{name[-1]}</octave></pitch>"
        )
    notations = "".join(f'<tied type="{kind}"/>' for kind in kinds)
    if bracket and not is_chord:
        notations += f'<tuplet type="{bracket}"/>'
    return (
        "<note>"
        + ("<chord/>" if is_chord else "")
        + f"{pitch}<duration>{length}</duration>"
        + "".join(f'<tie type="{kind}"/>' for kind in kinds)
        + f"<voice>{voice}</voice><type>{_NAMES[value[0]]}</type>"
        + "<dot/>" * value.count(".")
        + (
            "<time-modification><actual-notes>3</actual-notes><normal-notes>2</normal-notes>"
            "<normal-type>eighth</normal-type></time-modification>"
            if value.endswith("3")
            else ""
        )
        + (f"<notations>{notations}</notations>" if notations else "")
        + (
            f'<lyric number="1"><syllabic>single</syllabic><text>{escape(word)}</text></lyric>'
            if word and not is_chord
            else ""
        )
        + "</note>"
    )


def _harmony(symbol: str) -> str:
    match = _SYMBOL.match(symbol)
    if match is None:
        msg = f"no chord symbol: {symbol}"
        raise ValueError(msg)
    letter, sign, kind = match.groups()
    alter = f"<root-alter>{_SIGN[sign]}</root-alter>" if sign else ""
    return (
        f"<harmony><root><root-step>{letter}</root-step>{alter}</root>"
        f"<kind>{_KINDS[kind or '']}</kind></harmony>"
    )


# Cells for each length of a beat, in eighths.
_CELLS = {
    1: ("e", "s s"),
    2: ("q", "e e", "e. s", "s s e", "e3 e3 e3", "q3 e3"),
    3: ("q.", "q e", "e e e", "e q", "e. s e"),
    4: ("h", "q q", "q. e", "e q e"),
}
_GROUPS = {
    "4/4": (2, 2, 2, 2), "3/4": (2, 2, 2), "2/4": (2, 2), "6/8": (3, 3), "9/8": (3, 3, 3),
    "5/8": (3, 2), "7/8": (2, 2, 3), "12/8": (3, 3, 3, 3), "5/4": (2, 2, 2, 2, 2), "2/2": (4, 4),
}  # fmt: skip
_SCALE = ("E3", "F3", "G3", "A3", "B3", "C4", "D4", "E4", "F4", "G4", "A4", "B4", "C5", "D5", "E5")
_LOW = ("E2", "F2", "G2", "A2", "B2", "C3", "D3")
_POWER = ("E2+B2", "G2+D3", "A2+E3", "C3+G3", "D3+A3", "D3+A3+D4")
_SYMBOLS = ("C", "G", "Am", "F", "Dm", "E7", "G7", "D5", "A5")


def mixture(number: int) -> Tune:
    """Return an odd mixture, drawn by its number."""
    draw = random.Random(SEED + number)  # noqa: S311 - a seeded sample
    metre = draw.choice(list(_GROUPS))
    pickup = draw.random() < 0.4
    kind = draw.choice(("tune", "tune", "power", "voices", "chords"))
    at = draw.randrange(len(_SCALE))
    measures = ["" + draw.choice(_SCALE) + ":e"] if pickup else []
    for _ in range(draw.randrange(3, 7)):
        tokens = []
        for group in _GROUPS[metre]:
            for value in draw.choice(_CELLS[group]).split():
                at = max(0, min(len(_SCALE) - 1, at + draw.choice((-3, -2, -1, -1, 1, 1, 2, 4))))
                name = _SCALE[at]
                if kind == "power":
                    name = draw.choice(_POWER)
                elif kind == "chords" and draw.random() < 0.4:
                    name = f"{_SCALE[max(0, at - 2)]}+{name}" if at >= 2 else name
                if draw.random() < 0.1:
                    name = "r"
                word = "=la" if kind == "tune" and number % 3 == 0 and name != "r" else ""
                tokens.append(f"{name}:{value}{word}")
        if number % 2 and draw.random() < 0.7:
            tokens[0] = f"[{draw.choice(_SYMBOLS)}]{tokens[0]}"
        if draw.random() < 0.3 and not tokens[-1].startswith("r") and "3" not in tokens[-1][-1]:
            tokens[-1] = tokens[-1].replace("=la", "") + "~"
        text = " ".join(tokens)
        if kind == "voices":
            low = [f"{draw.choice(_LOW)}:{_CELLS[group][0]}" for group in _GROUPS[metre]]
            text += " / " + " ".join(low)
        if measures and (before := measures[-1].split("/")[0].split()[-1]).endswith("~"):
            # What is tied over begins with the same notes.
            held = re.sub(r":.*", "", re.sub(r"\[.*?\]", "", before))
            head, _, rest = text.partition(":")
            symbol = head[: head.index("]") + 1] if "]" in head else ""
            text = f"{symbol}{held}:{rest}"
            if kind == "voices" and set(held.split("+")) & {text.partition("/ ")[2][:2]}:
                measures[-1] = measures[-1].replace("~", "")
        measures.append(text)
    measures[-1] = re.sub("~", "", measures[-1])
    if number % 4 == 0 and len(measures) > 2:
        measures[0] = measures[0].replace("~", "")
        measures[1] = f"|: {measures[1]}"
        measures[-1] = f":| {measures[-1]}"
    return Tune(f"mixture-{number}", metre, draw.randrange(-3, 4), tuple(measures), pickup)


def own_scores() -> dict[str, bytes]:
    """Return the forty scores by their names."""
    return {tune.name: music_xml(tune) for tune in (*BY_HAND, *map(mixture, range(30)))}
