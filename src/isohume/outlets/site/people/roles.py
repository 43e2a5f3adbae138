"""The roles of the bench; one person may hold several."""

from __future__ import annotations

from enum import StrEnum


class Role(StrEnum):
    """What a person answers for. The stored words never change."""

    ANALYST = "analyst"
    MANAGER = "manager"
    RELEASE_OFFICER = "release officer"
    DEVELOPER = "developer"
    AUDITOR = "auditor"
    ADMINISTRATOR = "administrator"


ANALYST, MANAGER, RELEASE_OFFICER, DEVELOPER, AUDITOR, ADMINISTRATOR = Role
EVERYONE = frozenset(Role)
BENCH = frozenset({ANALYST, MANAGER})
REVIEWERS = frozenset({MANAGER, RELEASE_OFFICER})
KEYS_SECOND = BENCH | REVIEWERS
