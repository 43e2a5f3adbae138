"""What a form is known by, so that it is kept once however often it comes."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from datetime import datetime

from isohume.outlets.site.ledger.actions import Entry

NAME, FILLED, TYPED_AT = "outbox_entry", "outbox_filled", "outbox_typed_at"
ROW_MARK = "mark"  # the rows of the grid have a name of their own
TYPED_FIRST = "outbox_first"
OF_THE_OUTBOX = frozenset({NAME, FILLED, TYPED_AT, TYPED_FIRST, "outbox_words", "outbox_person", "outbox_time"})
LONGEST_FIRST = 2000  # two fields of a cup are short; what is longer was not written by our own page
_NAME = re.compile(r"[0-9a-f]{16}", re.ASCII)
_MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,3})?Z", re.ASCII)


def entry_of(person: int, path: str, fields: Mapping[str, str]) -> Entry | None:
    """The entry that a posted form is; None where the form takes no part.

    A form gets its name when it is shown. The same form sent again with other content is another entry; the time that
    the tablet filled in when the form had to wait is not content. What stood in a field before it was put right is kept
    beside it.
    """
    name = fields.get(NAME) or fields.get(ROW_MARK, "")
    if not _NAME.fullmatch(name):
        return None
    left_out = {"csrfmiddlewaretoken", *OF_THE_OUTBOX, *fields.get(FILLED, "").split()}
    typed = sorted((key, value) for key, value in fields.items() if key not in left_out and value)
    content = json.dumps([person, path, name, typed], ensure_ascii=True)
    typed_at = fields.get(TYPED_AT, "")
    key = hashlib.sha256(content.encode()).hexdigest()[:32]
    at = datetime.fromisoformat(typed_at).isoformat() if _MOMENT.fullmatch(typed_at) else ""
    return Entry(key, at, " ".join(fields.get(TYPED_FIRST, "").split())[:LONGEST_FIRST])
