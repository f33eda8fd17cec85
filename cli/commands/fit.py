"""`neckwise fit`: the version of a piece that meets a level and gives up least."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated, Any, NoReturn, Self, TypeVar

import typer

from .. import options
from ..output import Target, folder_targets, numbered, score_target, write
from ..source import load_score, shown
from ..tune_text import TuneWish
from ..variant_call import VariantCall, naming, score_bytes

if TYPE_CHECKING:
    from variants.levels import Fit, Fitter, Level, NoFit, Progress
    from variants.score import Score

T = TypeVar("T")

_LEVEL_HELP = (
    "A level by name, as in level-2, or a file of yours that ends in .toml; with --ladder again "
    "for each level. `neckwise list levels` shows ours."
)
Levels = Annotated[list[str] | None, typer.Option("--level", metavar="NAME", help=_LEVEL_HELP)]
Ladder = Annotated[
    bool,
    typer.Option("--ladder", help="One version for every level, easiest first; -o is a folder."),
]
Best = Annotated[
    int,
    typer.Option("--best", metavar="K", min=1, max=10, help="Write the K best versions."),
]
Weights = Annotated[
    str,
    typer.Option(
        "--weights",
        metavar="NAME=N,...",
        help="What each kind of loss weighs, as in key=2,melody=5; see --explain for their names.",
    ),
]
Floor = Annotated[
    float,
    typer.Option(
        "--floor",
        metavar="SHARE",
        min=0.0,
        max=1.0,
        help="Least share of what a version plays that must be the tune; below it the answer is "
        "no.",
    ),
]
# Open strings, position and the rest are what the level says.
_OPTIONS = (
    "staves",
    "mark",
    "tuning",
    "capo",
    "frets",
    "scale",
    "part",
    "reading",
    "fingering",
    "hand",
)


@options.spread(player=_OPTIONS)
def fit(
    *,
    file: options.SourceFile,
    out: options.OutFile,
    level: Levels = None,
    ladder: Ladder = False,
    best: Best = 1,
    weights: Weights = "",
    floor: Floor = 0.85,
    tune: TuneWish,
    player: options.Player,
    telling: options.Telling,
) -> None:
    """Find the version of a piece that meets a level and gives up least, and say what it gives up.

    Whole phrases are handed over. Without a version that meets the level and keeps the tune
    nothing is written, and the exit code is 1.
    """
    from variants.levels import load_ladder, load_level, parse_weights

    wanted = {
        "weights": parse_weights(weights),
        "floor": floor,
        "tune": tune.line,
        "phrases": tune.starts,
    }
    call = VariantCall(file=file, out=out, player=player, telling=telling)
    names = tuple(level or ())
    _check(names, is_ladder=ladder)
    levels = load_ladder(names) if ladder and names else load_ladder()
    if ladder:
        _ladder(call, levels, wanted)
    else:
        _one(call, load_level(names[0]), best, wanted)


def _check(names: Sequence[str], *, is_ladder: bool) -> None:
    from variants.errors import UsageError

    if not is_ladder and len(names) != 1:
        raise UsageError(
            "no level is named" if not names else "several levels are named",
            way_out="name one with --level, as in --level level-2, or ask for all with --ladder",
        )


def _one(call: VariantCall, level: Level, best: int, wanted: dict[str, Any]) -> None:
    from variants.levels import NoFit, load_ladder

    target = score_target(call.out, source=call.file, force=call.telling.force)
    targets = numbered(target, best, source=call.file, force=call.telling.force)
    score = load_score(call.file)
    with naming(call), _Progress(call, [level.name]) as progress:
        fitter = _fitter(call, score, wanted, progress)
        found = fitter.fits(level, most=best)
        if isinstance(found, NoFit):
            progress.quiet()
            found = replace(found, next_level=fitter.next_level(level, load_ladder()))
        fits = () if isinstance(found, NoFit) else found
        notes = (
            {id(one): fitter.placed_otherwise(one) for one in fits} if call.telling.explain else {}
        )
        datas = [score_bytes(call, one.variant, place) for one, place in _pairs(fits, targets)]
    if isinstance(found, NoFit):
        _refuse(call, [found])
    for data, place in _pairs(datas, targets):
        write(place, data)
    _report(call, _pairs(found, targets), notes=notes)


def _ladder(call: VariantCall, levels: Sequence[Level], wanted: dict[str, Any]) -> None:
    from variants.levels import NoFit

    names = [f"{_stem(level.name)}.musicxml" for level in levels]
    score = load_score(call.file)
    with naming(call), _Progress(call, [one.name for one in levels]) as progress:
        fitter = _fitter(call, score, wanted, progress)
        found = fitter.ladder(levels)
        fits = [one for one in found if not isinstance(one, NoFit)]
        notes = (
            {id(one): fitter.placed_otherwise(one) for one in fits} if call.telling.explain else {}
        )
    targets = folder_targets(call.out, names, source=call.file, force=call.telling.force)
    done = [(one, place) for one, place in _pairs(found, targets) if not isinstance(one, NoFit)]
    for one, place in done:
        if not one.same_as:
            write(place, score_bytes(call, one.variant, place))
    refused = [one for one in found if isinstance(one, NoFit)]
    _report(call, done, refused, notes=notes)
    if refused:
        raise typer.Exit(1)


def _stem(name: str) -> str:
    return "".join(sign if sign.isalnum() or sign in "-_." else "-" for sign in name)


def _pairs(found: Sequence[T], targets: Sequence[Target]) -> list[tuple[T, Target]]:
    return list(zip(found, targets, strict=False))


def _fitter(call: VariantCall, score: Score, wanted: dict[str, Any], progress: Progress) -> Fitter:
    from variants.levels import Fitter

    wishes = call.player.wishes()
    return Fitter(score, wishes, progress=progress, has_level_marks=not call.player.mark, **wanted)


class _Progress:
    """A bar on a terminal that says how far the search is; nothing in a pipe.

    How many versions a search needs is not known before: the bar counts those fingered against the
    most that will be, so it may end early, never late.
    """

    def __init__(self, call: VariantCall, levels: Sequence[str]) -> None:
        self.shows = sys.stderr.isatty() and not call.telling.quiet and not call.telling.json
        self.levels = list(levels)
        self.done = 0.0

    def quiet(self) -> None:
        """Show nothing from here on."""
        self.shows = False

    def __enter__(self) -> Self:
        return self

    def __call__(self, level: str, fingered: int, most: int) -> None:
        from ..text import bar, count

        if not self.shows:
            return
        self.done = max(self.done, self.levels.index(level) + fingered / most)
        tried = count(fingered, "version")
        self._write(f"{bar(self.done / len(self.levels))} {level}: {tried} tried")

    def _write(self, text: str) -> None:
        if self.shows:
            sys.stderr.write(f"\r\x1b[2K{text}")
            sys.stderr.flush()

    def __exit__(self, *_: object) -> None:
        self._write("")


def _refuse(call: VariantCall, refused: Sequence[NoFit]) -> NoReturn:
    from ..text import show, show_json, wrapped

    if call.telling.json:
        show_json({"source": shown(call.file), "fits": [], "refused": _refused_json(refused)})
    elif not call.telling.quiet:
        show([line for one in refused for line in wrapped(one.sentence(), other="  ")])
    raise typer.Exit(1)


def _refused_json(refused: Sequence[NoFit]) -> list[dict[str, Any]]:
    return [
        {
            "level": one.level.name,
            "next_level": one.next_level or None,
            "nearest": list(one.nearest.steps) if one.nearest else None,
            "blocked_by": [
                {"limit": limit, "message": text}
                for limit, text in (one.nearest.blocked if one.nearest else ())
            ],
        }
        for one in refused
    ]


def _report(
    call: VariantCall,
    done: Sequence[tuple[Fit, Target]],
    refused: Sequence[NoFit] = (),
    *,
    notes: dict[int, tuple[str, ...]],
) -> None:
    from ..text import show, show_json

    if call.telling.quiet:
        return
    stream = sys.stderr if any(target.is_stream for _, target in done) else sys.stdout
    if call.telling.json:
        fits = [_fit_json(call, one, target) for one, target in done]
        if len(fits) == 1 and not refused:
            show_json(fits[0], stream)
            return
        values = {"source": shown(call.file), "fits": fits, "refused": _refused_json(refused)}
        show_json(values, stream)
        return
    lines: list[str] = []
    for one, target in done:
        lines += [*_fit_lines(call, one, target, notes.get(id(one), ())), ""]
    lines += [one.sentence() for one in refused]
    show([*lines, *_caution()], stream)


def _caution() -> list[str]:
    from variants.cautions import HEALTH

    return [HEALTH]


def _fit_json(call: VariantCall, one: Fit, target: Target) -> dict[str, Any]:
    from ..report import variant_json

    output = "" if one.same_as else "standard output" if target.is_stream else target.name
    values = variant_json(
        one.variant, source=shown(call.file), output=output, explains=call.telling.explain
    )
    return {
        **values,
        "level": one.level.name,
        "same_as": one.same_as or None,
        "remarks": list(one.remarks),
        "tune": {"kept": round(one.kept.is_tune, 4), "left": round(one.kept.is_left, 4)},
        "loss": one.plan.total,
        "losses": {name: round(value, 4) for name, value in one.plan.losses.items()},
    }


def _fit_lines(
    call: VariantCall, one: Fit, target: Target, otherwise: tuple[str, ...]
) -> list[str]:
    from ..fit_words import loss_words, plan_words
    from ..report import variant_lines
    from ..text import fields

    output = "standard output" if target.is_stream else target.name
    if one.same_as:
        return [f"{one.level.name}: the same as {one.same_as}; nothing more is written"]
    if not call.telling.explain:
        rows = [
            ("changes", "; ".join(plan_words(one)) or "none: it meets the level as it is"),
            ("gives up", "; ".join(loss_words(one)) or "nothing"),
            ("the tune", _tune_text(one)),
            *(("mind", text) for text in one.remarks),
        ]
        return [f"{one.level.name}: {output}", *fields(rows, indent=2)]
    lines = [f"{one.level.name} ({one.level.title})" if one.level.title else one.level.name]
    lines += variant_lines(one.variant, source=shown(call.file), output=output, explains=True)
    lines += fields([("the tune", _tune_text(one)), *(("mind", t) for t in one.remarks)], indent=2)
    return [*lines, *_explained(call, one, target, otherwise)]


def _tune_text(one: Fit) -> str:
    kept = one.kept
    return f"{kept.is_tune:.0%} of what it plays is the tune, {kept.is_left:.0%} of it is left"


def _explained(
    call: VariantCall, one: Fit, target: Target, otherwise: tuple[str, ...]
) -> Iterator[str]:
    from variants.levels import MEANINGS

    from ..text import fields, table, wrapped

    rows = [(name, f"{value:.0%}", MEANINGS[name]) for name, value in one.plan.losses.items()]
    yield ""
    yield f"What is given up, loss {one.plan.total:.2f}"
    yield from ("  " + line for line in table(("loss", "share", "meaning"), rows, right=(1,)))
    measures: dict[str, list[str]] = {}
    for change in one.variant.changes:
        if change.measure and change.step != "read":
            measures.setdefault(change.measure, []).append(change.message)
    if measures:
        yield ""
        yield "Measure by measure"
        order = [measure.number for measure in one.variant.source.parts[0].measures]
        numbers = sorted(measures, key=lambda n: order.index(n) if n in order else len(order))
        yield from fields([(n, "; ".join(dict.fromkeys(measures[n]))) for n in numbers], indent=2)
    yield ""
    yield "The same as a recipe"
    yield from wrapped(shlex.join(_recipe(call, one, target)), first="  ", other="    ")
    if otherwise:
        from ..describe_levels import measures_text

        text = f"run by vary, it has the same notes at other places in {measures_text(otherwise)}"
        yield from wrapped(f"{text}, since vary knows no level", first="  ", other="  ")


def _recipe(call: VariantCall, one: Fit, target: Target) -> list[str]:
    """Return the call of `vary` that makes the same version."""
    steps = [word for text in one.plan.steps for word in ("-s", text)]
    plain = options.Player()
    told = {
        name: getattr(call.player, name)
        for name in ("part", "tuning", "capo", "frets", "scale", "reading", "hand")
        if getattr(call.player, name) != getattr(plain, name)
    }
    given = [word for name, value in told.items() for word in (f"--{name}", str(value))]
    kept = [] if one.wishes.fingering in {"keep", "as-is"} else ["--fingering", "fill"]
    return ["neckwise", "vary", call.file, *steps, *given, *kept, "-o", target.name]
