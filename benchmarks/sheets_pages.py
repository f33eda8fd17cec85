"""Every sample through every shipped recipe, on both papers, in both sizes: do the pages hold?

Run as ``python -m benchmarks.sheets_pages [--pdf FOLDER] [--smoke]``. Each handout is set, read
back from the typesetter's own drawing and from the engraver's, and checked: nothing leaves a page
or stands over another picture, no letter is too small, none overlaps another, staves have their
size, every note and every fret number is there. With ``--pdf`` the handouts are kept, to be
looked at. A variant that cannot be made of a sample is counted and left out.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from tests.unit.sheets.pages import Page, note_groups, set_pages
from variants.errors import NeckwiseError
from variants.family import has_family, make_family
from variants.levels.headlines import headlines
from variants.musicxml import read
from variants.pipeline import parse_pipeline
from variants.recipes import Recipe, usual_recipes
from variants.score import Score
from variants.sheets import Engraving, Look, Version, handout
from variants.sheets.changes import ChangeReport, merged
from variants.sheets.handout import page_data, version_sheets
from variants.sheets.style import PAPERS, PRINTS, Print, print_named
from variants.variant import make_variant

SAMPLES = Path(__file__).parents[1] / "samples"
LEAST_MARGIN_MM = 12.0
# Orchestra librarians: a staff of 7 to 8.5 mm in ordinary print (MOLA 2017); large print from
# 10 mm (the practice of libraries for partially sighted readers).
STAFF_MM = {"normal": (7.0, 8.5), "large": (10.0, 14.0)}


@dataclass(slots=True)
class Count:
    """What a run found."""

    made: int = 0
    refused: int = 0
    handouts: int = 0
    pages: int = 0
    lines: int = 0
    letters: int = 0
    log: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)


def variants_of(path: Path, recipe: Recipe, part: str = "") -> Iterator[tuple[str, Score]]:
    """Yield what a recipe makes of a sample: name of the member, empty for one alone; score.

    Raises:
        NeckwiseError: It cannot be made.
    """
    score, wishes = read(path), recipe.wishes(part=part)
    if has_family(recipe.items):
        for member, variant in make_family(score, recipe.items, wishes):
            yield member.name, variant.score
    else:
        steps = parse_pipeline(recipe.steps).steps
        yield "", make_variant(score, steps, wishes).score


def faults_of_pages(made: list[Page]) -> Iterator[str]:
    """Yield what stands outside the margins of its page, and pictures that overlap."""
    for number, page in enumerate(made, 1):
        for one in page.shapes:
            low = page.height - LEAST_MARGIN_MM + 0.5
            inside = one.left >= LEAST_MARGIN_MM and one.right <= page.width - LEAST_MARGIN_MM + 0.5
            if not inside or one.top < LEAST_MARGIN_MM - 0.5 or one.bottom > low:
                yield f"page {number}: {one.kind} outside the margins"
        pictures = [one for one in page.shapes if one.kind == "image"]
        for index, one in enumerate(pictures):
            for two in pictures[index + 1 :]:
                across = min(one.right, two.right) - max(one.left, two.left)
                down = min(one.bottom, two.bottom) - max(one.top, two.top)
                if across > 0.1 and down > 0.1:
                    yield f"page {number}: two pictures overlap"


def faults_of_music(engraving: Engraving, printed: Print) -> Iterator[str]:
    """Yield what is wrong with the lines of music themselves."""
    drawn: Counter[str] = Counter()
    low, high = STAFF_MM[printed.name]
    for number, system in enumerate(engraving.systems, 1):
        drawn.update(list(note_groups(system.svg)))
        for staff in system.staves:
            tall = (staff.lines[-1] - staff.lines[0]) / system.units_per_mm
            if len(staff.lines) == 5 and not low <= tall <= high:
                yield f"line {number}: a staff of {tall:.2f} mm"
        width = system.width_mm * system.units_per_mm
        for index, one in enumerate(system.letters):
            if one.points < printed.small_pt:
                yield f"line {number}: {one.text!r} in {one.points:g} points"
            if one.box[0] < -60 or one.box[2] > width + 60:
                yield f"line {number}: {one.text!r} leaves the line"
            for two in system.letters[index + 1 :]:
                across = min(one.box[2], two.box[2]) - max(one.box[0], two.box[0])
                down = min(one.box[3], two.box[3]) - max(one.box[1], two.box[1])
                least = 0.38 * min(one.box[3] - one.box[1], two.box[3] - two.box[1])
                if across > 20 and down > least:
                    yield f"line {number}: {one.text!r} over {two.text!r}"
    missing = set(engraving.heads) - set(drawn)
    placeless = {name for name in missing if engraving.heads[name][3].place is None}
    if missing - placeless:
        yield f"{len(missing - placeless)} heads are not drawn"
    if any(count > 1 for count in drawn.values()):
        yield "a head is drawn twice"


def check(score: Score, name: str, look: Look, count: Count, folder: Path | None) -> None:
    """Set one handout, check it, and count."""
    changes = [
        {"step": one.step, "message": one.message, "measure": one.measure} for one in score.changes
    ]
    version = Version(
        score=score,
        name=name.replace("-", " "),
        report=ChangeReport(changes=tuple(merged(changes))),
        practises=headlines(score),
    )
    sheets = version_sheets([version], look, reading=False)
    data, log, engravings = page_data(sheets, look)
    made = set_pages(data, look)
    count.handouts += 1
    count.pages += len(made)
    count.log.update(str(change.message) for change in log)
    where = f"{name}, {look.paper}, {look.size}"
    found = list(faults_of_pages(made))
    shown = sum(one.kind == "image" for page in made for one in page.shapes)
    wanted = drawings_of(data)
    if shown != wanted:
        found.append(f"{shown} pictures instead of {wanted}")
    for engraving in engravings:
        count.lines += len(engraving.systems)
        count.letters += sum(len(system.letters) for system in engraving.systems)
        found += faults_of_music(engraving, print_named(look.size))
    count.faults += [f"{where}: {one}" for one in found]
    if folder is not None:
        pdf = handout([version], look, reading=False).pdf
        (folder / f"{name}-{look.paper}-{look.size}.pdf").write_bytes(pdf)


def drawings_of(data: dict[str, Any]) -> int:
    """Return how many drawings the pages of a handout should show."""
    count = 0
    for piece in (piece for page in data["pages"] for piece in page["pieces"]):
        sheet = data["sheets"][piece["sheet"]]
        if piece["what"] == "line":
            count += 1
        elif piece["what"] in ("row", "unsigned") and piece["index"] == 0:
            count += len(sheet["necks"]) + len(sheet["grips"])
            if piece["what"] == "row":
                count += sum(entry["drawing"] is not None for entry in sheet["legend"])
    return count


def main(*, smoke: bool = False, folder: Path | None = None) -> Count:
    """Print the counts and the faults, and return them."""
    count = Count()
    paths = sorted(SAMPLES.glob("*.musicxml"))
    recipes = usual_recipes()
    if smoke:
        paths = [path for path in paths if path.stem in {"harbour-riff", "amazing-grace"}]
        recipes = {name: recipes[name] for name in ("tab-only", "easy-rhythm")}
    if folder is not None:
        folder.mkdir(parents=True, exist_ok=True)
    for path in paths:
        for name, recipe in recipes.items():
            try:
                found = list(variants_of(path, recipe, _part_of(path)))
            except NeckwiseError as error:
                count.refused += 1
                print(f"not made: {path.stem}, {name}: {error}")
                continue
            for member, score in found:
                count.made += 1
                title = "-".join(word for word in (path.stem, name, member) if word)
                for paper in PAPERS:
                    for size in PRINTS:
                        look = Look(paper=paper, size=size, staves=recipe.staves)
                        check(score, title, look, count, folder)
    _tell(count)
    return count


def _part_of(path: Path) -> str:
    """A duet is made for its first player."""
    return "P1" if "duet" in path.stem else ""


def _tell(count: Count) -> None:
    print(f"variants made {count.made}, not made {count.refused}")
    print(f"handouts {count.handouts}, pages {count.pages}, lines of music {count.lines}")
    print(f"letters in the music {count.letters}")
    for text, often in count.log.most_common():
        print(f"log, {often} times: {text}")
    for fault in count.faults:
        print(f"FAULT {fault}")
    print(f"faults {len(count.faults)}")


if __name__ == "__main__":
    words = sys.argv[1:]
    kept = Path(words[words.index("--pdf") + 1]) if "--pdf" in words else None
    result = main(smoke="--smoke" in words, folder=kept)
    sys.exit(1 if result.faults else 0)
