"""The moments of captured runs: an agent's clock is its own, so that they are told by the server's."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

AGREE = timedelta(seconds=2)
"""Clocks that differ by no more are taken as one: the way through the network takes its part of it."""


@dataclass(frozen=True, slots=True)
class Clock:
    """An agent's clock when it sent, against the server's when it came."""

    said: datetime
    now: datetime

    @property
    def offset(self) -> timedelta:
        """The agent's clock less the server's."""
        return self.said - self.now

    def moment(self, at: datetime) -> datetime:
        """A moment of the agent by the server's clock.

        A moment later than the agent's own clock when it sent was told by a clock that was set back since: nobody
        knows when that was, and the moment of its coming is the latest that it can have been.
        """
        if at > self.said + AGREE:
            return self.now
        shifted = at if abs(self.offset) <= AGREE else at - self.offset
        return min(shifted, self.now)
