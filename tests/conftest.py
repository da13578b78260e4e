"""Properties are tried without a deadline: a test must not fail because the machine is busy."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("unhurried", deadline=None)
settings.load_profile("unhurried")
