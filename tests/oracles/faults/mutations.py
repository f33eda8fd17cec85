"""Good files, spoiled one fault at a time and proofread: which faults are found, and where.

A fault counts as found when a rule that is meant for it says something at a measure that the
fault touches, that it does not say of the good file.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field

from lxml import etree

from tests.oracles.faults import page, strings, tab, text
from tests.oracles.faults.fault import FAULTS, Case, Fault, NothingToSpoil, Spoiled
from tests.oracles.faults.pieces import tree
from variants.proof import Finding, Severity, proofread_bytes
from variants.proof.engine import proofread_tree

# Importing them registers their faults.
FAMILIES = (tab, strings, page, text)
Said = frozenset[tuple[str, int, str, str]]


@dataclass(slots=True)
class Result:
    """What came of a run.

    Args:
        files: Number of good files.
        false_errors: Errors on good files, as text.
        found: Faults found, by kind.
        missed: Faults missed, by kind.
        lost: Each missed fault: its kind, file and measures.
        by_rule: Faults found, by the rule that found them.
    """

    files: int = 0
    false_errors: list[str] = field(default_factory=list)
    found: Counter[str] = field(default_factory=Counter)
    missed: Counter[str] = field(default_factory=Counter)
    lost: list[tuple[str, str, frozenset[int]]] = field(default_factory=list)
    by_rule: Counter[str] = field(default_factory=Counter)

    @property
    def share(self) -> float:
        """Share of the faults that were found."""
        found, missed = sum(self.found.values()), sum(self.missed.values())
        return found / (found + missed) if found + missed else 0.0


def _said(findings: Iterable[Finding]) -> Said:
    return frozenset((one.rule, one.measure_index, one.beat, one.message) for one in findings)


def mutate(files: dict[str, bytes], *, cases: int, seed: int) -> Result:
    """Spoil files one fault at a time and proofread them.

    Args:
        files: Good files.
        cases: How many faults; the kinds take turns, the files are drawn.
        seed: The same seed gives the same faults.
    """
    result = Result(files=len(files))
    said: dict[str, Said] = {}
    for name, data in files.items():
        report = proofread_bytes(data, file=name)
        said[name] = _said(report.findings)
        result.false_errors += [str(f) for f in report.findings if f.severity is Severity.ERROR]
    rng = random.Random(seed)  # noqa: S311 - repeatable, not secret
    kinds = list(FAULTS.values())
    names = sorted(files)
    empty: Counter[str] = Counter()
    done = turn = 0
    while done < cases and turn < 60 * cases:
        kind = kinds[turn % len(kinds)]
        turn += 1
        name = rng.choice(names)
        case = Case(tree(files[name]), rng)
        try:
            spoiled = kind.make(case)
        except NothingToSpoil:
            empty[kind.name] += 1
            continue
        done += 1
        _judge(result, kind, spoiled, (name, case.root, said[name]))
    return result


def _judge(
    result: Result, kind: Fault, spoiled: Spoiled, what: tuple[str, etree._Element, Said]
) -> None:
    name, root, before = what
    report = proofread_tree(root, file=name)
    new = [f for f in report.findings if _said([f]).isdisjoint(before)]
    hits = [
        one
        for one in new
        if one.rule in kind.rules and (not spoiled.bars or one.measure_index in spoiled.bars)
    ]
    if hits:
        result.found[kind.name] += 1
        result.by_rule[hits[0].rule] += 1
    else:
        result.missed[kind.name] += 1
        result.lost.append((kind.name, name, spoiled.bars))
