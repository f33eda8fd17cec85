"""Hypothesis profiles: `ci` (the default) draws the same examples each time, `dev` new ones.

Search for new counterexamples with ``HYPOTHESIS_PROFILE=dev make test``.
"""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

settings.register_profile("dev", deadline=None)
settings.register_profile(
    "ci", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))
