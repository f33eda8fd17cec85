"""The registry of rules: every module of `variants.proof.rules` registers those of one subject."""

from __future__ import annotations

import difflib
import importlib
import inspect
import pkgutil
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import lru_cache
from typing import TypeVar

from variants.errors import UsageError
from variants.proof.finding import Flaw, Severity
from variants.proof.page import ScannedPage

Flaws = Iterator[Flaw]
_Thing = TypeVar("_Thing")


@dataclass(frozen=True, slots=True)
class Rule:
    """One rule.

    Args:
        id: Its id, as ``--select`` and ``--ignore`` take it.
        severity: That of its findings, where a finding does not say otherwise.
        meaning: What it finds, for ``neckwise list rules``.
        check: Yields the flaws of a page.
    """

    id: str
    severity: Severity
    meaning: str
    check: Callable[[ScannedPage], Flaws]


_RULES: dict[str, Rule] = {}


def declare(
    name: str, severity: Severity, meaning: str, check: Callable[[ScannedPage], Flaws]
) -> None:
    """Register a rule, as a table of rules that differ by a word does row by row."""
    _RULES[name] = Rule(name, severity, meaning, check)


def rule(
    name: str, severity: Severity, each: Callable[[ScannedPage], Iterable[_Thing]]
) -> Callable[[Callable[[_Thing], Flaws]], Callable[[_Thing], Flaws]]:
    """Register a function as a rule; the first sentence of its docstring is what it finds.

    Args:
        name: Its id.
        severity: How sure it is.
        each: What it is asked about, one after the other: `pages`, `parts`, `bars`, `heads`,
            or a view such as the grips.
    """

    def register(find: Callable[[_Thing], Flaws]) -> Callable[[_Thing], Flaws]:
        def check(page: ScannedPage) -> Flaws:
            for thing in each(page):
                yield from find(thing)

        told = " ".join((inspect.getdoc(find) or name).partition("\n\n")[0].split())
        declare(name, severity, f"{told[0].lower()}{told[1:].removesuffix('.')}", check)
        return find

    return register


@lru_cache(maxsize=1)
def list_rules() -> tuple[Rule, ...]:
    """Return every rule by id.

    >>> next(rule.severity.value for rule in list_rules() if rule.id == "tab-pitch")
    'error'
    """
    from variants.proof import rules as package

    for module in pkgutil.iter_modules(package.__path__):
        importlib.import_module(f"{package.__name__}.{module.name}")
    return tuple(_RULES[name] for name in sorted(_RULES))


def chosen(select: Iterable[str] = (), ignore: Iterable[str] = ()) -> tuple[Rule, ...]:
    """Return the rules that are selected and not ignored.

    Args:
        select: Ids, ``*`` patterns of ids, or severities; none selects all.
        ignore: The same.

    Raises:
        UsageError: One of them fits no rule.

    >>> [rule.id for rule in chosen(["finger-*"], ["finger-crossing"])]
    ['finger-two-frets']
    """
    wanted = {one.id for text in select for one in _rules_fitting(text)}
    unwanted = {one.id for text in ignore for one in _rules_fitting(text)}
    return tuple(
        one for one in list_rules() if (not wanted or one.id in wanted) and one.id not in unwanted
    )


def _rules_fitting(text: str) -> list[Rule]:
    name = text.strip()
    found = [one for one in list_rules() if fnmatchcase(one.id, name) or one.severity.value == name]
    if not found:
        close = difflib.get_close_matches(name, [one.id for one in list_rules()], n=2, cutoff=0.5)
        raise UsageError(
            f"no rule is called {name!r}",
            way_out=f"did you mean {' or '.join(close)}?" if close else "see neckwise list rules",
        )
    return found
