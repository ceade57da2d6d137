"""An edit that another device overtook: both versions side by side, with what was typed kept.

A family says what a form reads like (``said``: words of the field to what stands in it, as a person reads it) once, for
what was typed and for the record as it is now::

    try:
        keep_parts(viewer.who(), CHILDREN, child, form.text("version"), parts)
    except ChangedMeanwhile as changed:
        theirs = form_of(changed.theirs)
        found = conflict_between(said(form), said(theirs), changed.theirs["version"], f"/children/{child}")
        return page(request, viewer, "children/child.html", child_view(form, conflict=found), 409)

The template shows it with ``conflict`` of ``parts/conflict.html`` and puts ``conflict.version`` into the form's hidden
``version``: sent again, what was typed takes the place of what is there; the link keeps the other.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Difference:
    """One field that differs, in words: what was typed here, and what is there now. Empty: nothing stands in it."""

    words: str
    mine: str
    theirs: str


@dataclass(frozen=True)
class Again:
    """A form that is not on the page any more, sent again by one button: the address that it goes to, and its fields."""

    action: str
    fields: list[tuple[str, str]]


@dataclass(frozen=True)
class Conflict:
    """What ``conflict`` of ``parts/conflict.html`` shows.

    ``version``: of the record as it is now; a form that carries it may take its place. ``keep``: the address of the record.
    ``again``: where one small change was asked for, and there is no form with all that was typed.
    """

    differences: list[Difference]
    version: str
    keep: str
    again: Again | None = None


def conflict_between(mine: Mapping[str, str], theirs: Mapping[str, str], version: Any, keep: str) -> Conflict:
    """What differs between two versions, each as words of a field to what stands in it.

    >>> conflict_between({"Name": "pot", "Portions": "4"}, {"Name": "pot", "Portions": "6"}, 3, "/dishes/1").differences
    [Difference(words='Portions', mine='4', theirs='6')]
    """
    differences = [
        Difference(words, mine.get(words, ""), theirs.get(words, ""))
        for words in dict.fromkeys((*mine, *theirs))
        if mine.get(words, "") != theirs.get(words, "")
    ]
    return Conflict(differences, str(version), keep)
