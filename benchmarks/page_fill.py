"""How full the pages of handouts are: four versions and three exercises of every piece.

Run as ``python -m benchmarks.page_fill [--pdf FOLDER] [--smoke]``. Pieces are the samples and ten
tunes that are made here by a seeded walk, none of which the layout was tuned to. For each page the
lowest ink above the foot (the lowest 9 % are left out) is taken as a share of the height from 4 %
to 91 %. Printed are the pages and their shares, the mean, and the pages under 45 % that are not the
last of a piece. Results are in ``page_fill.md``.
"""

from __future__ import annotations

import io
import random
import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from statistics import mean

from benchmarks.sheets_pages import SAMPLES, variants_of
from tests.strategies import line
from variants.errors import NeckwiseError
from variants.levels.headlines import headlines
from variants.musicxml import to_bytes
from variants.recipes import usual_recipes
from variants.score import Score
from variants.sheets import Look, Version, exercises, print_sheets
from variants.sheets.changes import ChangeReport, merged
from variants.sheets.handout import version_sheets

RECIPES = ("tab-only", "open-position", "position-5", "easy-rhythm")
KINDS = ("fill-tab", "name-notes", "clap")
LITTLE = 0.45
_DPI = 40
_INK = 160
_TOP, _LOW = 0.04, 0.91
# Measures of each tune, and whether notes of two strings sound together.
_TUNES = ((6, 0), (8, 1), (9, 0), (10, 0), (12, 1), (14, 0), (16, 0), (20, 1), (24, 0), (32, 0))
_RHYTHMS = ("q q q q", "h h", "q. e q q", "e e q e e q", "q q h", "h. q", "e e e e q q")
_SCALE = ("G3", "A3", "B3", "C4", "D4", "E4", "F4", "G4", "A4")


@dataclass(frozen=True, slots=True)
class PagesOfPiece:
    """The pages of one piece, each with the share of it that is filled."""

    name: str
    shares: tuple[float, ...]


def tunes() -> Iterator[tuple[str, tuple[str, ...]]]:
    """Yield name and measures of ten tunes: steps and small leaps, a long note each four."""
    for seed, (count, together) in enumerate(_TUNES):
        chance = random.Random(seed)  # noqa: S311 - a tune, no secret
        at, texts = 2, []
        for measure in range(count):
            rhythm = "h h" if measure % 4 == 3 else chance.choice(_RHYTHMS)
            tokens = []
            for value in rhythm.split():
                at = min(len(_SCALE) - 1, max(2, at + chance.choice((-2, -1, -1, 1, 1, 2))))
                lower = f"+{_SCALE[at - 2]}" if together else ""
                tokens.append(f"{_SCALE[at]}{lower}:{value}")
            texts.append(" ".join(tokens))
        yield f"tune-{count}", tuple(texts)


def shares(pngs: list[bytes]) -> tuple[float, ...]:
    """Return how far down each page has ink above its foot."""
    from PIL import Image

    found = []
    for data in pngs:
        page = Image.open(io.BytesIO(data)).convert("L")
        width, height = page.size
        upper = page.crop((0, 0, width, int(height * _LOW)))
        box = upper.point(lambda value: 255 if value < _INK else 0).getbbox()
        ink = box[3] - 1 if box else 0
        found.append(max(0.0, (ink - height * _TOP) / (height * (_LOW - _TOP))))
    return tuple(found)


def printed(path: Path, folder: Path | None, look: Look) -> PagesOfPiece:
    """Return the pages of the versions and exercises of one piece."""
    versions, staves = [], []
    recipes = usual_recipes()
    for name in RECIPES:
        try:
            made = list(variants_of(path, recipes[name], "P1" if "duet" in path.stem else ""))
        except NeckwiseError as error:
            print(f"not made: {path.stem}, {name}: {error}")
            continue
        versions += [
            Version(
                score=score,
                name=recipes[name].title,
                report=ChangeReport(changes=tuple(merged(list(_changes(score))))),
                practises=headlines(score),
            )
            for _, score in made
        ]
        staves += [str(recipes[name].staves)] * len(made)
    reading, *sheets = version_sheets(versions, look)
    laid = [replace(sheet, staves=own) for sheet, own in zip(sheets, staves, strict=True)]
    made_pages = print_sheets([reading, *laid, *exercises(versions[0], KINDS)], look)
    if folder is not None:
        (folder / f"{path.stem}-{look.paper}-{look.size}.pdf").write_bytes(made_pages.pdf)
    return PagesOfPiece(path.stem, shares(made_pages.pngs(_DPI)))


def _changes(score: Score) -> Iterator[dict[str, str]]:
    for one in score.changes:
        yield {"step": one.step, "message": one.message, "measure": one.measure}


def pieces(folder: Path) -> list[Path]:
    """Return the files of all pieces; the tunes are written into a folder."""
    found = sorted(SAMPLES.glob("*.musicxml"))
    for name, texts in tunes():
        path = folder / f"{name}.musicxml"
        path.write_bytes(to_bytes(line(*texts)))
        found.append(path)
    return found


def main(*, smoke: bool = False, folder: Path | None = None, look: Look | None = None) -> float:
    """Print the pages of every piece, and return their mean fill."""
    from tempfile import TemporaryDirectory

    with TemporaryDirectory() as made:
        paths = pieces(Path(made))
        if smoke:
            paths = [path for path in paths if path.stem in ("auld-lang-syne", "tune-8")]
        all_pages = [printed(path, folder, look or Look()) for path in paths]
    for one in all_pages:
        print(f"{one.name}: {len(one.shares)}", *(f"{share:.2f}" for share in one.shares))
    every = [share for one in all_pages for share in one.shares]
    inner = [share for one in all_pages for share in one.shares[:-1]]
    little = sum(share < LITTLE for share in inner)
    print(f"pieces {len(all_pages)}, pages {len(every)}, mean {mean(every):.3f}")
    print(f"under {LITTLE:.0%}, last pages aside: {little} of {len(every)}")
    return mean(every)


if __name__ == "__main__":
    words = sys.argv[1:]
    kept = Path(words[words.index("--pdf") + 1]) if "--pdf" in words else None
    if kept is not None:
        kept.mkdir(parents=True, exist_ok=True)
    wish = Look(
        paper="letter" if "letter" in words else "a4",
        size="large" if "large" in words else "normal",
        left_handed="left" in words,
    )
    main(smoke="--smoke" in words, folder=kept, look=wish)
