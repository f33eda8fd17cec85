"""Hypothesis profiles: `dev` finds new counterexamples, `ci` gives the same ones each time."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

settings.register_profile("dev", deadline=None)
settings.register_profile(
    "ci", deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci" if "CI" in os.environ else "dev"))
