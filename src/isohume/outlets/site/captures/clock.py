"""The moments of captured runs: an agent's clock is its own, so that they are told by the server's."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from isohume.outlets.site.captures.wire import Entry

AGREE = timedelta(seconds=2)
"""Clocks that differ by no more are taken as one: the way through the network takes its part of it."""
LONGEST_AGO_S = 10 * 366 * 86400.0


OTHER_BOOT = "by the bench computer's own clock: it was started again since, and nobody knows how that clock stood"


@dataclass(frozen=True, slots=True)
class Clock:
    """An agent's clocks when it sent, against the server's when it came."""

    said: datetime
    now: datetime
    steady: float | None = None  # None from an older agent
    boot: str = ""

    @property
    def offset(self) -> timedelta:
        """The agent's wall clock less the server's."""
        return self.said - self.now

    def moment(self, entry: Entry) -> datetime:
        """The moment of an entry by the server's clock.

        The steady clock says how long ago it was, whatever was done to the wall's clock since. Where both agree, the
        wall's is taken: the way through the network is not in it.
        """
        told = self._by_wall(entry.at)
        ago = self._ago(entry)
        if ago is None:
            return told
        by_steady = min(self.now - ago, self.now)
        return told if abs(told - by_steady) <= AGREE else by_steady

    def doubt(self, entry: Entry) -> str:
        """Why the moment of an entry is not certain; '' where it is, and of an older agent, which says nothing."""
        if entry.said["dated"]:
            return entry.said["dated"]
        return OTHER_BOOT if entry.steady is not None and self._ago(entry) is None else ""

    def _ago(self, entry: Entry) -> timedelta | None:
        """How long ago an entry was, by the steady clock; None where that clock was begun anew since."""
        if entry.steady is None or self.steady is None or entry.boot != self.boot:
            return None
        seconds = self.steady - entry.steady
        return timedelta(seconds=seconds) if -AGREE.total_seconds() <= seconds <= LONGEST_AGO_S else None

    def _by_wall(self, at: datetime) -> datetime:
        """A moment of the agent's wall clock, corrected by as much as that clock was off when it sent.

        A moment later than the agent's own clock when it sent was told by a clock that was set back since: nobody
        knows when that was, and the moment of its coming is the latest that it can have been.
        """
        if at > self.said + AGREE:
            return self.now
        shifted = at if abs(self.offset) <= AGREE else at - self.offset
        return min(shifted, self.now)
