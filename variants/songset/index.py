"""The index page of a set: one HTML file with every song, its pictures, links and difficulty."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from importlib import resources
from typing import Any
from urllib.parse import quote

from variants.cautions import footer_text
from variants.levels import Coverage
from variants.levels.covering import Item
from variants.levels.grade import AREAS
from variants.songset.outputs import PICTURE
from variants.songset.resolved import WHOLE_NAMES, SongSet
from variants.songset.standing import Situation

_STYLE = "index.css"
_KINDS = {
    "pdf": "PDF",
    "musicxml": "MusicXML",
    "mxl": "MXL",
    "midi": "sound",
    "svg": "drawing",
}
_WHOLES = {name: kind for kind, name in WHOLE_NAMES.items()}
_GROUPS = tuple(AREAS)
_KIND_TEXTS = {
    "value": "note values",
    "key": "keys",
    "dyad": "two notes at once",
    "landmark": "landmarks of the neck",
    "off-beat": "off the beat",
}
_MOST_ITEMS = 12
# Fewer songs are seen at a glance.
_FEWEST_LISTED = 6
_SIGNS = {"#": "♯", "b": "♭"}
_NOTE = re.compile(r"\b([A-G])(#+|b+)(?=[\d\s]|$)")
_FRET_WIDTH, _STRING_GAP = 22, 14
_STATES = {
    "taught": "in the level, and met",
    "met before it is taught": "met, and not in the level",
    "never met": "in the level, and never met",
}


@dataclass(frozen=True, slots=True)
class Page:
    """Writes the page a song at a time.

    Args:
        songs: The set.
        situation: Its plan.
    """

    songs: SongSet
    situation: Situation

    def head(self) -> str:
        """Return the page down to the first song."""
        front = {name: escape(text) for name, text in self.songs.front.items()}
        title = front.get("title", "Song set")
        style = (resources.files("variants.songset") / _STYLE).read_text(encoding="utf-8")
        lines = [front[name] for name in ("subtitle", "author") if name in front]
        count = len(self.situation.songs)
        variants = sum(
            unit.name not in _WHOLES for one in self.situation.songs for unit in one.units
        )
        totals = f"{_count(count, 'song')}, {_count(variants, 'variant')}"
        return (
            '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
            '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
            f"<title>{title}</title>\n<style>\n{style}</style>\n</head>\n<body>\n"
            f"<header>\n<h1>{title}</h1>\n"
            + "".join(f"<p>{line}</p>\n" for line in lines)
            + (f'<p class="note">{front["note"]}</p>\n' if "note" in front else "")
            + f'<p class="totals">{totals}. {_LEGEND}</p>\n</header>\n{self._contents()}<main>\n'
        )

    def _contents(self) -> str:
        """Return a list of all songs by the names of their files, for a reader and for a jump."""
        if len(self.situation.songs) < _FEWEST_LISTED:
            return ""
        items = "".join(
            f'<li><a href="#{escape(one.song.name)}">'
            f"{escape(one.song.name.replace('-', ' '))}</a></li>\n"
            for one in self.situation.songs
        )
        return f'<nav aria-label="Songs">\n<ol>\n{items}</ol>\n</nav>\n'

    def song(self, song: Mapping[str, Any]) -> str:
        """Return the part of the page about one song."""
        name = escape(song["name"])
        head = (
            f'<section id="{name}">\n<h2><span class="number">{song["number"]}</span> '
            f"{escape(song['title'])}</h2>\n"
        )
        wholes = "".join(_whole(one) for one in song["variants"] if one["name"] in _WHOLES)
        source = f'<p class="source">from {escape(song["source"])}{wholes}</p>\n'
        if song["fault"]:
            return f'{head}{source}<p class="problem">{escape(song["fault"])}</p>\n</section>\n'
        rows = "".join(_row(one) for one in song["variants"] if one["name"] not in _WHOLES)
        table = (
            f'<div class="wide"><table>\n{_COLUMNS}<thead><tr><th scope="col">variant</th>'
            '<th scope="col">files</th><th scope="col">key</th><th scope="col">range</th>'
            '<th scope="col">hand</th>'
            + "".join(f'<th scope="col" class="m">{name}</th>' for name in _GROUPS)
            + f"</tr></thead>\n<tbody>\n{rows}</tbody>\n</table></div>\n"
        )
        return f"{head}{source}{_picture(song)}{table if rows else ''}</section>\n"

    def foot(self, coverage: Coverage | None) -> str:
        """Return the end of the page.

        Args:
            coverage: What the songs cover of the set's level; ``None`` if it names none.
        """
        rights = escape(self.songs.front.get("rights", ""))
        line = f"<p>{rights}</p>\n" if rights else ""
        return (
            "</main>\n"
            + (_coverage(coverage) if coverage else "")
            + f"<footer>\n{line}<p>{escape(footer_text())}</p>\n</footer>\n</body>\n</html>\n"
        )


# Fixed, so that the columns of all songs stand under each other.
_COLUMNS = "".join(f'<col style="width:{width}%">' for width in (26, 19, 10, 10, 11, 6, 6, 6, 6))
_LEGEND = (
    "Bars show the hardest single thing in each field, from nothing to the most there is; "
    "point at one to see what it is and where."
)


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def signed(text: str) -> str:
    """Return a text in which the names of notes have real accidentals.

    >>> signed("Bb major, F#3 to B4")
    'B♭ major, F♯3 to B4'
    """
    return _NOTE.sub(lambda one: one[1] + "".join(_SIGNS[c] for c in one[2]), text)


def _link(path: str, text: str) -> str:
    return f'<a href="{quote(path)}">{escape(text)}</a>'


def _picture(song: Mapping[str, Any]) -> str:
    for variant in song["variants"]:
        for piece in variant["pieces"]:
            path = piece["files"].get(PICTURE)
            if path:
                alt = escape(f"The first line of {song['title']}, {variant['title']}")
                return f'<img src="{quote(path)}" alt="{alt}" loading="lazy">\n'
    return ""


def _whole(unit: Mapping[str, Any]) -> str:
    """Return the link to a file that holds all variants of a song."""
    kind = _WHOLES[unit["name"]]
    what = f"{unit['title'][:1].lower()}{unit['title'][1:]}"
    if unit["state"] != "made":
        return f" · {escape(what)}: {escape(unit['reason'])}"
    piece = unit["pieces"][0]
    pages = f", {_count(piece['pages'], 'page')}" if piece["pages"] else ", with sound"
    left = f", without {len(piece['left-out'])} of them" if piece["left-out"] else ""
    return f" · {_link(piece['files'][kind], what + pages + left)}"


def _row(unit: Mapping[str, Any]) -> str:
    title = escape(unit["title"])
    if unit["state"] != "made":
        reason = escape(unit["reason"] or "was not made")
        return f'<tr class="gone"><th scope="row">{title}</th><td colspan="8">{reason}</td></tr>\n'
    return "".join(_piece(unit, piece) for piece in unit["pieces"])


def _piece(unit: Mapping[str, Any], piece: Mapping[str, Any]) -> str:
    title = piece["title"] if piece["member"] and piece["title"] else unit["title"]
    links = ", ".join(
        _link(piece["files"][kind], text) for kind, text in _KINDS.items() if kind in piece["files"]
    )
    lowest, highest = piece["range"]
    span = f"{lowest}–{highest}" if lowest else ""
    texts = (signed(piece["key-signature"]), signed(span), piece["positions"])
    cells = [links, *map(escape, texts)]
    return (
        f'<tr><th scope="row">{escape(title)}</th>'
        + "".join(f"<td>{cell}</td>" for cell in cells)
        + "".join(_meter(group, piece) for group in _GROUPS)
        + "</tr>\n"
    )


def _meter(group: str, piece: Mapping[str, Any]) -> str:
    """Return a cell with the figure of an area; what weighs most in it is in its title."""
    hard = piece["difficulty"]
    if not hard:
        return "<td></td>"
    weights = AREAS[group]
    heaviest = max(
        (one for one in piece["factors"] if one[1] in weights),
        key=lambda one: weights[one[1]] * one[2],
    )
    _, name, value, measure, reason = heaviest
    where = f", measure {measure}" if measure else ""
    most = f"; most of it {name}{where}" + (f": {reason}" if reason else "") if value else ""
    words = escape(f"{group} {hard['areas'][group]:.2f}{most}")
    share = round(100 * hard["areas"][group])
    return (
        f'<td class="m" title="{words}"><span class="bar" role="img" aria-label="{words}">'
        f'<i style="width:{share}%"></i></span></td>'
    )


def _coverage(coverage: Coverage) -> str:
    columns = "".join(_column(coverage, state, text) for state, text in _STATES.items())
    return (
        f'<section class="coverage">\n<h2>What the set covers of {escape(coverage.level)}</h2>\n'
        f'{_neck(coverage)}<div class="columns">\n{columns}</div>\n</section>\n'
    )


def _column(coverage: Coverage, state: str, text: str) -> str:
    kinds: dict[str, list[Item]] = {}
    for one in coverage.items:
        # Places stand on the map of the neck.
        if one.state == state and one.kind != "note":
            kinds.setdefault(one.kind, []).append(one)
    lines = "".join(
        f"<dt>{escape(_KIND_TEXTS.get(kind, kind + 's'))}</dt><dd>{_items(kind, items)}</dd>\n"
        for kind, items in kinds.items()
    )
    head = f"{text[:1].upper()}{text[1:]}"
    return f"<div>\n<h3>{head}</h3>\n<dl>\n{lines or '<dd>nothing</dd>'}</dl>\n</div>\n"


def _items(kind: str, items: Sequence[Item]) -> str:
    """Return the things of one kind in a row, each with the first song that has it."""
    shown = items[:_MOST_ITEMS]
    texts = []
    for one in shown:
        song = one.piece.partition("/")[0]
        text = escape(one.text.removeprefix(f"{kind} ").removeprefix(f"{kind}s: "))
        link = f'<a href="#{escape(song)}" title="first in {escape(one.piece)}">{text}</a>'
        texts.append(link if song else text)
    left = len(items) - len(shown)
    return "; ".join(texts) + (f"; and {left} more" if left else "")


def _neck(coverage: Coverage) -> str:
    """Return a map of the neck: which places are met, and whether the level has them."""
    spots = coverage.neck
    if not spots:
        return ""
    top = max(spot.fret for spot in spots)
    strings = max(spot.string for spot in spots)
    width, height = (top + 1) * _FRET_WIDTH + 30, (strings - 1) * _STRING_GAP + 40
    shapes = "".join(_neck_shapes(coverage, top, strings))
    met, early, never = (sum(1 for spot in spots if spot.state == state) for state in _STATES)
    words = (
        f"Filled: {_count(met, 'place')} that the level has and a song meets; rings: {never} that "
        f"no song meets; light: {early} beyond the level"
    )
    return (
        f'<svg class="neck" viewBox="0 0 {width} {height}" role="img" '
        f'aria-label="The neck. {words}">\n{shapes}</svg>\n'
        f'<p class="source">The neck from open strings to fret {top}. {words}.</p>\n'
    )


def _neck_shapes(coverage: Coverage, top: int, strings: int) -> Iterator[str]:
    right = 20 + (top + 1) * _FRET_WIDTH
    bottom = 10 + (strings - 1) * _STRING_GAP
    for string in range(strings):
        y = 10 + string * _STRING_GAP
        yield f'<line x1="{20 + _FRET_WIDTH}" y1="{y}" x2="{right}" y2="{y}"/>\n'
    for fret in range(top + 1):
        x = 20 + (fret + 1) * _FRET_WIDTH
        kind = ' class="nut"' if fret == 0 else ""
        yield f'<line{kind} x1="{x}" y1="10" x2="{x}" y2="{bottom}"/>\n'
        if fret in (3, 5, 7, 9, 12, 15, 17, 19):
            yield f'<text x="{x - _FRET_WIDTH // 2}" y="{bottom + 20}">{fret}</text>\n'
    names = {"taught": "met", "met before it is taught": "early", "never met": "never"}
    for spot in coverage.neck:
        x = 20 + spot.fret * _FRET_WIDTH + _FRET_WIDTH // 2
        y = 10 + (spot.string - 1) * _STRING_GAP
        yield f'<circle class="{names[spot.state]}" cx="{x}" cy="{y}" r="4.5"/>\n'
