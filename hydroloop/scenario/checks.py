"""Cross-checks: what no single key can say of itself."""

from __future__ import annotations

from hydroloop.scenario.draft import Draft, Finding


def cross_checks(draft: Draft) -> list[Finding]:
    """Everything that is wrong between keys."""
    return []
