"""Proofreads one file: scans it, asks every rule, and says each flaw with its place."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from lxml import etree

from variants.convert import format_of, read_other, sniffed
from variants.errors import NeckwiseError
from variants.musicxml import LIMITS, FileLimits, to_bytes
from variants.musicxml.reader import partwise
from variants.musicxml.source import load, parse
from variants.proof.finding import Finding, Flaw, Severity
from variants.proof.registry import Rule, chosen
from variants.proof.scan import scan


@dataclass(frozen=True, slots=True)
class ProofSettings:
    """What to look for.

    Args:
        rules: The rules to ask; all by default.
        severities: Severities of rules that differ from the rule's own.
        hand: The hand that must reach every grip: ``small``, ``medium``, ``large`` or its span
            from index to little finger in mm.
    """

    rules: tuple[Rule, ...] = ()
    severities: Mapping[str, Severity] = field(default_factory=dict)
    hand: str | float = "large"


@dataclass(frozen=True, slots=True)
class ProofReport:
    """What was found in one file.

    Args:
        file: Its name as given.
        findings: In the order of the page.
        flaws: The flaw behind each finding, for excerpts; none once the page is let go.
        notation: What the file is written in where it is not MusicXML: then the findings are about
            the score that it is converted to, and have no lines.
    """

    file: str
    findings: tuple[Finding, ...]
    flaws: tuple[Flaw, ...] = field(repr=False)
    notation: str = ""

    def light(self) -> ProofReport:
        """Return the report without the page, so that many of them fit into memory."""
        return ProofReport(self.file, self.findings, (), self.notation)

    def count(self, severity: Severity) -> int:
        """Return the number of findings of a severity."""
        return sum(1 for one in self.findings if one.severity is severity)

    @property
    def is_clean(self) -> bool:
        """Whether there are no errors; warnings and hints do not count."""
        return self.count(Severity.ERROR) == 0


def proofread(
    path: str | Path, settings: ProofSettings | None = None, *, limits: FileLimits = LIMITS
) -> ProofReport:
    """Proofread a MusicXML file, compressed or not, or what another notation is converted to.

    Raises:
        InputError: It is no score, damaged, or past a limit; whatever else is wrong is found.
    """
    data = load(path, limits)
    try:
        return proofread_bytes(data, settings, file=str(path), limits=limits)
    except NeckwiseError as error:
        raise error.at(Path(path).name) from None


def proofread_bytes(
    data: bytes,
    settings: ProofSettings | None = None,
    *,
    file: str = "",
    tune: str = "",
    limits: FileLimits = LIMITS,
) -> ProofReport:
    """Proofread a score from memory; see `proofread`.

    Args:
        data: MusicXML, or by the ending of its name or its first bytes ABC, kern, MIDI or MEI.
        settings: What to look for.
        file: Its name, for the report.
        tune: Number of the tune that is meant, in an ABC file of several.
        limits: Bounds on what it may cost.

    Raises:
        InputError: It is no score, damaged, or past a limit.
    """
    kind = format_of(file) or sniffed(data)
    if kind is None:
        return proofread_tree(partwise(parse(data, limits)), settings, file=file)
    written = to_bytes(read_other(data, kind, name=file, tune=tune, limits=limits))
    report = proofread_tree(partwise(parse(written, limits)), settings, file=file)
    findings = tuple(replace(one, line=0) for one in report.findings)
    return replace(report, findings=findings, notation=kind.name)


def proofread_tree(
    root: etree._Element, settings: ProofSettings | None = None, *, file: str = ""
) -> ProofReport:
    """Proofread a partwise tree; see `proofread`."""
    settings = settings or ProofSettings()
    page = scan(root)
    page.hand = settings.hand
    found: list[tuple[tuple[int, ...], Finding, Flaw]] = []
    numbers = {id(part): index for index, part in enumerate(page.parts)}
    for rule in settings.rules or chosen():
        for flaw in rule.check(page):
            severity = settings.severities.get(rule.id) or flaw.severity or rule.severity
            # What is about the file as a whole comes last: it is rarely what hurts.
            part = numbers.get(id(flaw.part), len(numbers))
            index = flaw.bar.index if flaw.bar else -1
            key = (part, index, flaw.onset, severity.rank)
            found.append((key, _finding(rule, flaw, severity, file), flaw))
    found.sort(key=lambda one: (one[0], one[1].rule))
    return ProofReport(file, tuple(one[1] for one in found), tuple(one[2] for one in found))


def _finding(rule: Rule, flaw: Flaw, severity: Severity, file: str) -> Finding:
    bar = flaw.bar
    line = flaw.element.sourceline if flaw.element is not None else 0
    return Finding(
        file,
        flaw.part.id if flaw.part else "",
        bar.number if bar else "",
        bar.beat(flaw.onset) if bar and flaw.onset >= 0 else "",
        flaw.voice,
        rule.id,
        severity,
        flaw.message,
        flaw.expected,
        flaw.fix.text if flaw.fix else "",
        line if isinstance(line, int) else 0,
        bar.index if bar else -1,
    )
