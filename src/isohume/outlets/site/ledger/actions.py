"""An action is one change: who may do it, why it may be refused, what it changes, and the line it leaves.

Page, command line and import all perform the same actions. `perform` asks once, inside the transaction that also
holds the change and its ledger line; an action that needs another one performs it in the same transaction.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, ClassVar, Generic, TypeVar

from isohume.bench.record.canonical_form import canonical
from isohume.foundation.quantity.errors import IsohumeError
from isohume.outlets.site.ledger.models import TrailLine
from isohume.outlets.site.ledger.writing import is_writing, writing
from isohume.outlets.site.people.models import Person, Site
from isohume.outlets.site.people.roles import Role

Result = TypeVar("Result")
ACTIONS: dict[str, type[Action[Any]]] = {}


class Refused(IsohumeError):  # noqa: N818 - it is an answer, not a fault
    """An action that may not be done now, with the reasons that screen, command line and import all say."""

    def __init__(self, *reasons: str) -> None:
        self.reasons = reasons
        super().__init__(" ".join(reasons))


class KeptBefore(IsohumeError):  # noqa: N818 - it is an answer, not a fault
    """An entry that came a second time: it was kept then, and nothing is changed now. `ref`: what it made."""

    def __init__(self, ref: str) -> None:
        self.ref = ref
        super().__init__(f"This entry was kept before: {ref}.")


@dataclass(frozen=True, slots=True)
class Entry:
    """A form as sent: what it is known by if it comes twice, and, where it had to wait, when it was typed.

    typed_first: what stood in the fields that were put right after a refusal.
    """

    key: str
    typed_at: str = ""
    typed_first: str = ""

    @property
    def details(self) -> dict[str, str]:
        """What the ledger keeps of its wait."""
        found = {"typed_at": self.typed_at, "typed_first": self.typed_first}
        return {name: value for name, value in found.items() if value}

    @property
    def ref(self) -> str:
        """Its name in the ledger."""
        return f"entry:{self.key}"


@dataclass(frozen=True, slots=True)
class By:
    """Who acts and when; `at` is the server's time, never the browser's. entry: the form it came by."""

    person: Person
    at: datetime
    entry: Entry | None = None


@dataclass(frozen=True, slots=True)
class Verdict:
    """Whether an action may be done, and why not."""

    allowed: bool
    reasons: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Done(Generic[Result]):
    """What an action did: its result, the object it happened to, other objects it speaks of, details, reason.

    details: plain values only (text, whole numbers, lists, dicts): numbers as typed, as text. A change names old
    and new: {"field": [old, new]}. before: nothing was changed now, it had been done before; it has its line already.
    """

    result: Result
    ref: str
    about: Iterable[str] = ()
    details: dict[str, Any] = field(default_factory=dict)
    reason: str = ""
    before: bool = False


class Action(ABC, Generic[Result]):
    """Base of every change. Subclasses are dataclasses whose fields are what a form, a file or a caller gives."""

    name: ClassVar[str]  # the ledger line's kind; stored, so it never changes
    said: ClassVar[str]  # what the trail says, such as "Opened a bottle"
    roles: ClassVar[frozenset[Role]]

    def __init_subclass__(cls, **given: Any) -> None:
        super().__init_subclass__(**given)
        if "name" in cls.__dict__:
            known = ACTIONS.setdefault(cls.name, cls)
            if known.__qualname__ != cls.__qualname__:
                raise TypeError(f"two actions are called {cls.name}: {known.__qualname__} and {cls.__qualname__}")

    @property
    @abstractmethod
    def site(self) -> Site | None:
        """The plant the change happens in; a person of another plant is refused. None: the actor's own."""

    def refusals(self, by: By) -> Iterable[str]:
        """Reasons beyond the role why it may not be done now."""
        return ()

    @abstractmethod
    def change(self, by: By) -> Done[Result]:
        """Make the change; runs inside the transaction. Bad fields raise InputError naming field, value, allowed."""


def check(action: Action[Any], by: By) -> Verdict:
    """May this person do this now? Role first, then plant, then the action's own rules."""
    if not by.person.is_active:
        return Verdict(False, (f"The account of {by.person.printed_name} is not active.",))
    if not by.person.holds(*action.roles):
        named = ", ".join(sorted(role.value for role in action.roles))
        return Verdict(False, (f"{action.said}: this is for {named}.",))
    if action.site is not None and action.site.pk != by.person.site_id:
        return Verdict(False, ("This belongs to another plant.",))
    reasons = tuple(action.refusals(by))
    return Verdict(not reasons, reasons)


def perform(action: Action[Result], by: By) -> Result:
    """Ask, change, and write the line, all in one transaction; nested calls share it.

    Raises: Refused with the reasons; InputError where a field holds something that is not allowed; KeptBefore where
        the entry it came by was kept before.
    """
    entry = None if is_writing() else by.entry  # an action within another one is part of the same entry
    with writing(by.at) as evidence:
        if entry is not None:
            _refuse_twice(entry)
        verdict = check(action, by)
        if not verdict.allowed:
            raise Refused(*verdict.reasons)
        done = action.change(by)
        if done.before:
            return done.result
        about = list(dict.fromkeys((done.ref, *done.about, *([entry.ref] if entry else ()))))
        payload: dict[str, Any] = {"about": about, "by": by.person.username, "name": by.person.printed_name}
        details = {**done.details, **(entry.details if entry else {})}
        if details:
            payload["details"] = details
        if done.reason:
            payload["reason"] = done.reason
        line = evidence.append(action.name, done.ref, canonical(payload))
        TrailLine.objects.bulk_create(TrailLine(ref=ref, seq=line.seq) for ref in about)
    return done.result


def _refuse_twice(entry: Entry) -> None:
    seq = TrailLine.objects.filter(ref=entry.ref).values_list("seq", flat=True).first()
    if seq is not None:
        others = TrailLine.objects.filter(seq=seq).exclude(ref=entry.ref)
        raise KeptBefore(others.order_by("pk").values_list("ref", flat=True).first() or entry.ref)
