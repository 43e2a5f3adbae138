"""Record to PDF/A certificate, and the a_w line that screen and paper share; works without any web framework.

The parts are loaded when first asked for: who draws a line or exports readings does not load the typesetter.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from isohume.outlets.paper.aw_line import draw_line
    from isohume.outlets.paper.certificate import certificate_pdf
    from isohume.outlets.paper.certificate_file import certificates, write_certificate
    from isohume.outlets.paper.export import readings_csv, write_readings
    from isohume.outlets.paper.labels import Label, write_labels
    from isohume.outlets.paper.line_rows import line_table
    from isohume.outlets.paper.line_spec import LineSpec

_WHERE = {
    "Label": "labels",
    "LineSpec": "line_spec",
    "certificate_pdf": "certificate",
    "certificates": "certificate_file",
    "draw_line": "aw_line",
    "line_table": "line_rows",
    "readings_csv": "export",
    "write_certificate": "certificate_file",
    "write_labels": "labels",
    "write_readings": "export",
}

__all__ = [
    "Label",
    "LineSpec",
    "certificate_pdf",
    "certificates",
    "draw_line",
    "line_table",
    "readings_csv",
    "write_certificate",
    "write_labels",
    "write_readings",
]


def __getattr__(name: str) -> Any:
    if name not in _WHERE:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_WHERE[name]}"), name)
