"""Builds a song set: makes what is not there yet, and leaves what is.

The process that builds is the only one that writes. It keeps no results in memory: each goes to
the cache and to its outputs as it comes, with a line in the journal before it, so a build that is
ended at any moment goes on where it was.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Protocol

from variants.errors import InputError, OutputError, UsageError
from variants.songset.cache import Cache
from variants.songset.digest import sha256, toolkit
from variants.songset.executors import Executor, PlacedTask
from variants.songset.lock import locked
from variants.songset.manifest import Manifest, Record, refused, settled
from variants.songset.opening import Opened, check_sources
from variants.songset.outputs import Outputs
from variants.songset.plan import PlannedSong, Unit, read_source
from variants.songset.result import Result, unpack
from variants.songset.standing import (
    REPORT,
    Situation,
    Standing,
    is_reported,
    report_key,
    survey,
)
from variants.songset.task import Done, Task


class Watcher(Protocol):
    """Is told how a build goes."""

    def begin(self, units: int) -> None:
        """Take note of how many units are to be made."""

    def step(self, units: int, song: str) -> None:
        """Take note that so many units of a song are done."""


class Unwatched:
    """Watches nothing."""

    def begin(self, units: int) -> None:
        """Do nothing."""

    def step(self, units: int, song: str) -> None:
        """Do nothing."""


class Hands(Protocol):
    """Gives the executor for a number of songs."""

    def __call__(self, songs: int) -> Executor:
        """Return where so many songs are made."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Options:
    """How to build.

    Args:
        force: Write over outputs that somebody changed.
        waits: Wait for another build in the same folder to end.
        cache: Folder of results; ``None`` for one in the output folder.
        prunes: Drop results from the cache that this set does not use.
    """

    force: bool = False
    waits: bool = False
    cache: Path | None = None
    prunes: bool = False


@dataclass(slots=True, kw_only=True)
class Summary:
    """How a build went.

    Args:
        units: How many units the plan has.
        made: How many were made now.
        kept: How many came from the cache.
        fresh: How many were as they should be.
        written: How many files were written.
        removed: Outputs that were taken away.
        edited: Outputs that were left because somebody changed or made them.
        refused: Units that cannot be made, with the reason.
        skipped: Units that would be the piece as it is, with the reason.
        failed: Songs or units that failed otherwise, with the reason.
        damaged: Entries of the cache that were damaged, and made again.
        went_on: Whether an earlier build had been cut off.
    """

    units: int = 0
    made: int = 0
    kept: int = 0
    fresh: int = 0
    written: int = 0
    removed: list[str] = field(default_factory=list)
    edited: list[str] = field(default_factory=list)
    refused: list[Standing] = field(default_factory=list)
    skipped: list[Standing] = field(default_factory=list)
    failed: list[Standing] = field(default_factory=list)
    damaged: int = 0
    went_on: bool = False

    @property
    def is_good(self) -> bool:
        """Whether everything is made and stands as it should."""
        return not (self.refused or self.failed or self.edited)


def build(opened: Opened, options: Options, hands: Hands, watcher: Watcher) -> Summary:
    """Build a song set.

    Args:
        opened: The set.
        options: How.
        hands: Where the work is done.
        watcher: Is told how it goes.

    Raises:
        UsageError: The plan cannot be made, or another build is at work in the folder.
        OutputError: The system refuses, or the disk is full; what was made is kept.
    """
    check_sources(opened)
    with locked(opened.state, waits=options.waits):
        manifest = Manifest.load(opened.out)
        outputs = Outputs(manifest, opened.songs.names, force=options.force)
        outputs.sweep()
        opened.keep()
        cache = Cache(options.cache or opened.state / "cache")
        site = _Site(opened, outputs, cache, survey(opened, outputs), watcher)
        try:
            return site.build(hands, prunes=options.prunes)
        finally:
            manifest.close()


@dataclass(slots=True)
class _Site:
    """One build at work."""

    opened: Opened
    outputs: Outputs
    cache: Cache
    situation: Situation
    watcher: Watcher
    summary: Summary = field(default_factory=Summary)
    _todo: dict[int, list[Unit]] = field(default_factory=dict)
    _total: int = 0

    def build(self, hands: Hands, *, prunes: bool) -> Summary:
        situation, summary = self.situation, self.summary
        summary.units = len(situation.standings)
        summary.went_on = self.outputs.manifest.was_cut
        is_done = not (situation.waiting or situation.left_over or summary.went_on)
        if is_done and is_reported(self.opened, situation, self.outputs):
            self._sum_up()
            return summary
        self._find_work()
        self._total = sum(map(len, self._todo.values()))
        self.watcher.begin(self._total)
        executor = hands(self._lacking())
        with self._counting(), closing(executor.run(self._jobs())) as runs:
            for job, done in runs:
                self._take(job, done)
        self._finish()
        if prunes:
            self.cache.drop_all_but(self._keys())
        self._sum_up()
        return summary

    @contextmanager
    def _counting(self) -> Iterator[None]:
        """Say how far the build came where those who do the work end it."""
        try:
            yield
        except UsageError as error:
            done = self.summary.made + self.summary.kept
            if not done:
                raise
            cause = (
                f"{error.cause}; {done} of {self._total} results were brought in and "
                f"{self.outputs.written} files written, which stay"
            )
            raise UsageError(cause, place=error.place, way_out=error.way_out) from None

    # -- what is to be done -----------------------------------------------------------------------

    def _find_work(self) -> None:
        """Find the units that wait, and those whose facts the report would lack."""
        for place, song in enumerate(self.situation.songs):
            todo = [unit for unit in song.units if self._waits(unit)]
            if todo:
                self._todo[place] = todo

    def _waits(self, unit: Unit) -> bool:
        state = self.situation.standings[unit.id].state
        if state == "refused":
            return False
        return state != "fresh" or not self.cache.has(unit.key)

    def _lacking(self) -> int:
        """Return for how many songs there is work, and not only a copy from the cache."""
        return sum(
            any(not self.cache.has(unit.key) for unit in units) for units in self._todo.values()
        )

    def _jobs(self) -> Iterator[PlacedTask]:
        """Yield a job for each song that lacks results; what the cache has is written at once."""
        for place, units in self._todo.items():
            lacking = []
            for unit in units:
                result = self.cache.get(unit.key)
                if result is None:
                    lacking.append(unit)
                    continue
                self.summary.kept += 1
                self._write(place, unit, result)
                self.watcher.step(1, self._song(place).song.name)
            self._todo[place] = lacking
            if lacking:
                source = self._source(place, lacking)
                if source is not None:
                    yield PlacedTask(place=place, task=self._task(source, lacking))

    def _task(self, source: bytes, units: Iterable[Unit]) -> Task:
        specs = tuple(unit.spec for unit in units)
        return Task(source=source, specs=specs, toolkit=toolkit(), limits=self.opened.limits)

    def _source(self, place: int, units: list[Unit]) -> bytes | None:
        song = self._song(place)
        try:
            data = read_source(self.opened, song.song)
            if sha256(data) == song.sha256:
                return data
            text = f"{song.song.shown}: was changed during the build; build again"
        except InputError as error:
            text = str(error)
        self.summary.failed += [Standing(unit.id, "failed", text=text) for unit in units]
        return None

    def _song(self, place: int) -> PlannedSong:
        return self.situation.songs[place]

    # -- what comes of it -------------------------------------------------------------------------

    def _take(self, job: PlacedTask, done: Done) -> None:
        units = self._todo[job.place]
        for unit, data, defect in zip(units, done.results, done.defects, strict=True):
            if defect:
                self.summary.failed.append(Standing(unit.id, "failed", text=defect))
                continue
            result = unpack(data)
            self.cache.put(unit.key, data)
            self.summary.made += 1
            self._write(job.place, unit, result)
        self.watcher.step(len(units), self._song(job.place).song.name)

    def _write(self, place: int, unit: Unit, result: Result) -> None:
        manifest = self.outputs.manifest
        if result.refusal:
            record = refused(manifest.records.get(unit.id), unit.key, result.refusal)
            manifest.note(unit.id, record)
            return
        song = self._song(place).song
        names = self.outputs.paths(song.name, song.number, unit.name)
        try:
            self.outputs.put(unit.id, unit.key, names.files(result), stem=names.stem())
        except InputError as error:
            self.summary.failed.append(Standing(unit.id, "failed", text=str(error)))

    # -- the end ----------------------------------------------------------------------------------

    def _finish(self) -> None:
        """Write the reports, take away what is no longer made, and write the manifest."""
        from variants.songset.report import Teller
        from variants.songset.reporting import write_reports

        manifest = self.outputs.manifest
        for name in self.situation.left_over:
            manifest.drop(name)
        for unit in (unit for song in self.situation.songs for unit in song.units):
            if unit.id in manifest.records:
                manifest.records[unit.id] = settled(manifest.records[unit.id], unit.key)
        failed = {one.unit: one.text for one in self.summary.failed}
        key = report_key(self.opened, self.situation, manifest)
        teller = Teller(
            opened=self.opened,
            situation=self.situation,
            manifest=manifest,
            facts=self.facts,
            failed=failed,
        )
        # A report that tells of failures by chance is made again by the next build.
        self.outputs.put_made(REPORT, "" if failed else key, write_reports(teller))
        wanted = {path for record in manifest.records.values() for path in record.outputs}
        self.outputs.clean(sorted(manifest.ours.keys() - wanted))
        manifest.save(self.situation.order)

    def facts(self, unit: Unit) -> Result:
        """Return the result of a unit that was made; one that the cache has lost is made again.

        Raises:
            OutputError: It cannot be made any more.
        """
        found = self.cache.get(unit.key)
        if found is not None:
            return found
        from variants.songset.task import run_task

        song = next(one for one in self.situation.songs if unit in one.units)
        source = read_source(self.opened, song.song)
        done = run_task(self._task(source, [unit]))
        if not done.results[0]:
            raise OutputError(done.defects[0], place=unit.id, way_out="build again")
        self.cache.put(unit.key, done.results[0])
        return unpack(done.results[0])

    def _keys(self) -> set[str]:
        return {unit.key for song in self.situation.songs for unit in song.units}

    def _sum_up(self) -> None:
        summary, records = self.summary, self.outputs.manifest.records
        summary.written = self.outputs.written
        summary.removed = self.outputs.removed
        summary.edited = sorted(set(self.outputs.edited))
        summary.damaged = self.cache.damaged
        for song in self.situation.songs:
            if song.fault:
                summary.failed.append(Standing(song.song.name, "failed", text=song.fault))
            for unit in song.units:
                record = records.get(unit.id, Record())
                if record.refused_key == unit.key:
                    state = "skipped" if record.is_skipped else "refused"
                    told = Standing(unit.id, state, song.song.shown, record.refusal)
                    (summary.skipped if record.is_skipped else summary.refused).append(told)
        summary.fresh = sum(1 for one in self.situation.standings.values() if one.state == "fresh")
