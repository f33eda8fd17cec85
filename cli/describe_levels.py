"""What is said of a piece's levels, its difficulty and its lessons, in words and as JSON."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import typer

from .options import Player
from .text import fields, table, wrapped

if TYPE_CHECKING:
    from variants.levels import Coverage, Factor, Lesson, Obstacle
    from variants.score import Score
    from variants.variant import Wishes

# A level that is not met is told with so many places of each limit.
_MOST_PLACES = 3
_MOST_MEASURES = 12


Levels = Annotated[
    bool,
    typer.Option("--levels", help="Which levels it meets, what keeps it from the others, and why."),
]
Teaches = Annotated[
    bool, typer.Option("--teaches", help="What it practises, in a teacher's words, with measures.")
]
After = Annotated[
    list[str] | None,
    typer.Option(
        "--after", metavar="FILE", help="A piece played before, again for each: tell what is new."
    ),
]
Against = Annotated[
    str,
    typer.Option(
        "--against",
        metavar="LEVEL",
        help="Tell what goes beyond a level, and what of the level it and the pieces before cover.",
    ),
]


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelQuestions:
    """What `describe` is asked to say of levels."""

    levels: Levels = False
    teaches: Teaches = False
    after: After = None
    against: Against = ""


@dataclass(frozen=True, slots=True)
class Answer:
    """What there is to say.

    Args:
        met: For each level its obstacles; none: the piece meets it.
        factors: How hard it is.
        lessons: What it practises.
        new: Those of them that are new, if that was asked for.
        coverage: What it and the pieces before cover of a level.
    """

    met: tuple[tuple[str, tuple[Obstacle, ...]], ...] = ()
    factors: tuple[Factor, ...] = ()
    lessons: tuple[Lesson, ...] = ()
    new: tuple[Lesson, ...] | None = None
    coverage: Coverage | None = None


def answer(file: str, asked: LevelQuestions, player: Player) -> Answer:
    """Return what there is to say of a file.

    Raises:
        NeckwiseError: A file cannot be read, a level is unknown, or no hand can play the piece.
    """
    if not (asked.levels or asked.teaches or asked.after or asked.against):
        return Answer()
    wishes = player.wishes()
    score = _fingered(file, wishes)
    met: list[tuple[str, tuple[Obstacle, ...]]] = []
    found: tuple[Factor, ...] = ()
    if asked.levels:
        from variants.guitar import parse_hand
        from variants.levels import factors

        met = _met(file, wishes)
        found = factors(score, score.parts[0], hand=parse_hand(player.hand))
    if not (asked.teaches or asked.after or asked.against):
        return Answer(met=tuple(met), factors=found)
    return _taught(file, asked, wishes, score, Answer(met=tuple(met), factors=found))


def _taught(
    file: str, asked: LevelQuestions, wishes: Wishes, score: Score, known: Answer
) -> Answer:
    from variants.levels import beyond, coverage, lessons, load_level, new_after

    practised = lessons(score, score.parts[0])
    new: tuple[Lesson, ...] | None = None
    before = [(name, _fingered(name, wishes)) for name in asked.after or ()]
    if before:
        old = [one for _, other in before for one in lessons(other, other.parts[0])]
        new = new_after(practised, old)
    covered = None
    if asked.against:
        level = load_level(asked.against)
        new = beyond(practised if new is None else new, level)
        pieces = [(name, one, one.parts[0]) for name, one in (*before, (file, score))]
        covered = coverage(pieces, level)
    return Answer(known.met, known.factors, practised, new, covered)


def _met(file: str, wishes: Wishes) -> list[tuple[str, tuple[Obstacle, ...]]]:
    from variants.levels import load_ladder
    from variants.levels.fit import fit_source, judged_in
    from variants.levels.workshop import Workshop

    from .source import load_score

    source = fit_source(load_score(file), wishes)
    hand = wishes.settings.hand
    size = hand if isinstance(hand, str | int | float) else "medium"
    workshop = Workshop(source, hand=size, wishes=wishes.settings)
    return [(level.name, judged_in(workshop, level)) for level in load_ladder()]


def _fingered(file: str, wishes: Wishes) -> Score:
    from variants.errors import NeckwiseError
    from variants.fingering.score import finger_score
    from variants.levels import fit_source

    from .source import load_score, shown

    try:
        return finger_score(fit_source(load_score(file), wishes), wishes.settings).score
    except NeckwiseError as error:
        raise error.at(shown(file)) from None


# --- words ----------------------------------------------------------------------------------------


def answer_lines(found: Answer) -> list[str]:
    """Return an answer for the terminal."""
    from variants.cautions import HEALTH

    lines: list[str] = []
    if found.met:
        lines += ["", "Levels", *_met_lines(found.met)]
    if found.factors:
        lines += ["", "How hard it is, from 0 to 1", *_difficulty_lines(found.factors)]
        lines += ["", "What that is made of", *_factor_lines(found.factors)]
    if found.lessons:
        lines += ["", "What it practises", *_lesson_lines(found.lessons)]
    if found.new is not None:
        lines += ["", "What of it is new", *(_lesson_lines(found.new) or ["  nothing"])]
    if found.coverage is not None:
        lines += ["", f"Against {found.coverage.level}", *_coverage_lines(found.coverage)]
    return [*lines, "", HEALTH] if lines else []


def _met_lines(met: Sequence[tuple[str, tuple[Obstacle, ...]]]) -> list[str]:
    lines: list[str] = []
    for name, obstacles in met:
        if not obstacles:
            lines.append(f"  {name}: yes")
            continue
        lines.append(f"  {name}: no")
        by_limit: dict[str, list[Obstacle]] = {}
        for one in obstacles:
            by_limit.setdefault(one.limit, []).append(one)
        for limit, ones in by_limit.items():
            left = len(ones) - _MOST_PLACES
            texts = [str(one) for one in ones[:_MOST_PLACES]]
            more = [f"and {left} more"] if left > 0 else []
            text = f"{limit}: {'; '.join([*texts, *more])}"
            lines += wrapped(text, first="    ", other="      ")
    return lines


def _difficulty_lines(found: Sequence[Factor]) -> list[str]:
    from variants.levels import difficulty

    hard = difficulty(found)
    areas = [(area, f"{value:.2f}") for area, value in hard.areas.items()]
    reasons = [
        ("most of it" if not index else "then", f"{one.name}{_where(one)}: {one.reason}")
        for index, one in enumerate(hard.reasons)
    ]
    return fields([("overall", f"{hard.overall:.2f}"), *areas, *reasons], indent=2)


def _where(one: Factor) -> str:
    return f", measure {one.measure}" if one.measure else ""


def _factor_lines(found: Sequence[Factor]) -> list[str]:
    rows = [
        (one.group, one.name, f"{one.value:.2f}", one.measure or "-", one.reason or "-")
        for one in found
    ]
    heads = ("", "factor", "0-1", "measure", "why")
    return ["  " + line for line in table(heads, rows, right=(2,))]


def _lesson_lines(found: Sequence[Lesson]) -> list[str]:
    return fields([(measures_text(one.measures), one.text) for one in found], indent=2)


def measures_text(numbers: Sequence[str]) -> str:
    """Return measures in a few words.

    >>> measures_text(["1", "2", "3", "7"])
    'measures 1-3, 7'
    """
    groups: list[list[str]] = []
    for number in numbers:
        last = groups[-1][-1] if groups else ""
        if last.isdecimal() and number.isdecimal() and int(number) == int(last) + 1:
            groups[-1].append(number)
        else:
            groups.append([number])
    texts = [one[0] if len(one) == 1 else f"{one[0]}-{one[-1]}" for one in groups]
    more = f" and {len(texts) - _MOST_MEASURES} more" if len(texts) > _MOST_MEASURES else ""
    word = "measure" if len(numbers) == 1 else "measures"
    return f"{word} {', '.join(texts[:_MOST_MEASURES])}{more}"


def _coverage_lines(found: Coverage) -> list[str]:
    rows = [
        (one.state, one.text, f"{one.piece}, measure {one.measure}" if one.piece else "-")
        for one in sorted(found.items, key=lambda one: one.state)
    ]
    return ["  " + line for line in table(("", "what", "first met"), rows)]


# --- JSON -----------------------------------------------------------------------------------------


def answer_json(found: Answer) -> dict[str, Any]:
    """Return an answer as JSON values; what was not asked for is left out."""
    from dataclasses import asdict

    values: dict[str, Any] = {}
    if found.met:
        values["levels"] = [
            {"level": name, "meets": not found_here, "obstacles": [asdict(o) for o in found_here]}
            for name, found_here in found.met
        ]
        values["difficulty"] = _difficulty_json(found.factors)
        values["factors"] = [asdict(one) for one in found.factors]
    if found.lessons:
        values["teaches"] = [_lesson_json(one) for one in found.lessons]
    if found.new is not None:
        values["new"] = [_lesson_json(one) for one in found.new]
    if found.coverage is not None:
        values["coverage"] = asdict(found.coverage)
    return values


def _difficulty_json(found: Sequence[Factor]) -> dict[str, Any]:
    from dataclasses import asdict

    from variants.levels import difficulty

    hard = difficulty(found)
    return {
        "overall": hard.overall,
        "areas": hard.areas,
        "reasons": [asdict(one) for one in hard.reasons],
    }


def _lesson_json(one: Lesson) -> dict[str, Any]:
    return {
        "kind": one.kind,
        "text": one.text,
        "measures": list(one.measures),
        "count": one.count,
    }
