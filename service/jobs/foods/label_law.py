"""What the law that a label follows makes it name, where a request says which law that is."""

from datetime import date
from functools import lru_cache

from service.domain.allergens.vocabulary import jurisdiction_code, legal_list
from service.domain.errors import UnknownName
from service.domain.messages import message
from service.reference.allergens.vocabulary import vocabulary


@lru_cache(maxsize=32)
def must_name(label_law: str | None) -> frozenset[str]:
    """The allergens that a label of this law must name, by the list as it stands now; none where the law is not known.

    Raises ``UnknownName`` for a law without a list.

    >>> "mustard" in must_name("EU"), "mustard" in must_name("US"), must_name(None)
    (True, False, frozenset())
    """
    if label_law is None:
        return frozenset()
    words = vocabulary()
    code = jurisdiction_code(label_law)
    if code not in words.jurisdictions:
        raise UnknownName(
            field="label_law",
            value=label_law,
            kind=message("kind.jurisdiction"),
            known=message("help.known", names=list(words.jurisdictions)),
        )
    return frozenset(entry.allergen for entry in legal_list(words, code, date.max) if entry.status == "mandatory")
