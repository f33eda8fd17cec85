"""A recipe as a command line, and a command line as a recipe."""

from __future__ import annotations

import shlex
from collections.abc import Iterator, Mapping, Sequence

from pydantic import ValidationError

from variants.errors import UsageError
from variants.recipes.model import Recipe

COMMAND = ("neckwise", "vary")
# Option, member; in the order in which they are written.
_OPTIONS = {
    "--step": "steps",
    "--staves": "staves",
    "--mark": "marks",
    "--places": "places",
    "--tuning": "tuning",
    "--capo": "capo",
    "--frets": "frets",
    "--scale": "scale",
    "--fingering": "fingering",
    "--hand": "hand",
    "--fingers": "fingers",
    "--thumb": "thumb",
    "--open-strings": "open_strings",
    "--convention": "convention",
    "--dyads": "dyads",
    "--hold-chords": "hold_chords",
    "--position": "position",
}
_SHORT = {"-s": "--step", "-o": "--out"}
_LISTS = frozenset({"steps", "marks"})
_FLAGS = frozenset({"places", "thumb"})
# Options of a call that are about its files, not about the variant.
_OTHERS = frozenset({"--out", "--part", "--reading", "--pins"})
_OTHER_FLAGS = frozenset({"--json", "--quiet", "-q", "--explain", "--force"})


def command_line(recipe: Recipe, *, file: str = "FILE", out: str = "OUT") -> str:
    """Return the call that makes the variant, ready for a shell.

    >>> command_line(Recipe(steps=("slow:percent=70",), staves="tab"))
    'neckwise vary FILE --step slow:percent=70 --staves tab --out OUT'
    """
    words = [*COMMAND, file, *_words(recipe), "--out", out]
    return shlex.join(words)


def _words(recipe: Recipe) -> Iterator[str]:
    said = {name.replace("-", "_"): value for name, value in recipe.said()}
    for option, member in _OPTIONS.items():
        value = said.get(member)
        if value is None:
            continue
        if member in _FLAGS:
            yield option
        elif member in _LISTS and isinstance(value, tuple):
            for one in value:
                yield from (option, str(one))
        else:
            yield from (option, str(value))


def recipe_of_command(text: str | Sequence[str], *, title: str = "") -> Recipe:
    """Return the recipe that makes what a call of `neckwise vary` makes.

    Files, ``--part``, ``--reading`` and what only concerns the report are left out.

    Args:
        text: The call, as one text or as its words; ``neckwise vary`` may be missing.
        title: Title of the recipe.

    Raises:
        UsageError: It is no such call.

    >>> recipe_of_command("neckwise vary a.xml -s slow --mark none -o b.xml").marks
    ('none',)
    """
    words = _split(text) if isinstance(text, str) else list(text)
    if tuple(words[:2]) == COMMAND:
        words = words[2:]
    values: dict[str, object] = {"title": title} if title else {}
    rest = iter(words)
    for word in rest:
        if not word.startswith("-") or word == "-":
            continue  # the file
        option, equals, attached = word.partition("=") if word.startswith("--") else (word, "", "")
        option = _SHORT.get(option, option)
        if option in _OTHER_FLAGS:
            continue
        member = _OPTIONS.get(option, "")
        if member in _FLAGS:
            values[member] = True
            continue
        if not member and option not in _OTHERS:
            raise UsageError(f"{word} is no option of neckwise vary", way_out="see its --help")
        value = attached if equals else next(rest, None)
        if value is None:
            raise UsageError(f"{word} has no value", way_out="write one after it")
        if member in _LISTS:
            before = values.get(member, ())
            values[member] = (*(before if isinstance(before, tuple) else ()), value)
        elif member:
            values[member] = value
    return recipe_of_values(values)


def _split(text: str) -> list[str]:
    try:
        return shlex.split(text)
    except ValueError as error:
        reason = str(error).lower().removesuffix(".")
        raise UsageError(f"the call cannot be read: {reason}", way_out="check quotes") from None


def recipe_of_values(values: Mapping[str, object]) -> Recipe:
    """Return a recipe with these members.

    Raises:
        UsageError: A value is not allowed.
    """
    try:
        return Recipe.model_validate(values)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        name = str(first["loc"][0]).replace("_", "-") if first["loc"] else "the call"
        context = first.get("ctx", {})
        cause = str(context["error"]) if "error" in context else str(first["msg"])
        raise UsageError(f"{name}: {cause}", way_out="see neckwise vary --help") from None
