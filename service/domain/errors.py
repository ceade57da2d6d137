"""What can be wrong with what somebody gave us, in domain words; no HTTP here.

::

    LunchError
    |- UnknownName         a name that is not in a list: food, unit, standard, allergen ...
    |- OutsideDates        a date outside the rows of a dated file
    |- OutsideAgeGroups    an age that no age group of the standard covers
    |- BadAmount           an amount that is zero, negative, not finite or absurdly large
    |- BadInput            anything else about one field
    |- NotThere            an id of which nothing is kept (for this household)
    |- AlreadyThere        something that would be kept a second time
    |- StaleEdit           an edit of what was edited since it was read
    |- StillUsed           something that others hang on and that cannot be deleted before them
    |- RightMissing        something that the access key does not allow
    |- LastKeepKey         the last access key that may do everything, about to be revoked
    |- StoreFault          the store cannot be read or written just now; what was there is unchanged
    |- ReferenceFault      a file of reference_data is wrong; names the file and the place
    |- SpeaksAgainst       one reason why a lunch must not be packed
    |- ManyFaults          several of the above, reported together
    `- MustNotBePacked     a lunch that nobody has said yet is packed all the same; gathers what speaks against it

Every error carries the place (a JSON pointer into the request, or a file and key), the offending value, what is wrong
and the remedy. What is wrong is a message, ``message("fault.too-heavy", ...)``: the catalogue has its words and, by the same
name and values, those of the remedy (``service/reference/fault_words.py`` says both where the reply is made). Only a
``ReferenceFault`` has texts, since the catalogue is reference data itself; in any other the type checker refuses one.

Where the thing at fault lies in a request only the jobs know: what is raised below them names the part of the thing
(``field="unit"``), and ``at`` puts the place in front.
"""

from collections.abc import Iterable, Sequence
from types import TracebackType

from service.domain.messages import Message, message

Place = Sequence[str | int]
"""The way to a part of a request: names of fields and places in lists, outermost first."""


def pointer_of(place: Sequence[object]) -> str:
    """A place as a JSON pointer (RFC 6901).

    >>> pointer_of(("lunch", "items", 0, "a/b"))
    '/lunch/items/0/a~1b'
    """
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in place)


class AnyFault(Exception):
    """A fault that says what to do about it, of the input (``LunchError``) or of the store (``StoreFault``).

    Parameters
    ----------
    slug: stable machine name of the kind of fault, kebab-case.
    field: the part of the thing that is at fault, e.g. ``unit`` or ``("credits", 0, "component")``.
    pointer: the same written out, where the whole place is known: ``/lunch/items/0/unit``, or a file and key.
    value: what was given, as text.
    problem: what is wrong with it, without the value's place: a message of the group ``fault``. What to do instead is in
        the catalogue under the same name, in the group ``remedy``.

    ``code``: what is wrong, more exactly than the slug. ``params``: the values in problem and remedy.
    """

    slug = "bad-input"

    def __init__(
        self,
        *,
        value: object,
        problem: Message,
        field: str | Place = (),
        pointer: str = "",
    ) -> None:
        self.code = problem.code.removeprefix("fault.")
        self.params = problem.params
        self.pointer = pointer or pointer_of((field,) if isinstance(field, str) else field)
        self.value = value
        self.problem = problem
        super().__init__(self.sentence())

    def sentence(self) -> str:
        """Place, value and what is wrong in one line, for a log: a message as its code and values."""
        values = ", ".join(f"{name}={one!r}" for name, one in self.params.items())
        return f"{self.in_place()} {self.code}({values})"

    def in_place(self) -> str:
        """The place and the value, cut to a readable length."""
        shown = f"{self.value!r}"
        return f"{self.pointer or '/'}: {shown if len(shown) <= 120 else shown[:117] + '...'}"

    def faults(self) -> Sequence["AnyFault"]:
        """The single faults in this error (itself, or those it gathers)."""
        return (self,)


class LunchError(AnyFault):
    """A fault in the input that the caller can fix."""

    def faults(self) -> Sequence["LunchError"]:
        """The single faults in this error (itself, or those it gathers)."""
        return (self,)

    def under(self, prefix: str) -> "LunchError":
        """The same fault, its place seen from further out."""
        self.pointer = prefix + self.pointer
        self.args = (self.sentence(),)
        return self


class UnknownName(LunchError):
    """A name that is not in the list it should be in; offers near names.

    ``kind``: what it should name, a message of the group ``kind``. ``known``: how to find one, of the group ``help``.
    """

    slug = "unknown-name"

    def __init__(
        self,
        *,
        value: object,
        kind: Message,
        near: Iterable[str] = (),
        known: Message | None = None,
        field: str | Place = (),
        pointer: str = "",
    ) -> None:
        self.near = tuple(near)
        help_: list[Message] = [message("help.did-you-mean", names=list(self.near))] if self.near else []
        if known or not help_:
            help_.append(known or message("help.give-known", kind=kind))
        super().__init__(
            field=field,
            pointer=pointer,
            value=value,
            problem=message("fault.unknown-name", kind=kind, near=list(self.near), help=help_),
        )


class OutsideDates(LunchError):
    """A date on which no row of a dated file is in force."""

    slug = "outside-dates"


class OutsideAgeGroups(LunchError):
    """An age that no age group of the standard covers."""

    slug = "outside-age-groups"


class BadAmount(LunchError):
    """An amount that is zero, negative, not finite, or too large to be one lunch."""

    slug = "bad-amount"


class NotThere(LunchError):
    """An id of which nothing is kept, or nothing that this household may see."""

    slug = "not-there"


class AlreadyThere(LunchError):
    """Something of which there may be one only, and there is one. ``existing_id``: its id, where that is known."""

    slug = "already-there"
    existing_id: str | None = None


class StaleEdit(LunchError):
    """An edit made from a state that is not the newest any more."""

    slug = "stale-edit"


class StillUsed(LunchError):
    """Something that cannot be deleted, because something else needs it."""

    slug = "still-used"


class RightMissing(LunchError):
    """Something that an access key does not allow."""

    slug = "forbidden-right"


class LastKeepKey(LunchError):
    """The last key of a household that may do everything: without it nobody could make another."""

    slug = "last-keep-key"


class StoreFault(AnyFault):
    """The store cannot be opened, read or written; what was there is unchanged. No fault of what was asked: who catches
    ``LunchError`` lets it through, so that it is never taken for something that is wrong or missing.
    """

    slug = "store-fault"


class BadInput(LunchError):
    """Anything else about one field."""

    slug = "bad-input"


class ReferenceFault(LunchError):
    """A file of reference_data does not hold what it must.

    ``text``, ``remedy``: what is wrong and what to do, in English, for whoever edits the file. Its code is its slug.
    """

    slug = "reference-fault"

    def __init__(self, *, value: object, problem: str, remedy: str, field: str | Place = (), pointer: str = "") -> None:
        self.text = problem
        self.remedy = remedy
        super().__init__(value=value, problem=Message(self.slug, {}), field=field, pointer=pointer)

    def sentence(self) -> str:
        """Place, value, problem and remedy in one line."""
        return f"{self.in_place()} {self.text}. {self.remedy}"


class ManyFaults(LunchError):
    """Several faults found in one go; all of them are reported."""

    slug = "many-faults"

    def __init__(self, faults: Sequence[LunchError]) -> None:
        self._faults = tuple(faults)
        Exception.__init__(self, "\n".join(fault.sentence() for fault in self._faults))
        self.pointer = ""
        self.value = len(self._faults)

    def faults(self) -> Sequence[LunchError]:
        """The gathered faults, in the order found."""
        return self._faults

    def sentence(self) -> str:
        """All sentences, one a line."""
        return "\n".join(fault.sentence() for fault in self._faults)

    def under(self, prefix: str) -> "LunchError":
        """Move every gathered fault outwards."""
        for fault in self._faults:
            fault.under(prefix)
        return self


class SpeaksAgainst(LunchError):
    """One reason why a lunch must not be packed."""

    slug = "must-not-be-packed"


class MustNotBePacked(ManyFaults):
    """A lunch that must not be packed, logged without a word on why it is packed; each finding is shown."""

    slug = "must-not-be-packed"


class NoneOfThem(ManyFaults):
    """Several ids of which nothing is kept; each is reported with its place."""

    slug = "not-there"


def raise_all(faults: Sequence[LunchError]) -> None:
    """Raise what was found: nothing, the one, or all together."""
    if len(faults) == 1:
        raise faults[0]
    if faults:
        raise ManyFaults(faults)


class at:  # noqa: N801 - reads as a word: with at("food")
    """A block that works on the part of a request at a place: a fault raised in it gets the place in front.

    ::

        with at("lunch", "items", 3):
            amount_mg_of(food, 1000, "slise")  # raises with field="unit": goes on as /lunch/items/3/unit
    """

    __slots__ = ("_place",)

    def __init__(self, *place: str | int) -> None:
        self._place = place

    def __enter__(self) -> None:
        return None

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        if isinstance(fault, LunchError):
            fault.under(pointer_of(self._place))


class Faults:
    """Collects the faults of several parts of a request, each with its place, to be raised all together."""

    def __init__(self) -> None:
        self.found: list[LunchError] = []

    def at(self, *place: str | int) -> "_Collecting":
        """As ``at``, but a fault is noted here and what comes after the block goes on."""
        return _Collecting(self.found, place)

    def add(self, fault: LunchError) -> None:
        """Note a fault (or the several of it) whose place is complete."""
        self.found.extend(fault.faults())

    def raise_all(self) -> None:
        """Raise what was noted: nothing, the one, or all together."""
        raise_all(self.found)


class _Collecting:
    """The block that ``Faults.at`` opens."""

    __slots__ = ("_found", "_place")

    def __init__(self, found: list[LunchError], place: Place) -> None:
        self._found = found
        self._place = place

    def __enter__(self) -> None:
        return None

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> bool:
        if not isinstance(fault, LunchError):
            return False
        self._found.extend(fault.under(pointer_of(self._place)).faults())
        return True
