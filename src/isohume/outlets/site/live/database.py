"""The database, opened to read only."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from urllib.parse import quote


def opened(database: Path) -> sqlite3.Connection:
    """A connection that cannot write, whatever is asked of it.

    Raises: sqlite3.OperationalError where there is no database.
    """
    connection = sqlite3.connect(
        f"file:{quote(str(database))}?mode=ro", uri=True, isolation_level=None, timeout=5.0, check_same_thread=False
    )
    connection.execute("PRAGMA query_only = ON")
    return connection
