"""What a trace says about how it was taken: one rule a file, each with its evidence and what to do."""

from isohume.bench.reading.diagnosis.carry_over import CarryOver, SequenceRun, carried_over
from isohume.bench.reading.diagnosis.diagnose import TraceJudged, judge_trace
from isohume.bench.reading.diagnosis.finding import DIAGNOSES, Finding
from isohume.bench.reading.diagnosis.re_reads import ClimbingReReads, climbing_re_reads
from isohume.bench.reading.diagnosis.sequence_file import read_sequence

__all__ = [
    "CarryOver",
    "ClimbingReReads",
    "DIAGNOSES",
    "Finding",
    "SequenceRun",
    "TraceJudged",
    "carried_over",
    "climbing_re_reads",
    "judge_trace",
    "read_sequence",
]
