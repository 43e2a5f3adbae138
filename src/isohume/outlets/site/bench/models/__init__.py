"""The bench's tables, one file a concern."""

from isohume.outlets.site.bench.models.imports import ColumnMapping, ImportedFile
from isohume.outlets.site.bench.models.lots import COVERS, LOT_STATES, Lot, Portion, Sample
from isohume.outlets.site.bench.models.runs import AT_REST, HandOver, InProcessReading, Run, SecondKeying

__all__ = [
    "AT_REST",
    "COVERS",
    "LOT_STATES",
    "ColumnMapping",
    "HandOver",
    "ImportedFile",
    "InProcessReading",
    "Lot",
    "Portion",
    "Run",
    "Sample",
    "SecondKeying",
]
