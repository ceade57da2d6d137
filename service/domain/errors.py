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
    |- StillUsed           something that others hang on and that cannot be taken out before them
    |- RightMissing        something that the access key does not allow
    |- LastKeepKey         the last access key that may do everything, about to be revoked
    |- StoreFault          the store cannot be read or written just now; what was there is kept
    |- ReferenceFault      a file of reference_data is wrong; names the file and the place
    |- SpeaksAgainst       one reason why a lunch must not be packed
    |- ManyFaults          several of the above, reported together
    `- MustNotBePacked     a lunch that nobody has said yet is packed all the same; gathers what speaks against it

Every error carries the place (a JSON pointer into the request, or a file and key), the offending
value and the remedy, as attributes and as one sentence.
"""

from collections.abc import Iterable, Sequence


class LunchError(Exception):
    """A fault in the input that the caller can mend.

    Parameters
    ----------
    slug: stable machine name of the kind of fault, kebab-case.
    pointer: where it is, e.g. ``/lunch/items/0/unit``.
    value: what was given, as text.
    problem: what is wrong with it, without the value's place.
    remedy: what to do instead.
    """

    slug = "bad-input"

    def __init__(self, *, pointer: str, value: object, problem: str, remedy: str) -> None:
        self.pointer = pointer
        self.value = value
        self.problem = problem
        self.remedy = remedy
        super().__init__(self.sentence())

    def sentence(self) -> str:
        """Say place, value, problem and remedy in one line."""
        shown = f"{self.value!r}"
        if len(shown) > 120:
            shown = shown[:117] + "..."
        return f"{self.pointer or '/'}: {shown} {self.problem}. {self.remedy}"

    def faults(self) -> Sequence["LunchError"]:
        """The single faults in this error (itself, or those it gathers)."""
        return (self,)

    def under(self, prefix: str) -> "LunchError":
        """The same fault, its place seen from further out."""
        self.pointer = prefix + self.pointer
        self.args = (self.sentence(),)
        return self


class UnknownName(LunchError):
    """A name that is not in the list it should be in; offers near names."""

    slug = "unknown-name"

    def __init__(self, *, pointer: str, value: object, kind: str, near: Iterable[str] = (), known: str = "") -> None:
        self.kind = kind
        self.near = tuple(near)
        remedy = "Did you mean " + ", ".join(self.near) + "?" if self.near else known or f"Give a known {kind}."
        if self.near and known:
            remedy += " " + known
        super().__init__(pointer=pointer, value=value, problem=f"is not a known {kind}", remedy=remedy)


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
    """Something that cannot be taken out, because something else needs it."""

    slug = "still-used"


class RightMissing(LunchError):
    """Something that an access key does not allow."""

    slug = "forbidden-right"


class LastKeepKey(LunchError):
    """The last key of a household that may do everything: without it nobody could make another."""

    slug = "last-keep-key"


class StoreFault(LunchError):
    """The store cannot be opened, read or written; what was there is kept."""

    slug = "store-fault"


class BadInput(LunchError):
    """Anything else about one field."""

    slug = "bad-input"


class ReferenceFault(LunchError):
    """A file of reference_data does not hold what it must."""

    slug = "reference-fault"


class ManyFaults(LunchError):
    """Several faults found in one go; all of them are told."""

    slug = "many-faults"

    def __init__(self, faults: Sequence[LunchError]) -> None:
        self._faults = tuple(faults)
        Exception.__init__(self, "\n".join(fault.sentence() for fault in self._faults))
        self.pointer = ""
        self.value = len(self._faults)
        self.problem = f"{len(self._faults)} faults"
        self.remedy = "See each."

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
    """A lunch that must not be packed, logged without a word on why it is packed; each finding is told."""

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
