"""``docs/levels.md`` and ``docs/rules.md``: words by hand, tables from the code.

``pytest tests/golden/test_docs.py --update-golden`` writes the tables anew.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from tests.conftest import Golden
from variants.levels import MEANINGS, WEIGHTS, load_ladder
from variants.levels.difficulty import FACTORS
from variants.levels.grade import AREAS, OVERALL
from variants.levels.level import Level
from variants.proof import Severity, list_rules

DOCS = Path(__file__).parents[2] / "docs"


def rows(heads: Sequence[str], lines: Iterable[Sequence[str]]) -> str:
    """Return a table."""
    body = "\n".join(f"| {' | '.join(row)} |" for row in lines)
    return f"| {' | '.join(heads)} |\n|{'-|' * len(heads)}\n{body}"


def spliced(path: Path, tables: dict[str, str]) -> str:
    """Return a page with the text between each pair of table marks written anew."""
    text = path.read_text(encoding="utf-8")
    for name, table in tables.items():
        begin, end = f"<!-- table: {name} -->", f"<!-- end: {name} -->"
        assert begin in text, f"{path.name} has no place for the table {name}"
        head, rest = text.split(begin)
        text = f"{head}{begin}\n\n{table}\n\n{end}{rest.split(end)[1]}"
    return text


def value_text(level: Level, name: str) -> str:
    """Return a limit of a level in a few words."""
    limit = getattr(level.limits, name)
    if limit is None:
        return "any"
    value = limit.value
    return ", ".join(map(str, value)) or "none" if isinstance(value, tuple) else f"{value}"


def test_levels_page(golden: Golden) -> None:
    """The ladder, the losses and the factors are those of the code."""
    ladder = load_ladder()
    limits = [
        (name.replace("_", "-"), *(value_text(level, name) for level in ladder))
        for name in type(ladder[0].limits).model_fields
    ]
    areas = ("new area", *(str(level.areas[-1]) for level in ladder))
    tables = {
        "ladder": rows(("limit", *(level.name for level in ladder)), [*limits, areas]),
        "losses": rows(
            ("loss", "weight", "meaning"),
            [(name, f"{weight:g}", MEANINGS[name]) for name, weight in WEIGHTS.items()],
        ),
        "difficulty": rows(
            ("figure", "made of"),
            [
                (area, ", ".join(f"{name} {weight:g}" for name, weight in own.items()))
                for area, own in {**AREAS, "overall": OVERALL}.items()
            ],
        ),
        "factors": rows(
            ("group", "factor", "unit"), [(group, name, unit) for group, name, unit, *_ in FACTORS]
        ),
    }
    page = DOCS / "levels.md"
    golden(page, spliced(page, tables))


def test_rules_page(golden: Golden) -> None:
    """Every rule is in the table of its severity, with what it finds."""
    tables = {
        severity.value: rows(
            ("rule", "finds that"),
            [(f"`{one.id}`", one.meaning) for one in list_rules() if one.severity is severity],
        )
        for severity in Severity
    }
    page = DOCS / "rules.md"
    golden(page, spliced(page, tables))
