"""A site's data folder opened to read it and nothing else: its own questions are asked, no file is made or changed."""

from __future__ import annotations

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any
from urllib.parse import quote

from isohume.bench.record.tables import DATABASE
from isohume.foundation.quantity.errors import InputError

SETTINGS = "isohume.outlets.site.config.settings"
NEEDED = "bench_run"
READ_ONLY = "PRAGMA query_only = ON"


@contextmanager
def site_read_only(folder: Path) -> Iterator[None]:
    """Django's own connection on a site's database, read only, while the site may be running.

    Raises: InputError where the folder holds no site.
    """
    database = folder / DATABASE
    if not database.is_file():
        raise InputError("folder", str(folder), f"a data folder of the site, with {DATABASE} (isohume serve --data)")
    with ExitStack() as held:
        place = _place(database, held)
        _refuse_other(folder, place)
        connection = _django(held)
        before = connection.settings_dict
        connection.close()
        options: dict[str, Any] = {**before["OPTIONS"], "init_command": READ_ONLY, "uri": True}
        connection.settings_dict = {**before, "NAME": place, "OPTIONS": options}
        try:
            yield
        except _older() as error:
            if "no such" not in str(error):
                raise
            found = f"{folder} ({error})"
            raise InputError("folder", found, "one brought up to this version: isohume serve --data once") from None
        finally:
            connection.close()
            connection.settings_dict = before


def _place(database: Path, held: ExitStack) -> str:
    """The database's address: as it is where nothing waits in its log, beside a writer where there is one.

    A log without its index, or in a folder that cannot be written, is read from a copy, as `isohume verify` does.
    """
    log, index = Path(f"{database}-wal"), Path(f"{database}-shm")
    if index.exists() and os.access(database.parent, os.W_OK):
        return _address(database, "mode=ro")  # a site may be at work, its log empty or not: its locks are respected
    if not log.exists() or log.stat().st_size == 0:
        return _address(database, "immutable=1")
    copy = Path(held.enter_context(tempfile.TemporaryDirectory(prefix="isohume-read-"))) / database.name
    shutil.copyfile(database, copy)
    shutil.copyfile(log, f"{copy}-wal")
    return _address(copy, "mode=ro")


def _address(database: Path, how: str) -> str:
    return f"file:{quote(str(database.resolve()))}?{how}"


def _refuse_other(folder: Path, place: str) -> None:
    """A ledger folder of the command line has the same file name, and no bench in it."""
    wanted = "a data folder of the site, with its tables (isohume serve --data)"
    try:
        connection = sqlite3.connect(place, uri=True)
        try:
            found = connection.execute("SELECT 1 FROM sqlite_master WHERE name = ?", (NEEDED,)).fetchone()
        finally:
            connection.close()
    except sqlite3.Error as error:
        raise InputError("folder", f"{folder} ({error})", wanted) from None
    if found is None:
        raise InputError("folder", str(folder), wanted)


def _older() -> type[Exception]:
    """What an older database answers to a question about a table it has not."""
    from django.db.utils import OperationalError

    found: type[Exception] = OperationalError
    return found


def _django(held: ExitStack) -> Any:
    """Django's default connection; its settings are loaded in a folder of their own, so that no key is made here."""
    from django.conf import settings

    if not settings.configured:
        given = os.environ.get("ISOHUME_DATA")
        os.environ["ISOHUME_DATA"] = held.enter_context(tempfile.TemporaryDirectory(prefix="isohume-settings-"))
        os.environ.setdefault("DJANGO_SETTINGS_MODULE", SETTINGS)
        import django

        try:
            django.setup()
        finally:
            if given is None:
                del os.environ["ISOHUME_DATA"]
            else:
                os.environ["ISOHUME_DATA"] = given
    from django.db import connection

    return connection
