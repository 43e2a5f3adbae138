"""A whole run as it is kept as evidence: who gave it, in plain text, then its trace in the compact form."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import NamedTuple

from isohume.bench.reading.settling.compact import Sample, pack, unpack
from isohume.foundation.quantity.errors import InputError

FIRST_LINE = b"isohume captured run 1\n"


class RunHeader(NamedTuple):
    """Who gave a trace: the agent's name of the run, the instrument, its number of the run, when it began and ended."""

    run: str
    agent: str
    instrument: str
    serial: str
    number: str
    started_at: str
    ended_at: str
    end_reason: str


def pack_run(header: RunHeader, samples: Sequence[Sample]) -> bytes:
    """A run as one file: a line of text that says what it is, a line of JSON that says whose, and the samples.

        first line, header in JSON, compact trace
    header: who gave it [text].
    samples: the readings in the order in which they came [s, 1, degC].
    Returns: the bytes, the same for the same run [bytes].
    Raises: InputError where the samples cannot be packed.
    Source: none.
    """
    said = json.dumps(header._asdict(), ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return FIRST_LINE + said.encode() + b"\n" + pack(samples)


def unpack_run(kept: bytes) -> tuple[RunHeader, tuple[Sample, ...]]:
    """The header and the samples of a run as it was kept.

        the inverse of pack_run
    kept: the file's bytes [bytes].
    Returns: the RunHeader and its samples [s, 1, degC].
    Raises: InputError where the bytes are not such a file.
    Source: none.
    """
    said, line, packed = kept.removeprefix(FIRST_LINE).partition(b"\n")
    if not (kept.startswith(FIRST_LINE) and line):
        raise InputError("trace", kept[:24].hex(), "a captured run, which begins by saying so")
    try:
        header = RunHeader(**json.loads(said))
    except (ValueError, TypeError):
        raise InputError("trace", said[:80].decode(errors="replace"), "the header of a captured run") from None
    return header, unpack(packed)
