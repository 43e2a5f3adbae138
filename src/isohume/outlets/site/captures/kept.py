"""The trace of a captured run: in pieces while it grows, one file of the evidence once it has ended."""

from __future__ import annotations

from isohume.bench.reading.settling.compact import Sample, unpack
from isohume.bench.reading.settling.kept_run import RunHeader, pack_run, unpack_run
from isohume.bench.record.transaction import Transaction
from isohume.foundation.quantity.errors import IntegrityError
from isohume.outlets.site.captures.models import CapturedRun, Chunk
from isohume.outlets.site.lots.frozen import questions


def samples_of(run: CapturedRun) -> tuple[Sample, ...]:
    """Every reading of a run in the order in which it came; the evidence's digest is compared.

    Raises: IntegrityError where the evidence is missing or not what was kept.
    """
    found = [one for body in _pieces(run) for one in unpack(bytes(body))]
    if not run.trace_sha256:
        return tuple(found)
    kept = questions().file(run.trace_sha256)
    if kept is None:
        raise IntegrityError(f"the trace of {run} is missing; run isohume verify")
    return (*unpack_run(kept)[1], *found)


def seal(run: CapturedRun, evidence: Transaction) -> None:
    """Keep the whole trace as one file of the evidence and take its pieces away; the run's row says where it is.

    Readings that came after an end are kept with the others in another file; the first one stays in the evidence.
    """
    samples = samples_of(run)
    header = RunHeader(
        run=f"{run.spool.key}:{run.key}",
        agent=run.agent.name,
        instrument=run.instrument.name,
        serial=run.instrument.serial,
        number=run.number,
        started_at=run.started_at.isoformat(),
        ended_at=run.ended_at.isoformat() if run.ended_at else "",
        end_reason=run.end_reason,
    )
    run.trace_sha256 = evidence.keep_file(f"captured-run-{run.pk}.trace", pack_run(header, samples))
    Chunk.objects.filter(run=run).delete()


def _pieces(run: CapturedRun) -> list[bytes]:
    return list(Chunk.objects.filter(run=run).order_by("first").values_list("body", flat=True))
