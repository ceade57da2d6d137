"""Whether a lunch was taken by the family's rule: as many from each group as the offer says."""

from collections import Counter
from collections.abc import Mapping, Sequence
from itertools import islice, product

from service.domain.messages import Message, message
from service.domain.offers.offer import ChoiceGroup, Offer, Take, takes_of

MOST_READINGS = 4096
"""Ways to share out foods that are in several groups that are looked at; a limit of ours."""


def broken_rules(offer: Offer, foods: Sequence[str], names: Mapping[str, str]) -> list[Message]:
    """What in a lunch is not as the offer says; none where the family's rule was kept.

    A food that is in several groups counts in the one that breaks least.

    Parameters
    ----------
    foods: the keys of the items taken, as in the groups; what is in no group is reported.
    names: of the foods, by key.
    """
    known = [key for key in foods if any(key in group.items for group in offer.groups)]
    others = [message("rule-kept.not-on-offer", name=names[key]) for key in dict.fromkeys(foods) if key not in known]
    where = [[group.id for group in offer.groups if key in group.items] for key in known]
    readings = (
        _broken(offer, list(zip(groups, known, strict=True)), names)
        for groups in islice(product(*where), MOST_READINGS)
    )
    return [*others, *min(readings, key=len)]


def _broken(offer: Offer, taken: Sequence[tuple[str, str]], names: Mapping[str, str]) -> list[Message]:
    """What is broken when each food was taken from the group beside it."""
    takes = takes_of([rule for rule in dict.fromkeys(offer.rules) if (rule.group, rule.item) in taken])
    from_group = Counter(group for group, _key in taken)
    found = []
    done: set[str] = set()
    for group in offer.groups:
        if group.id in done:
            continue
        together = next((ids for ids in offer.alternatives if group.id in ids), (group.id,))
        done.update(together)
        used = [one for one in offer.groups if one.id in together and from_group[one.id]]
        if len(used) > 1:
            found.append(message("rule-kept.one-of", groups=[one.id for one in used]))
            continue
        if not used and any(_take(offer.group(one), takes).at_least == 0 for one in together):
            continue
        one = used[0] if used else group
        take, number = _take(one, takes), from_group[one.id]
        if not take.at_least <= number <= take.at_most:
            found.append(
                message("rule-kept.number", group=one.id, number=number, at_least=take.at_least, at_most=take.at_most)
            )
        for key, times in Counter(key for group_id, key in taken if group_id == one.id).items():
            if times > group.items.count(key) and not take.repeats:
                found.append(message("rule-kept.again", name=names[key], group=one.id))
    return found


def _take(group: ChoiceGroup, takes: Mapping[str, Take]) -> Take:
    return takes.get(group.id, group.take)
