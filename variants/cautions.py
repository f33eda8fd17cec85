"""The cautions that go with everything that is printed, in one place. Imports nothing."""

from __future__ import annotations

# A teaching hospital's advice to players, shortened (peabody.jhu.edu): with pain, stop, rest,
# and seek help.
HEALTH = "If anything hurts, stop, rest, and ask a teacher or doctor."
# The same advice beside a number of millimetres.
STRETCH = "a wide stretch must never hurt: stop, rest, and ask a teacher or doctor about pain"
# Music educators' and publishers' associations (nafme.org, mpaonline.org.uk): arrangements and
# simplified editions of protected music need permission. We never say that it was given.
RIGHTS = "Sharing versions of protected music needs permission."


def footer_text() -> str:
    """Return both cautions in one line.

    >>> footer_text().count(".")
    2
    """
    return f"{HEALTH} {RIGHTS}"
