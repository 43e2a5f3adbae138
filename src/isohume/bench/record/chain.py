"""Ledger, records, signatures and files walked together, in the order of the sequence: what first does not hold?

Blocks are checked with a few comparisons of whole lists, because nearly every block is good; only a block that is
not is walked again line by line, to name what is wrong.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Container, Iterable
from dataclasses import dataclass

from isohume.bench.record.line import Row, line_digest, line_digests
from isohume.bench.record.rows_of_lines import KEPT, Bad, RowsOfLines
from isohume.bench.record.tables import ALL_LINES, GENESIS, LINES_FROM

BLOCK = 128


@dataclass(slots=True)
class Walked:
    """How far the walk came: the last good line, the first bad thing, and a row left over after the last line."""

    seq: int = 0
    digest: str = GENESIS
    bad: Bad | None = None
    left_over: Bad | None = None


def walk(connection: sqlite3.Connection, tables: Container[str]) -> Walked:
    """Recompute every ledger line and every row it speaks of in the order of the sequence.

    connection: a connection that sees one state of the store [text].
    tables: the evidence tables there are; a store made earlier has no signatures and files [text].
    Returns: the last good line, and the first bad thing if there is one [text].
    Source: FIPS180-4, 6.2.
    """
    walked = Walked()
    companions = _Companions(connection, tables)
    try:
        lines = connection.execute(ALL_LINES)
        while rows := lines.fetchmany(BLOCK):
            if not _block_holds(rows, walked):
                break
            walked.bad = companions.first_bad(rows)
            if walked.bad is not None:
                return walked
            walked.seq, walked.digest = rows[-1][0], rows[-1][6]
        else:
            walked.left_over = companions.left_over()
            return walked
    except (sqlite3.Error, TypeError, UnicodeError):
        pass  # a line that cannot even be read: found below, with its number
    walked.bad = _first_bad_line(connection, companions, walked)
    return walked


def _block_holds(rows: list[Row], walked: Walked) -> bool:
    digests = [row[6] for row in rows]
    return (
        line_digests(rows) == digests
        and [row[5] for row in rows] == [walked.digest, *digests[:-1]]
        and [row[0] for row in rows] == list(range(walked.seq + 1, walked.seq + 1 + len(rows)))
    )


def _first_bad_line(connection: sqlite3.Connection, companions: _Companions, walked: Walked) -> Bad | None:
    """Walk on line by line from the last good one; text that is no UTF-8 is read all the same, to be named."""
    seq = walked.seq
    connection.text_factory = lambda stored: stored.decode("utf-8", "surrogateescape")
    try:
        lines = iter(connection.execute(LINES_FROM, (seq + 1,)))
        for row in lines:
            reason = _fault_of_line(row, walked)
            if reason is not None:
                return Bad("ledger", str(walked.seq + 1), reason)
            bad = companions.first_bad([row])
            if bad is not None:
                return bad
            walked.seq, walked.digest = row[0], row[6]
    except sqlite3.Error as error:
        return Bad("ledger", str(walked.seq + 1), f"line {walked.seq + 1} cannot be read: {error}")
    return Bad("ledger", str(seq + 1), f"line {seq + 1} cannot be read twice alike")


def _fault_of_line(row: Row, walked: Walked) -> str | None:
    seq, at, kind, ref, payload, previous, digest = row
    expected = walked.seq + 1
    if seq != expected:
        return f"line {expected} is missing: line {seq} follows line {walked.seq}"
    if not isinstance(payload, bytes) or not all(isinstance(text, str) for text in (at, kind, ref, previous, digest)):
        return f"line {seq}: a column does not hold the type it was written with"
    try:
        recomputed = line_digest(seq, at, kind, ref, payload, previous)
    except UnicodeError:
        return f"line {seq}: a text is not UTF-8"
    if recomputed != digest:
        return f"line {seq} is not what was written: its digest does not match its content"
    if previous != walked.digest:
        return f"line {seq} does not continue the chain: it names another digest than line {walked.seq} has"
    return None


class _Companions:
    """The tables whose rows have ledger lines, walked along with the ledger."""

    def __init__(self, connection: sqlite3.Connection, tables: Container[str]) -> None:
        self._all = [RowsOfLines(connection, kept, there=kept.kind in tables) for kept in KEPT]
        self._of = {rows.kind: rows for rows in self._all}

    def first_bad(self, lines: list[Row]) -> Bad | None:
        """The first row that does not agree with these ledger lines, which are good."""
        of = self._of
        for line in [line for line in lines if line[2] in of]:
            bad = of[line[2]].first_bad(line)
            if bad is not None:
                return bad
        end = lines[-1][0]
        return _first(rows.passed_over(end) for rows in self._all)

    def left_over(self) -> Bad | None:
        """A row that is left after the last line."""
        return _first(rows.without_line() for rows in self._all)


def _first(found: Iterable[Bad | None]) -> Bad | None:
    return next((bad for bad in found if bad is not None), None)
