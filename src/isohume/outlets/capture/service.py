"""The systemd unit, with the words of this laboratory filled in."""

from __future__ import annotations

from collections.abc import Sequence
from importlib.resources import files

UNIT = "isohume-capture.service"


def systemd_unit(command: Sequence[str], spool: str) -> str:
    """The unit as text; `command` is what it starts, word by word, and `spool` the one folder that it writes."""
    text = files("isohume.outlets.capture").joinpath(UNIT).read_text(encoding="utf-8")
    return text.replace("{command}", " ".join(map(_quoted, command))).replace("{spool}", _quoted(f"-{spool}"))


def _quoted(word: str) -> str:
    """A word as systemd reads it: percent and dollar signs are doubled, blanks and quotes stand in quotes."""
    plain = word.replace("%", "%%").replace("$", "$$")
    if all(c.isalnum() or c in "/._:-%$=@+," for c in plain) and plain:
        return plain
    escaped = plain.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
