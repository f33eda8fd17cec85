"""Words for intervals and chord symbols, as the change log writes them."""

from __future__ import annotations

from variants.music import Interval
from variants.music.chordtext import plain_text
from variants.score import Harmony
from variants.score.symbols import symbol_name

_NUMBERS = (
    *("unison", "second", "third", "fourth", "fifth", "sixth", "seventh", "octave"),
    *("ninth", "tenth", "eleventh", "twelfth", "thirteenth", "fourteenth"),
)
_QUALITIES = {
    "P": "perfect",
    "M": "major",
    "m": "minor",
    "A": "augmented",
    "d": "diminished",
    "AA": "doubly augmented",
    "dd": "doubly diminished",
}


def interval_words(interval: Interval) -> str:
    """Return an interval without its direction in words.

    >>> interval_words(Interval.parse("-m3")), interval_words(Interval.parse("P8"))
    ('a minor third', 'an octave')
    """
    text = interval_noun(interval)
    return text if text[0].isdigit() else f"{'an' if text[0] in 'aeiou' else 'a'} {text}"


def interval_noun(interval: Interval) -> str:
    """Return an interval without its direction and without an article.

    >>> [interval_noun(Interval.parse(name)) for name in ("P5", "P15", "m17", "P1")]
    ['perfect fifth', '2 octaves', '2 octaves and a minor third', 'unison']
    """
    name = interval.name
    quality, number = name.rstrip("0123456789"), int(name.lstrip("PMmAd"))
    octaves = (number - 1) // 7
    if number % 7 == 1 and quality == "P":
        return f"{octaves} octaves" if octaves > 1 else "octave" if octaves else "unison"
    word = _QUALITIES.get(quality, "altered")
    if number <= len(_NUMBERS):
        return f"{word} {_NUMBERS[number - 1]}"
    return f"{octaves} octaves and a{'n' * (word[0] == 'a')} {word} {_NUMBERS[(number - 1) % 7]}"


def moved_words(interval: Interval) -> str:
    """Return where an interval leads in words.

    >>> moved_words(Interval.parse("-P4")), moved_words(Interval.parse("M10"))
    ('down a perfect fourth', 'up a major tenth')
    """
    down = interval.semitones < 0 or (interval.semitones == 0 and interval.steps < 0)
    return f"{'down' if down else 'up'} {interval_words(interval)}"


def symbol_text(one: Harmony) -> str:
    """Return a chord symbol in letters.

    >>> symbol_text(Harmony(0, ("F", 1), "minor", bass=("C", 1)))
    'F#m/C#'
    """
    return plain_text(symbol_name(one) or one.text or "N.C.")


def sign_words(name: str) -> str:
    """Return what musicians call a sign of MusicXML.

    >>> sign_words("pull-off"), sign_words("wavy-line")
    ('pull-off', 'wavy line')
    """
    return name if name in {"hammer-on", "pull-off"} else name.replace("-", " ")
