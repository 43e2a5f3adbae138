"""Certificates, record to synced PDF file, against the compiler alone on the same documents from memory.

Two processes take turns over the same documents, so that neither finds the other's work in the compiler's
cache and both see the same load of the machine. Ours starts from the record and ends with the file synced
under its name; the compiler's own gets its finished input from memory and drops the PDF.
"""

from __future__ import annotations

import copy
import json
import multiprocessing
import sys
import tempfile
import time
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from datetime import datetime
from importlib.resources import files
from pathlib import Path
from typing import Any, NamedTuple

ROUNDS, A_ROUND = 50, 20
EVERY = 4  # the compiler alone does every fourth turn: enough to compare, and the run stays short
GOAL = 3.0
RECORD = Path(__file__).parents[1] / "tests" / "outlets" / "paper" / "record.json"


class Spent(NamedTuple):
    """Seconds of one turn."""

    wall: float
    processor: float

    @classmethod
    def since(cls, start: Spent) -> Spent:
        """What has been spent since a moment taken with `now`."""
        now = cls.now()
        return cls(now.wall - start.wall, now.processor - start.processor)

    @classmethod
    def now(cls) -> Spent:
        """Both clocks."""
        return cls(time.perf_counter(), time.process_time())


def documents(turn: int) -> Iterator[tuple[dict[str, Any], str]]:
    """The records of one round, no two alike in any round."""
    record = json.loads(RECORD.read_text(encoding="utf-8"))
    for i in range(turn * A_ROUND, (turn + 1) * A_ROUND):
        one = copy.deepcopy(record)
        one["id"], one["lot"]["id"] = f"R{i:06}", f"SB-1124-{i:05}"
        one["readings"][0]["a_w"] = f"0.{6200 + i % 200}"
        yield one, f"{i:064x}"


def ours(turn: int) -> Spent:
    """Time from records to synced files, progress included."""
    from isohume.outlets.paper import certificates

    records = list(documents(turn))
    steps: list[int] = []
    with tempfile.TemporaryDirectory() as folder:
        start = Spent.now()
        certificates(records, Path(folder), lambda done, _: steps.append(done))
        spent = Spent.since(start)
    assert steps == list(range(1, A_ROUND + 1))
    return spent


def the_compiler(turn: int) -> Spent:
    """Time of the bare compiler on the same documents, inputs ready in memory, one compiler reused."""
    import typst

    from isohume.outlets.paper.certificate import template_data

    source = files("isohume.outlets.paper").joinpath("certificate.typ").read_bytes()
    inputs = [{"content": template_data(record, digest), "paper": "a4"} for record, digest in documents(turn)]
    at = datetime.fromisoformat(next(documents(turn))[0]["issued_at"])
    compiler = typst.Compiler(ignore_system_fonts=True)
    start = Spent.now()
    for one in inputs:
        compiler.compile(input=source, sys_inputs=one, format="pdf", pdf_standards="a-2b", timestamp=at)
    return Spent.since(start)


def main() -> None:
    """Print the table."""
    spawn = multiprocessing.get_context("spawn")
    taken: list[tuple[Spent, Spent | None]] = []
    with (
        ProcessPoolExecutor(1, mp_context=spawn) as one,
        ProcessPoolExecutor(1, mp_context=spawn) as other,
    ):
        for turn in range(ROUNDS + 1):
            written = one.submit(ours, turn).result()
            alone = other.submit(the_compiler, turn).result() if turn % EVERY == 0 else None
            if turn:  # the first turn warms both up
                taken.append((written, alone))
                print(f"{turn * A_ROUND} of {ROUNDS * A_ROUND} certificates", file=sys.stderr, flush=True)
    both = [(written, alone) for written, alone in taken if alone is not None]
    wall, cpu = each([written for written, _ in taken])
    bare_wall, bare_cpu = each([alone for _, alone in both])
    beside_wall, beside_cpu = each([written for written, _ in both])
    ratios = f"{beside_wall / bare_wall:.2f} | {beside_cpu / bare_cpu:.2f}"
    print("| what | certificates | wall time each | processor time each | ratio of wall | of processor | goal |")
    print("|---|---|---|---|---|---|---|")
    print(
        f"| record to synced PDF/A file, with progress | {len(taken) * A_ROUND} | {wall:.1f} ms | {cpu:.1f} ms "
        f"| {ratios} | at most {GOAL:g} |"
    )
    print(
        f"| the compiler alone, from memory | {len(both) * A_ROUND} | {bare_wall:.1f} ms | {bare_cpu:.1f} ms "
        "| 1 | 1 | |"
    )
    print(f"\nThree pages each, {A_ROUND} a turn; the ratios are of the turns that both did.")


def each(spent: list[Spent]) -> tuple[float, float]:
    """Milliseconds a certificate: wall, processor."""
    count = len(spent) * A_ROUND
    return 1e3 * sum(s.wall for s in spent) / count, 1e3 * sum(s.processor for s in spent) / count


if __name__ == "__main__":
    main()
