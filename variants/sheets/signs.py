"""How each sign of a note reaches the paper when the engraver does not draw it itself.

The engraver draws what it knows. Of the rest, a sign becomes a letter or a sign of the music
font above or below its note (it is handed over as if it were a fingering, so that the engraver
finds room for it), or our own drawing in the tab (`tabmarks`), or a word; what has none of these
is named in the log. Which signs the engraver draws was found by engraving each alone
(`tests/reference/test_engraving_signs.py` does it again).
"""

from __future__ import annotations

# Children of `technical`, `articulations` and `ornaments` that the engraver draws at note heads.
DRAWN = frozenset(
    {
        "up-bow",
        "down-bow",
        "harmonic",
        "open-string",
        "stopped",
        "snap-pizzicato",
        "fingernails",
        "fingering",
        "accent",
        "strong-accent",
        "staccato",
        "tenuto",
        "detached-legato",
        "staccatissimo",
        "spiccato",
        "breath-mark",
        "caesura",
        "soft-accent",
        "trill-mark",
        "turn",
        "delayed-turn",
        "inverted-turn",
        "vertical-turn",
        "mordent",
        "inverted-mordent",
        "schleifer",
        "tremolo",
        "haydn",
        "accidental-mark",
    }
)
# Of these, what it draws on a tab staff too.
DRAWN_ON_TAB = frozenset(
    {
        "fingering",
        "breath-mark",
        "caesura",
        "trill-mark",
        "turn",
        "delayed-turn",
        "inverted-turn",
        "vertical-turn",
        "mordent",
        "inverted-mordent",
        "schleifer",
        "haydn",
    }
)
# Signs of the Standard Music Font Layout for what the engraver leaves out.
_FONT_SIGNS = {
    "up-bow": 0xE612,
    "down-bow": 0xE610,
    "open-string": 0xE614,
    "stopped": 0xE633,
    "snap-pizzicato": 0xE631,
    "thumb-position": 0xE624,
    "fingernails": 0xE636,
    "accent": 0xE4A0,
    "strong-accent": 0xE4AC,
    "staccato": 0xE4A2,
    "tenuto": 0xE4A4,
    "detached-legato": 0xE4B2,
    "staccatissimo": 0xE4A6,
    "spiccato": 0xE4A8,
    "soft-accent": 0xED40,
    "stress": 0xE4B6,
    "unstress": 0xE4B8,
    "shake": 0xE56E,
}
_WORDS = {
    "tap": "T",
    "thumb-position": "thumb",
    "golpe": "golpe",
    "double-tongue": "double tongue",
    "triple-tongue": "triple tongue",
    "half-muted": "half mute",
    "open": "open",
    "scoop": "scoop",
    "plop": "plop",
    "doit": "doit",
    "falloff": "fall",
    "shake": "shake",
    "vibrato": "vib.",
    "wavy-line": "vib.",
    "soft-accent": "soft accent",
    "heel": "heel",
    "toe": "toe",
}
# Signs that `tabmarks` draws in the tab itself.
IN_TAB = frozenset({"bend", "hammer-on", "pull-off", "slide", "harmonic"})
# The place on the neck is the tab's, or a circled number; never a sign of its own.
PLACES = frozenset({"string", "fret"})
# What a direction type becomes when the engraver does not draw it.
DIRECTION_WORDS = {
    "damp": "damp",
    "damp-all": "damp all",
    "eyeglasses": "watch",
    "symbol": "",
    "other-direction": "",
}
# Direction types that the engraver draws.
DRAWN_DIRECTIONS = frozenset(
    {
        "words",
        "rehearsal",
        "segno",
        "coda",
        "wedge",
        "dynamics",
        "bracket",
        "pedal",
        "metronome",
        "octave-shift",
    }
)
# Children of a measure that nobody expects to see.
UNSEEN = frozenset({"sound", "listening", "bookmark", "link", "grouping", "print", "figured-bass"})
# Accidentals over a note, as letters.
ACCIDENTALS = {"sharp": "♯", "flat": "♭", "natural": "♮"}
CIRCLED = "".join(chr(0x2460 + number) for number in range(10))


def stand_in(name: str, text: str) -> str:
    """Return the letters or the font sign that stand for a sign; empty if there are none.

    Args:
        name: The MusicXML element.
        text: What stands inside it.

    >>> stand_in("tap", ""), stand_in("other-technical", "let it ring"), stand_in("hole", "")
    ('T', 'let it ring', '')
    """
    if name.startswith("other-") and text.strip():
        return text.strip()
    if name in _FONT_SIGNS:
        from variants.sheets.glyphs import glyph

        if glyph(_FONT_SIGNS[name]):
            return chr(_FONT_SIGNS[name])
    return _WORDS.get(name, "")


def circled(string: int) -> str:
    """Return the circled number of a string.

    >>> circled(5)
    '⑤'
    """
    return CIRCLED[string - 1] if 1 <= string <= len(CIRCLED) else str(string)


def bend_text(semitones: float) -> str:
    """Return what is written at a bend: whole tones, as players say it.

    >>> bend_text(2), bend_text(1), bend_text(3), bend_text(0.5)
    ('full', '½', '1½', '¼')
    """
    tones = abs(semitones) / 2
    whole = int(tones)
    part = {0.0: "", 0.25: "¼", 0.5: "½", 0.75: "¾"}.get(tones - whole, "")
    if tones == 1:
        return "full"
    return f"{whole or ''}{part}" or "bend"
