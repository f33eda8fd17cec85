"""The HTML of the review page. Every text from a file is escaped here, and nowhere else."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape

from variants.sheets import facts
from variants.sheets.changes import shortened
from variants.sheets.grips import draw_grip, grips_of
from variants.sheets.handout import Look, Version
from variants.sheets.legend import legend
from variants.sheets.neckmap import neck_map, places_used
from variants.sheets.review.compare import Comparison, in_words
from variants.sheets.style import print_named

_SELECTED = {True: " selected", False: ""}


@dataclass(frozen=True, slots=True)
class Column:
    """A version as it stands on the page.

    Args:
        version: The version.
        name: What it is called on this page; never empty.
        comparison: How it differs from the first version.
        music: Its lines as drawings.
    """

    version: Version
    name: str
    comparison: Comparison
    music: Sequence[str]


def article(column: Column, number: int, first: Column, look: Look) -> str:
    """Return a version: what it is, what changed, its neck, its music."""
    return (
        f'<article class="version" id="v{number}" data-version="{number}" '
        f'aria-labelledby="v{number}-name">'
        f'<div class="intro">{_head(column, number)}{_facts(column, first)}'
        f"{_practises(column.version)}{_changed(column, first, number)}</div>"
        f'<div class="stage">{_necks(column, number, look)}'
        f'<div class="music">{"".join(column.music)}</div>{_grips(column, look)}</div></article>'
    )


def _head(column: Column, number: int) -> str:
    return (
        f'<div class="name"><h2 id="v{number}-name" dir="auto">{escape(column.name)}</h2>'
        f'<button type="button" class="listen" data-listen="{number}" aria-pressed="false">'
        f'<span class="mark" aria-hidden="true"></span>Listen'
        f'<span class="unseen"> to {escape(column.name)}</span></button></div>'
    )


def _facts(column: Column, first: Column) -> str:
    """Return key, tempo and so on; what is other than in the first version says what it was."""
    before = dict(_facts_of(first))
    items = []
    for label, value in _facts_of(column):
        was = before.get(label, "none")
        other = f' <span class="was">was {escape(was)}</span>' if was != value else ""
        inner = f"<ins>{escape(value)}</ins>{other}" if other else escape(value)
        items.append(f"<div><dt>{escape(label)}</dt><dd>{inner}</dd></div>")
    return f'<dl class="facts">{"".join(items)}</dl>' if items else ""


def _facts_of(column: Column) -> list[tuple[str, str]]:
    version = column.version
    return facts.facts(version.score, level=version.level or version.report.level)


def _practises(version: Version) -> str:
    if not version.practises:
        return ""
    return f"<h3>What this version practises</h3>{_list(version.practises)}"


def _changed(column: Column, first: Column, number: int) -> str:
    if column is first:
        return '<p class="base">The others are compared with this version.</p>'
    lines = in_words(column.comparison)
    text = f"<h3>Beside “<span dir='auto'>{escape(first.name)}</span>”</h3>"
    text += _list(lines) if lines else "<p>Note for note the same.</p>"
    reported = shortened(column.version.report.changes)
    if reported:
        text += f'<h3 id="v{number}-log">From the change log</h3>{_list(reported)}'
    return text


def _list(items: Iterable[str]) -> str:
    rows = (f'<li dir="auto">{escape(item)}</li>' for item in items)
    return f"<ul>{''.join(rows)}</ul>"


def _necks(column: Column, number: int, look: Look) -> str:
    score = column.version.score
    found = []
    for index, part in enumerate(score.parts):
        used = places_used(part)
        if part.instrument is None or not used:
            continue
        drawing = neck_map(score, part=index, size=look.size, left_handed=look.left_handed)
        # Necks of few and of many frets are equally high, so that the music begins alike.
        side = "xMaxYMid" if look.left_handed else "xMinYMid"
        svg = drawing.svg.replace("<svg ", f'<svg preserveAspectRatio="{side} meet" ', 1)
        home = next((one.name.rstrip("-0123456789") for one in used if one.is_home), "")
        words = [part.name] if len(score.parts) > 1 and part.name else []
        words += [f"filled: {facts.signed(home)}, the home note"] if home else []
        caption = escape("; ".join(words) or "places that are used")
        found.append(
            f'<figure class="neck" data-part="{index}" id="v{number}-neck{index}">{svg}'
            f"<figcaption><b>{escape(column.name)}</b> · {caption}</figcaption></figure>"
        )
    # Without a map its room stays empty, so that the music begins beside that of the others.
    return f'<div class="necks">{"".join(found)}</div>'


def _grips(column: Column, look: Look) -> str:
    printed = print_named(look.size)
    chords = dict.fromkeys(grip for part in column.version.score.parts for grip in grips_of(part))
    drawn = [draw_grip(grip, printed, left_handed=look.left_handed).svg for grip in chords]
    return f'<div class="grips">{"".join(drawn)}</div>' if drawn else ""


def signs(columns: Sequence[Column], look: Look) -> str:
    """Return the legend of every sign that a version uses, each once."""
    rows: dict[str, str] = {}
    for column in columns:
        score = column.version.score
        layouts = {str(look.staves), *(part.layout for part in score.parts)}
        for entry in legend(score, tab=bool(layouts & {"tab", "both"}), fingers=True):
            sign = entry.drawing.svg if entry.drawing else escape(entry.sign)
            rows.setdefault(entry.meaning, f"<dt>{sign}</dt><dd>{escape(entry.meaning)}</dd>")
    return f'<dl class="signs-used">{"".join(rows.values())}</dl>' if rows else ""


def chooser(columns: Sequence[Column]) -> str:
    """Return the boxes that say which versions are shown."""
    return "".join(
        f'<label><input type="checkbox" data-show="{number}" checked> '
        f'<span dir="auto">{escape(column.name)}</span></label>'
        for number, column in enumerate(columns)
    )


def options(texts: Iterable[tuple[str, str]], chosen: str) -> str:
    """Return the choices of a list, each a value and its text."""
    return "".join(
        f'<option value="{escape(value)}"{_SELECTED[value == chosen]}>{escape(text)}</option>'
        for value, text in texts
    )


def makers(version: Version) -> str:
    """Return who made the piece, and whose it is."""
    lines = [*facts.creators(version.score), facts.rights(version.score)]
    return "".join(f'<span dir="auto">{escape(line)}</span>' for line in lines)
