"""The registry of rules: every module of `variants.proof.rules` registers one."""

from __future__ import annotations

import difflib
import importlib
import pkgutil
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from fnmatch import fnmatchcase
from functools import lru_cache

from variants.errors import UsageError
from variants.proof.finding import Flaw, Severity
from variants.proof.page import Page

Check = Callable[[Page], Iterator[Flaw]]


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
    check: Check


_RULES: dict[str, Rule] = {}


def rule(name: str, severity: Severity, meaning: str) -> Callable[[Check], Check]:
    """Register a function as the check of a rule."""

    def register(check: Check) -> Check:
        _RULES[name] = Rule(name, severity, meaning, check)
        return check

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
    wanted = {one.id for text in select for one in _fitting(text)}
    unwanted = {one.id for text in ignore for one in _fitting(text)}
    return tuple(
        one for one in list_rules() if (not wanted or one.id in wanted) and one.id not in unwanted
    )


def _fitting(text: str) -> list[Rule]:
    name = text.strip()
    found = [one for one in list_rules() if fnmatchcase(one.id, name) or one.severity.value == name]
    if not found:
        close = difflib.get_close_matches(name, [one.id for one in list_rules()], n=2, cutoff=0.5)
        raise UsageError(
            f"no rule is called {name!r}",
            way_out=f"did you mean {' or '.join(close)}?" if close else "see neckwise list rules",
        )
    return found
