"""The configuration file: which rules, how severe, whose hand.

```toml
select = ["tab-*", "error"]
ignore = ["tempo-missing"]
hand = "medium"          # small, medium, large, or the span of index and little finger in mm

[severity]
finger-crossing = "hint"
```
"""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import Any

from variants.errors import UsageError
from variants.guitar.hand import Hand
from variants.proof.engine import ProofSettings
from variants.proof.finding import Severity
from variants.proof.registry import chosen, list_rules
from variants.toml_file import parse_toml, read_text

_KEYS = ("select", "ignore", "hand", "severity")


def settings_of(
    *, select: Iterable[str] = (), ignore: Iterable[str] = (), config: str | Path | None = None
) -> ProofSettings:
    """Return the settings of a call; what the call selects takes the place of the file's.

    Args:
        select: Ids, patterns or severities; none means those of the file, or all.
        ignore: The same, added to those of the file.
        config: A TOML file, ``None`` for none.

    Raises:
        InputError: The file cannot be read, or is no TOML.
        UsageError: A key, a rule, a severity or a hand that there is not.
    """
    stated = load(config) if config is not None else {}
    wanted = list(select) or _texts_setting(stated, "select", config)
    unwanted = [*ignore, *_texts_setting(stated, "ignore", config)]
    return ProofSettings(
        rules=chosen(wanted, unwanted),
        severities=_severity_settings(stated.get("severity", {}), config),
        hand=_hand_setting(stated.get("hand", "large"), config),
    )


def load(path: str | Path) -> dict[str, Any]:
    """Return the tables of a configuration file.

    Raises:
        InputError: It cannot be read, or is no TOML.
        UsageError: It has a key that there is not.
    """
    found = parse_toml(read_text(path), str(path))
    for key in found:
        if key not in _KEYS:
            raise UsageError(
                f"there is no setting {key!r}", place=str(path), way_out=f"use {', '.join(_KEYS)}"
            )
    return found


def _texts_setting(stated: dict[str, Any], key: str, path: str | Path | None) -> list[str]:
    value = stated.get(key, [])
    if not isinstance(value, list) or not all(isinstance(one, str) for one in value):
        raise UsageError(
            f"{key} is no list of texts", place=str(path or ""), way_out=f'write {key} = ["tab-*"]'
        )
    return value


def _severity_settings(stated: object, path: str | Path | None) -> dict[str, Severity]:
    if not isinstance(stated, dict):
        raise UsageError(
            "severity is no table", place=str(path or ""), way_out="write [severity] above it"
        )
    known = {rule.id for rule in list_rules()}
    found = {}
    for name, value in stated.items():
        if name not in known:
            raise UsageError(
                f"no rule is called {name!r}", place=str(path or ""),
                way_out="see neckwise list rules",
            )  # fmt: skip
        if value not in {one.value for one in Severity}:
            raise UsageError(
                f"the severity of {name} is {value!r}", place=str(path or ""),
                way_out="use error, warning or hint",
            )  # fmt: skip
        found[str(name)] = Severity(value)
    return found


def _hand_setting(stated: object, path: str | Path | None) -> str | float:
    if isinstance(stated, bool) or not isinstance(stated, (str, int, float)):
        raise UsageError(
            f"hand is {stated!r}", place=str(path or ""), way_out="use a size or a span in mm"
        )
    try:
        Hand.of(stated)
    except UsageError as error:
        raise error.at(str(path)) from None if path else error
    return stated
