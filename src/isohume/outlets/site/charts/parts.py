"""A row of which only some columns were read: Django reads the others when they are asked for."""

from __future__ import annotations

from typing import Any, TypeVar

from django.db import connection, models

Row = TypeVar("Row", bound=models.Model)


def part_of(model: type[Row], **read: Any) -> Row:
    """The row with these columns, each by the name that its model keeps it under.

    To put a question of four joined tables into words takes the framework ten times as long as its answer: where one
    plain question read the few columns that a page shows, the rows are made of these.
    """
    names = [field.attname for field in model._meta.concrete_fields if field.attname in read]
    return model.from_db(connection.alias, names, [read[name] for name in names])
