"""The report of a build: `report.json`, written song by song, and the index page with it.

Both hang on nothing but the results, so two equal builds have equal reports; no time stands in
them. `docs/report.schema.json` is the shape.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

from variants.levels import Coverage, Gathered, Lesson, Level, covered
from variants.songset.digest import toolkit
from variants.songset.manifest import Manifest, Record
from variants.songset.opening import Opened
from variants.songset.outputs import Outputs
from variants.songset.plan import PlannedSong, Unit
from variants.songset.result import MadePiece, Result
from variants.songset.standing import Situation

FORMAT = 1
Facts = Callable[[Unit], Result]


@dataclass(frozen=True, slots=True, kw_only=True)
class Teller:
    """Tells of each song of a build in turn.

    Args:
        opened: The set.
        situation: Its plan.
        manifest: What was made.
        facts: Gives the result of a unit that was made.
        failed: Why units failed by chance, by id.
        gathered: Takes the lessons of all variants.
        neck: Takes the most strings and the highest fret of all variants.
    """

    opened: Opened
    situation: Situation
    manifest: Manifest
    facts: Facts
    failed: Mapping[str, str]
    gathered: Gathered = field(default_factory=Gathered)
    neck: dict[str, int] = field(default_factory=dict)

    def songs(self) -> Iterator[dict[str, Any]]:
        """Yield what is told of each song, as JSON values; lessons go into ``gathered``."""
        for planned in self.situation.songs:
            variants = [self._variant(planned, unit) for unit in planned.units]
            titles = [
                piece["song"] for one in variants for piece in one["pieces"] if piece.get("song")
            ]
            yield {
                "name": planned.song.name,
                "number": planned.song.number,
                "source": planned.song.shown,
                "title": titles[0] if titles else planned.song.name.replace("-", " "),
                "fault": planned.fault,
                "variants": variants,
            }

    def coverage(self) -> Coverage | None:
        """Return what all songs cover of the set's level; ``None`` if it names none."""
        if not self.opened.songs.level:
            return None
        return covered(self.gathered, Level.model_validate(self.opened.songs.level), **self.neck)

    def _variant(self, planned: PlannedSong, unit: Unit) -> dict[str, Any]:
        record = self.manifest.records.get(unit.id, Record())
        told: dict[str, Any] = {
            "id": unit.id,
            "name": unit.name,
            "title": unit.title,
            "key": unit.key,
            "state": "made",
            "reason": "",
            "pieces": [],
        }
        if record.refused_key == unit.key:
            state = "skipped" if record.is_skipped else "refused"
            return {**told, "state": state, "reason": record.refusal}
        if record.key != unit.key:
            return {**told, "state": "failed", "reason": self.failed.get(unit.id, "")}
        pieces = self.facts(unit).pieces
        names = Outputs(self.manifest, self.opened.songs.names).paths(
            planned.song.name, planned.song.number, unit.name
        )
        told["pieces"] = [
            self._piece(unit, piece, {kind: names.path(kind, piece.member) for kind in piece.files})
            for piece in pieces
        ]
        return told

    def _piece(self, unit: Unit, piece: MadePiece, files: Mapping[str, str]) -> dict[str, Any]:
        facts = {name: value for name, value in piece.facts.items() if name != "lessons"}
        found = [
            Lesson(kind, tuple(key), text, tuple(measures), count)
            for kind, key, text, measures, count in piece.facts.get("lessons", ())
        ]
        if found:
            self.gathered.add(unit.id, found)
            for name, value in zip(("strings", "top_fret"), facts["strings"], strict=True):
                self.neck[name] = max(value, self.neck.get(name, 0))
        return {"member": piece.member, "files": dict(files), **facts}


def report_lines(teller: Teller, tell: Callable[[Mapping[str, Any]], None]) -> Iterator[str]:
    """Yield the report as text, a song at a time.

    Args:
        teller: Tells of the songs.
        tell: Is given what is told of each song as well.
    """
    head = {
        "neckwise-report": FORMAT,
        "toolkit": toolkit(),
        "set": Path(teller.opened.name).name,
        "front": dict(teller.opened.songs.front),
    }
    yield _json(head)[:-1] + ', "songs": [\n'
    before = ""
    for song in teller.songs():
        tell(song)
        yield before + _json(song)
        before = ",\n"
    coverage = teller.coverage()
    yield f'\n], "coverage": {_json(asdict(coverage) if coverage else None)}}}\n'


def _json(value: object) -> str:
    return json.dumps(value, ensure_ascii=False, separators=(", ", ": "))
