"""Holds foods against what a child must avoid and what a classroom bans. Unknown fails closed.

An outcome is ``avoid``, ``may_contain``, ``check_label``, ``label_not_seen`` or ``not_declared``; it is never a promise.
``check_label`` and ``label_not_seen`` both ask for the label: the first where the allergen is often in such foods or nothing
is known of them, the second where it is not usual in them. Only a label that was read, or a single food, is ``not_declared``.
Words such as lactose-free, vegan or gluten-free in a name clear nothing: only a level of the food itself counts, and a
claim on a packet only what it speaks of (gluten, lactose), never wheat or milk.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, NamedTuple

from service.domain.allergens.making import fewest_runs
from service.domain.allergens.vocabulary import AllergenVocabulary
from service.domain.foods.food import LEVEL_RANK, UNREAD, AllergenProfile, Containment, Food, worse
from service.domain.messages import message

Threshold = Literal["contains", "may_contain"]
Outcome = Literal["avoid", "may_contain", "check_label", "label_not_seen", "not_declared"]

OUTCOME_RANK: dict[Outcome, int] = {
    "avoid": 4,
    "may_contain": 3,
    "check_label": 2,
    "label_not_seen": 1,
    "not_declared": 0,
}
"""The grades of evidence from best to worst. What follows from ``may_contain`` depends on the threshold, so a lunch is not
judged by its worst grade alone: see ``Screened.do_not_pack`` and ``Screened.unread``."""
OUTCOME_OF_LEVEL: dict[str, Outcome] = {
    "contains": "avoid",
    "unknown": "check_label",
    "label_not_seen": "label_not_seen",
    "may_contain": "may_contain",
    "free": "not_declared",
}


class Avoidance(NamedTuple):
    """One allergen to keep away from, at a threshold, and for whom (child or setting)."""

    allergen: str
    threshold: Threshold
    by: Literal["child", "setting"] = "child"


@dataclass(frozen=True, slots=True, eq=False)
class Screened:
    """One food against one avoidance (compared by identity): the outcome, the evidence, and whether it must not be packed."""

    avoidance: Avoidance
    outcome: Outcome
    found: str
    evidence: Containment
    do_not_pack: bool

    @property
    def unread(self) -> bool:
        """Whether a label is still to be read, though nothing says yet that the food must not be packed."""
        return self.outcome in ("check_label", "label_not_seen")

    @property
    def keeps_out(self) -> bool:
        """Whether the food is taken out of what a child may choose from: it must not be packed, or its label comes first."""
        return self.do_not_pack or self.outcome == "check_label"


def screen_food(vocabulary: AllergenVocabulary, food: Food, avoidance: Avoidance) -> Screened:
    """Hold one food against one avoidance; remembered for foods of the reference tables.

    A group named on the food ("tree nuts") flags every member, and a group that the food may hold (pesto: tree
    nuts) is unknown for every member; where the food names another member of the group ("almond"), the one
    looked for is unknown, never clear.

    Source: ours. Unknown fails closed: what the food does not speak of is ``check_label``.

    >>> from service.reference.allergens.vocabulary import vocabulary
    >>> from service.reference.foods.catalogue import find_food
    >>> found = screen_food(vocabulary(), find_food("beans-baked"), Avoidance("milk", "contains"))
    >>> found.outcome, found.do_not_pack
    ('check_label', False)
    """
    # A label food lives as long as its request; remembering it would push out foods of the tables.
    if food.kind == "label":
        return _screened(vocabulary, food, avoidance)
    return _remembered(vocabulary, food, avoidance)


def _screened(vocabulary: AllergenVocabulary, food: Food, avoidance: Avoidance) -> Screened:
    found, worst = _looked_up(vocabulary, food.allergens, avoidance.allergen)
    outcome = OUTCOME_OF_LEVEL[worst.level]
    # A label not read beside a printed warning: the warning forbids packing, the other would only ask to read the label.
    if worst.level in UNREAD and worst.warned and avoidance.threshold == "may_contain":
        outcome = "may_contain"
    return Screened(avoidance, outcome, found, worst, _forbids(avoidance, outcome))


def level_of(vocabulary: AllergenVocabulary, profile: AllergenProfile, allergen: str) -> Containment:
    """The most serious that a food says of an allergen, whoever avoids it."""
    return _looked_up(vocabulary, profile, allergen)[1]


def _looked_up(vocabulary: AllergenVocabulary, profile: AllergenProfile, allergen: str) -> tuple[str, Containment]:
    """The most serious that a food says of an allergen, and the id it says it of; a dish part by part."""
    if profile.parts:
        results = [_looked_up(vocabulary, part, allergen) for part in profile.parts]
        found, worst = results[0]
        for other, seen in results[1:]:
            found, worst = _graver(found, worst, other, seen)
        return found, worst
    if (content := vocabulary.contents.get(allergen)) is not None:
        known = profile.named.get(content.id)
        if known is not None:
            found, worst = content.id, known
            for other in content.besides if allergen != content.id else ():
                found, worst = _graver(found, worst, *_looked_up(vocabulary, profile, other))
            return found, worst
        allergen = content.content_of or allergen
    found, worst = allergen, _own(vocabulary, profile, allergen)
    for other, seen in _related(vocabulary, profile.named, allergen):
        found, worst = _graver(found, worst, other, seen)
    return found, worst


def _own(vocabulary: AllergenVocabulary, profile: AllergenProfile, allergen: str) -> Containment:
    """What a food says of an allergen itself; where it does not speak of it, of a group that is not usual in it, or not in it."""
    own = profile.named.get(allergen)
    if own is not None:
        return own
    groups = [profile.named[group] for group in sorted(vocabulary.groups_of(allergen)) if group in profile.named]
    if not groups or any(seen.level not in ("label_not_seen", "free") for seen in groups):
        return profile.others
    return max(groups, key=lambda seen: LEVEL_RANK[seen.level])


def _graver(found: str, worst: Containment, other: str, seen: Containment) -> tuple[str, Containment]:
    graver = worse(worst, seen)
    return (other if LEVEL_RANK[graver.level] > LEVEL_RANK[worst.level] else found), graver


def _related(
    vocabulary: AllergenVocabulary, named: Mapping[str, Containment], allergen: str
) -> Iterator[tuple[str, Containment]]:
    """What the food says of the members of an allergen, and of the groups it belongs to.

    Where the food names another member of the group, the group's word says nothing sure of this one.
    """
    for member in sorted(vocabulary.members_of(allergen)):
        if member in named:
            yield member, named[member]
    if vocabulary.allergens[allergen].apart and allergen in named and named[allergen].level == "free":
        return
    for group in sorted(vocabulary.groups_of(allergen)):
        seen = named.get(group)
        if seen is None or seen.level == "free":
            continue
        others = [
            member
            for member in named
            if member not in (group, allergen)
            and named[member].level == seen.level
            and group in vocabulary.groups_of(member)
        ]
        # "Contains tree nuts (almond)" says which nut is meant; of walnut it says nothing sure: unknown, not clear.
        if seen.level == "contains" and (others or vocabulary.allergens[group].broad):
            evidence = message("evidence.names-kind", seen=seen.evidence)
            if others:
                evidence = message("evidence.names-others", seen=seen.evidence, others=sorted(others))
            yield group, Containment("unknown", seen.basis, evidence, warned=seen.warned)
        else:
            yield group, seen


_remembered = lru_cache(maxsize=8192)(_screened)


def _forbids(avoidance: Avoidance, outcome: Outcome) -> bool:
    if outcome == "avoid":
        return True
    return outcome == "may_contain" and avoidance.threshold == "may_contain"


def worst_outcome(results: Iterable[Screened]) -> Outcome:
    """The gravest outcome of several.

    None at all is ``not_declared``.
    """
    worst: Outcome = "not_declared"
    for result in results:
        if OUTCOME_RANK[result.outcome] > OUTCOME_RANK[worst]:
            worst = result.outcome
    return worst


class MakingStep(NamedTuple):
    """One place in the order of making: the item, and what to clean before it, allergen ids.

    ``place``: the item's place among those that are put in order. ``clean_for``: places of the children for whom.
    """

    item: str
    handles: tuple[str, ...]
    clean_before: tuple[str, ...]
    place: int = 0
    clean_for: tuple[int, ...] = ()


MAKING_LEVEL: dict[Outcome, int] = {"avoid": 2, "not_declared": 0}


def making_order(
    vocabulary: AllergenVocabulary,
    items: Sequence[Food],
    avoidances: Sequence[Avoidance],
    eaters: Sequence[Mapping[str, frozenset[int]]] | None = None,
) -> list[MakingStep]:
    """The order in which to make things with the fewest cleanings of board, knife and hands.

    ``eaters``: for each item the allergens that those who will eat it avoid, and who they are; without it everybody eats
    everything. What an item is not known to be free of counts as on the board, below what it is known to hold.
    Common practice, no source.
    """
    watched = sorted({a.allergen for a in avoidances})
    by_name = sorted(range(len(items)), key=lambda place: items[place].name)
    levels = [
        [
            MAKING_LEVEL.get(screen_food(vocabulary, items[place], Avoidance(allergen, "may_contain")).outcome, 1)
            for allergen in watched
        ]
        for place in by_name
    ]
    needs = [
        frozenset(at for at, allergen in enumerate(watched) if eaters is None or allergen in eaters[place])
        for place in by_name
    ]
    steps: list[MakingStep] = []
    on_the_board: set[str] = set()
    for run in fewest_runs(levels, needs):
        clean, clean_for = tuple(sorted(on_the_board)), set[int]()
        if eaters is not None:
            clean_for = {
                child for at in run for allergen in clean for child in eaters[by_name[at]].get(allergen, frozenset())
            }
        on_the_board = set()
        for number, at in enumerate(run):
            handles = tuple(allergen for allergen, level in zip(watched, levels[at], strict=True) if level)
            on_the_board |= set(handles)
            first = number == 0
            steps.append(
                MakingStep(
                    items[by_name[at]].name,
                    handles,
                    clean if first else (),
                    by_name[at],
                    tuple(sorted(clean_for)) if first else (),
                )
            )
    return steps


def _eaters(
    vocabulary: AllergenVocabulary, food: Food, children: Sequence[Sequence[Avoidance]]
) -> Mapping[str, frozenset[int]]:
    """The allergens avoided by the children who may be given a food, and by whom."""
    found: dict[str, frozenset[int]] = {}
    for child, avoids in enumerate(children):
        if not any(screen_food(vocabulary, food, one).do_not_pack for one in avoids):
            for one in avoids:
                found[one.allergen] = found.get(one.allergen, frozenset()) | {child}
    return found


class Cell(NamedTuple):
    """One thing checked against all that one child avoids: the places of both, and each of its foods with what was found."""

    child: int
    thing: int
    found: list[tuple[int, Screened]]


class Screening(NamedTuple):
    """Many children against many things. ``foods``: the different foods, which ``steps`` puts in the order of making."""

    cells: list[Cell]
    foods: list[Food]
    steps: list[MakingStep]


def screen(
    vocabulary: AllergenVocabulary, children: Sequence[Sequence[Avoidance]], things: Sequence[Sequence[Food]]
) -> Screening:
    """Hold every food of every thing against what every child avoids; child by child, in order.

    ``children``: for each what it avoids; ``things``: for each its foods. Source: ours; the order of making is
    common practice, no source.
    """
    cells = [
        Cell(
            child,
            thing,
            [
                (place, screen_food(vocabulary, food, avoidance))
                for place, food in enumerate(foods)
                for avoidance in avoids
            ],
        )
        for child, avoids in enumerate(children)
        for thing, foods in enumerate(things)
    ]
    # Two labels of one name are two foods.
    distinct = {id(food) if food.kind == "label" else food.id: food for foods in things for food in foods}
    foods = list(distinct.values())
    eaters = [_eaters(vocabulary, food, children) for food in foods]
    watched = [one for avoids in children for one in avoids]
    return Screening(cells, foods, making_order(vocabulary, foods, watched, eaters))
