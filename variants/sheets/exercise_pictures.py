"""Exercises on drawn necks: find the note, and which neck belongs to which music."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from variants.errors import Refusal
from variants.score import Score, with_parts
from variants.sheets.cuts import phrase_measures
from variants.sheets.engrave import engrave_prepared
from variants.sheets.engraver_xml import Wants, prepare
from variants.sheets.facts import main_part, signed
from variants.sheets.handout import Look
from variants.sheets.neckmap import NeckMap, Used, places_used
from variants.sheets.style import USUAL_PT, Print
from variants.sheets.svgtext import Picture, line, number, picture, text
from variants.steps.measures import cut_measures

_Draws = Callable[[Look, Print, float], list[Picture]]
# So many necks to draw on, and so much music to match, fill a page.
_MOST_NECKS, _MOST_MATCHES = 8, 4
# Measures of music that are shown for each neck.
_SHOWN = 4
# In which order the necks stand under the music, so that none stands where its music does.
_ORDER = {2: (1, 0), 3: (2, 0, 1), 4: (2, 0, 3, 1)}
_LETTERS = "ABCD"
# Left of a picture: its name; and a line to write on; heights above it. In ordinary print.
_LEFT_MM, _LETTER_MM, _LINE_MM, _NAME_PT = 16.0, 8.0, 14.0, 12.0
# Between two necks beside each other.
_BETWEEN_MM = 8.0


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked, or answered, on a sheet.

    Args:
        score: The music.
        staves: How it is printed.
        wants: What is printed at the notes.
        where: What follows the name of the exercise.
        pictures: Draws what stands in place of the music; ``None`` for music.
    """

    score: Score
    staves: str
    wants: Wants = field(default_factory=Wants)
    where: str = ""
    pictures: _Draws | None = None


def finding(score: Score) -> tuple[Asked, Asked]:
    """Return empty necks, each with the name of a note and its string, and the necks with rings."""
    part = main_part(score)
    used = places_used(part)
    # The notes of the lowest names first would all be of one string: take them across the piece.
    step = max(1, len(used) // _MOST_NECKS)
    asked = used[::step][:_MOST_NECKS]

    def draws(*, full: bool) -> _Draws:
        def draw(look: Look, printed: Print, width: float) -> list[Picture]:
            half = (width - _BETWEEN_MM) / 2
            left = _LEFT_MM * printed.text_pt / USUAL_PT
            necks = []
            for one in asked:
                plain = replace(one, order=0)
                neck = _neck(score, used, printed, look, half - left, (plain,) * full)
                name = signed(one.name.rstrip("-0123456789"))
                words = (name, f"string {one.place.string}")
                necks.append(_beside(words, neck, printed, half))
            return _in_pairs(necks, width)

        return draw

    return (
        Asked(score, "source", pictures=draws(full=False)),
        Asked(score, "source", pictures=draws(full=True)),
    )


def matching(scores: Sequence[Score]) -> tuple[Asked, Asked]:
    """Return lines of music and necks in another order, and the same with the letters.

    Args:
        scores: Versions of a piece; of one alone, its phrases are told apart.

    Raises:
        Refusal: There are no two whose places differ.
    """
    shown: list[Score] = []
    seen: set[frozenset[object]] = set()
    for score in scores if len(scores) > 1 else _phrases(scores[0]):
        part = main_part(score)
        places = frozenset(one.place for one in places_used(part))
        if places and places not in seen and len(shown) < _MOST_MATCHES:
            seen.add(places)
            shown.append(with_parts(score, [part]))
    if len(shown) < 2:
        raise Refusal(
            "there are no two passages with other places on the neck",
            way_out="name more versions, or choose another exercise",
        )
    order = _ORDER[len(shown)]

    def draws(*, full: bool) -> _Draws:
        def draw(look: Look, printed: Print, width: float) -> list[Picture]:
            letters = [_LETTERS[order.index(index)] if full else "" for index in range(len(shown))]
            music = [
                _to_match(score, f"{number_}", letter, printed, width)
                for number_, (score, letter) in enumerate(zip(shown, letters, strict=True), 1)
            ]
            half = (width - _BETWEEN_MM) / 2
            left = _LETTER_MM * printed.text_pt / USUAL_PT
            necks = []
            for letter, index in zip(_LETTERS, order, strict=False):
                used = places_used(main_part(shown[index]))
                neck = _neck(shown[index], used, printed, look, half - left, used)
                necks.append(_beside((letter, ""), neck, printed, half))
            return music + ([] if full else _in_pairs(necks, width))

        return draw

    return (
        Asked(scores[0], "source", pictures=draws(full=False)),
        Asked(scores[0], "source", pictures=draws(full=True)),
    )


def _phrases(score: Score) -> list[Score]:
    """Return the phrases of a score, or its fours of measures, as scores."""
    count = len(score.parts[0].measures)
    starts = sorted({0} | {one for one in phrase_measures(score) if one < count})
    if len(starts) < 2:
        starts = list(range(0, count, max(1, min(_SHOWN, count // 2))))
    ends = [*starts[1:], count]
    return [
        cut_measures(score, tuple(range(start, min(end, start + _SHOWN))), step="sheet")[0]
        for start, end in zip(starts, ends, strict=True)
        # A pick-up alone is no passage.
        if not score.parts[0].measures[end - 1].is_implicit
    ]


def _neck(
    score: Score,
    used: tuple[Used, ...],
    printed: Print,
    look: Look,
    width: float,
    shown: tuple[Used, ...],
) -> Picture:
    """Return a neck as wide as some places need, with the rings of some of them."""
    part = main_part(score)
    if part.instrument is None:
        raise Refusal("there is no neck to draw", way_out="choose a part for a fretted instrument")
    return NeckMap(part.instrument, used, printed, look.left_handed, width).draw(shown)


def _beside(words: tuple[str, str], drawn: Picture, printed: Print, width: float) -> Picture:
    """Return a picture with its name at the left."""
    grow = printed.text_pt / USUAL_PT
    middle = drawn.height_mm / 2
    left = (_LEFT_MM if words[1] else _LETTER_MM) * grow
    points = _NAME_PT * grow
    shapes = [text(words[0], (0, middle), points=points, weight=700, anchor="start")]
    if words[1]:
        below = (0, middle + 5.5 * grow)
        shapes.append(text(words[1], below, points=printed.text_pt, anchor="start"))
    shapes.append(_moved(drawn, left, 0.0))
    name = " ".join(words).strip()
    return picture(
        shapes, width_mm=width, height_mm=drawn.height_mm, title=name, alt=f"{name}: {drawn.title}"
    )


def _in_pairs(drawn: Sequence[Picture], width: float) -> list[Picture]:
    """Return pictures two by two beside each other."""
    pairs = []
    for at in range(0, len(drawn), 2):
        pair = drawn[at : at + 2]
        lefts = (0.0, (width + _BETWEEN_MM) / 2)
        shapes = [_moved(one, left, 0.0) for one, left in zip(pair, lefts, strict=False)]
        high = max(one.height_mm for one in pair)
        words = "; ".join(one.alt for one in pair)
        pairs.append(picture(shapes, width_mm=width, height_mm=high, title=words, alt=words))
    return pairs


def _to_match(score: Score, name: str, letter: str, printed: Print, width: float) -> Picture:
    """Return a line of music with its number and a line for the letter of its neck."""
    grow = printed.text_pt / USUAL_PT
    right = _LINE_MM * grow + 4
    bare = Wants(fingers=False, words=False)
    part = main_part(score)
    count = min(len(part.measures), _SHOWN)
    cut, _ = cut_measures(score, tuple(range(count)), step="sheet")
    engraving = engrave_prepared(
        prepare(cut, staves="notation", wants=bare),
        cut,
        printed=printed,
        width_mm=width - right - 8 * grow,
        most_measures=_SHOWN,
    )
    system = engraving.systems[0]
    music = Picture(system.svg, system.width_mm, system.height_mm, f"music {name}")
    low = music.height_mm / 2 + 3
    shapes = [
        text(name, (0, low), points=_NAME_PT * grow, weight=700, anchor="start"),
        _moved(music, 8 * grow, 0.0),
        line((width - _LINE_MM * grow, low + 1), (width, low + 1), width_mm=0.25),
    ]
    if letter:
        at = (width - _LINE_MM * grow / 2, low)
        shapes.append(text(letter, at, points=_NAME_PT * grow, weight=700))
    alt = f"music {name}" + (f", neck {letter}" if letter else "")
    return picture(shapes, width_mm=width, height_mm=music.height_mm, title=alt, alt=alt)


def _moved(drawn: Picture, x: float, y: float) -> str:
    """Return a drawing at a place within another."""
    inner = drawn.svg.replace("<svg ", f'<svg x="{number(x)}" y="{number(y)}" ', 1)
    for size, name in ((drawn.width_mm, "width"), (drawn.height_mm, "height")):
        for written in (f"{size:.3f}", number(size)):
            inner = inner.replace(f'{name}="{written}mm"', f'{name}="{number(size)}"', 1)
    return inner
