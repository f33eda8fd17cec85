"""What a fit changes and gives up, in the words of a lesson."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from variants.levels import Fit

_REDUCED = {
    "top": "of each chord the top note",
    "bottom": "of each chord the lowest note",
    "root": "of each chord the root",
    "dyad": "two notes of each chord",
}
_GRIDS = {"quarter": "quarters", "eighth": "eighths", "half": "half notes"}


def plan_words(one: Fit) -> list[str]:
    """Return what a version changes, step by step, but for where it is played."""
    placed = one.plan.placed
    count = len(one.plan.steps) - (len(placed.steps) if placed is not None else 0)
    return [text for step in one.plan.steps[:count] for text in _step_words(one, step)]


def _step_words(fit: Fit, step: str) -> Iterator[str]:
    name, _, rest = step.partition(":")
    told = dict(item.partition("=")[::2] for item in rest.split(",") if item)
    if name in _WORDS:
        yield _WORDS[name](fit, told)
    else:
        yield step


def _passage(_: Fit, told: Mapping[str, str]) -> str:
    first, _dash, last = told.get("range", "").partition("-")
    if not first:
        return f"to measure {last}"
    return f"measures {first} to {last} alone" if last else f"from measure {first}"


def _excerpt(_: Fit, told: Mapping[str, str]) -> str:
    texts = []
    for key, word in (("begin", "from"), ("end", "to")):
        measure, _slash, beat = told.get(key, "").partition("/")
        if measure:
            texts.append(f"{word} measure {measure}" + (f", beat {beat}" if beat else ""))
    return " ".join(texts)


def _moved(fit: Fit, told: Mapping[str, str]) -> str:
    from variants.score import key_at_start

    semitones = int(told.get("semitones", "0"))
    way = "up" if semitones > 0 else "down"
    if semitones % 12 == 0:
        octaves = abs(semitones) // 12
        return f"moved {way} {'an octave' if octaves == 1 else f'{octaves} octaves'}"
    key = key_at_start(fit.variant.score.parts[0])
    where = f"to {key}" if key is not None else f"by {abs(semitones)} semitones"
    return f"moved {way} {where}"


def _slower(_: Fit, told: Mapping[str, str]) -> str:
    return f"at {told.get('percent', '')}% of the tempo"


def _values(_: Fit, told: Mapping[str, str]) -> str:
    return f"note values {'halved' if told.get('factor') == '1/2' else 'doubled'}"


def _rhythm(_: Fit, told: Mapping[str, str]) -> str:
    grid = _GRIDS.get(told.get("grid", ""), "beats")
    strong = ", the strong notes kept" if told.get("keep") == "strong" else ""
    return f"rhythm in {grid}{strong}"


def _chords(_: Fit, told: Mapping[str, str]) -> str:
    return _REDUCED.get(told.get("to", ""), "chords with fewer notes")


def _ornaments(_: Fit, told: Mapping[str, str]) -> str:
    return f"without {told.get('kinds', 'ornaments').replace('+', ' and ')}"


_WORDS = {
    "measures": _passage,
    "excerpt": _excerpt,
    "transpose": _moved,
    "fold-octaves": lambda *_: "whole phrases moved by an octave",
    "capo": lambda _, told: f"capo at fret {told.get('fret', '')}",
    "slow": _slower,
    "scale-values": _values,
    "simplify-rhythm": _rhythm,
    "reduce-chords": _chords,
    "drop-ornaments": _ornaments,
}
# What each kind of loss means, as a share of the source; key, values and capo stand in the changes.
_LOSSES = {
    "content": "{} of the notes",
    "melody": "{} of the top notes or of the steps between them",
    "bass": "the roots of {} of the chords",
    "rhythm": "{} of the rhythm",
    "length": "{} of the measures",
    "ending": "a close on the keynote",
}


def loss_words(one: Fit) -> list[str]:
    """Return what a version gives up, the most first.

    What goes with the measures that are left out is not said again.
    """
    gone = one.plan.losses.get("length", 0.0)
    found = [
        (value, _LOSSES[name].format(f"{value:.0%}"))
        for name, value in one.plan.losses.items()
        if name in _LOSSES and value >= 0.005 and (name in {"length", "ending"} or value > gone)
    ]
    return [text for _, text in sorted(found, key=lambda pair: -pair[0])]
