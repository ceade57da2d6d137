"""From a label sent with a request to a food of the engine."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from service.domain.allergens.screening import level_of
from service.domain.allergens.vocabulary import AllergenVocabulary, resolve
from service.domain.errors import BadInput, Faults, UnknownName
from service.domain.foods.amounts import near_names
from service.domain.foods.crediting import credits_from_amount, credits_from_grams_per_unit, merge_credits
from service.domain.foods.food import (
    UNKNOWN,
    AllergenProfile,
    Basis,
    Containment,
    Credit,
    CreditOption,
    Figure,
    Food,
    Handling,
    HouseholdUnit,
    Level,
    whole_if_so,
    worse,
)
from service.domain.foods.impossible import impossible_figures
from service.domain.foods.label_figures import stands_for
from service.domain.labels.evidence import LabelReading
from service.domain.labels.exempt import without_exempt
from service.domain.labels.reader import read_label
from service.domain.lunch.special_rules import MILK_KINDS
from service.domain.measures import LABEL_MEASURES, MEASURES, MILK_SATURATED, NUTRIENT_COUNT, SATURATED, THOUSANDTHS
from service.domain.messages import Message, message
from service.jobs.foods.choking_rules import NO_RULE, check_choking_rule
from service.jobs.foods.counts_as import counts_as_discretionary, credits_as
from service.jobs.foods.label_law import must_name
from service.jobs.requests.foods import LabelFood, NutritionFacts
from service.reference.allergens.vocabulary import vocabulary
from service.reference.foods.components import components
from service.reference.foods.label_rounding import rounding_rules
from service.reference.foods.label_units import label_limits
from service.reference.foods.lunch_foods import product_kinds
from service.reference.labels.words import exempt_words, label_words
from service.reference.lunch.standards import crediting_scheme

US_SCHEME = "us-school-meals"
"""The scheme that the ``credits`` of a label are written in, whatever the standard: only this one has grain groups."""
_BETWEEN_INGREDIENTS = frozenset(",;\n")
GRAMS_100_MG = 100_000
CLEARED_BY: dict[str, tuple[str, Message]] = {
    "gluten_free": ("gluten_content", message("evidence.claim-gluten-free")),
    "lactose_free": ("lactose", message("evidence.claim-lactose-free")),
}
"""What each claim clears, and in which words: never the cereal, never milk."""


def food_of_label(label: LabelFood, *, weighed: bool = True) -> Food:
    """Build a food from its label; rounded figures become the intervals they stand for.

    ``weighed``: the serving's weight is that of the food, so that figures which such a weight cannot hold are refused; that of a
    school's meal is not known.

    Raises ``UnknownName`` for an unknown allergen, grain group, choking rule, or what it counts as.

    Source of the intervals: 21 CFR 101.9(c), see ``domain/foods/label_figures.py``.

    >>> label = LabelFood.model_validate(
    ...     {"name": "crackers", "serving": {"grams": 30}, "facts": {"sodium_mg": 200}, "ingredients": "wheat, salt"}
    ... )
    >>> from service.domain.measures import MEASURE_INDEX
    >>> crackers = food_of_label(label)
    >>> crackers.ranges[MEASURE_INDEX["sodium_mg"]]  # 195 to 205 mg may be printed as 200
    (195000, 205000)
    >>> crackers.allergens.of("wheat").level, crackers.nutrients[MEASURE_INDEX["iron_mg"]]
    ('contains', None)
    """
    faults = Faults()
    serving_mg = round((label.serving.grams or label.serving.ml or 0) * 1000)
    if serving_mg == 0:
        faults.add(
            BadInput(
                field="serving",
                value=label.serving.grams or label.serving.ml,
                problem=message("fault.serving-too-light"),
            )
        )
    basis_mg = serving_mg if label.facts_per == "serving" else GRAMS_100_MG
    if weighed and serving_mg and label.id is None:  # one that is kept was looked at when it was kept
        see_possible(label.facts, basis_mg / 1000, label.serving.ml is None, faults)
    nutrients, ranges = figures_of(label.facts, label.facts_rounded)
    if label.product_kind in MILK_KINDS:
        nutrients[MILK_SATURATED] = nutrients[SATURATED]
        if SATURATED in ranges:
            ranges[MILK_SATURATED] = ranges[SATURATED]
    else:
        nutrients[MILK_SATURATED] = 0
    words = vocabulary()
    profile = _label_profile(label, words, faults)
    without, taken_out = without_exempt(label.ingredients or "", exempt_words())
    if taken_out:
        besides = _label_profile(label.model_copy(update={"ingredients": without}), words, Faults())
        profile = with_exempt(profile, besides, taken_out, words)
    options: tuple[CreditOption, ...] = ()
    if label.counts_as:
        with faults.at("counts_as"):
            options = credits_as(label.counts_as, basis_mg)
    elif credits := _label_credits(label, basis_mg, serving_mg, faults):
        options = (CreditOption("label", credits),)
    if label.product_kind and label.product_kind not in product_kinds():
        faults.add(
            UnknownName(
                field="product_kind",
                value=label.product_kind,
                kind=message("kind.product"),
                near=near_names(label.product_kind, product_kinds()),
                known=message("help.known", names=sorted(product_kinds())),
            )
        )
    with faults.at("choking_rule"):
        check_choking_rule(label.choking_rule)
    faults.raise_all()
    units = [HouseholdUnit("serving", serving_mg, "label")]
    if label.serving.name != "serving":
        units.append(HouseholdUnit(label.serving.name, serving_mg, "label"))
    if label.serving.ml is not None:
        units.append(HouseholdUnit("ml", 1000, "label"))
    return Food(
        id=label.id or "label",
        name=label.name,
        kind="label",
        basis_mg=basis_mg,
        nutrients=tuple(nutrients),
        source="the label, as sent",
        ranges=ranges,
        credit_options=options,
        units=tuple(units),
        allergens=profile,
        handling=Handling(
            choking_rule="" if label.choking_rule == NO_RULE else label.choking_rule,
            perishable=label.perishable,
            choking_known=bool(label.choking_rule),
        ),
        credits_known=label.credits is not None or bool(label.counts_as),
        category="label",
        product_kind=label.product_kind,
        discretionary=bool(label.counts_as) and counts_as_discretionary(label.counts_as),
        weighable=label.serving.grams is not None,
    )


def figures_of(facts: NutritionFacts, rounded: bool) -> tuple[list[Figure | None], dict[int, tuple[int, int]]]:
    """The figures of a label, and the interval that each rounded one stands for, in thousandths of what they hold for."""
    nutrients: list[Figure | None] = []
    ranges: dict[int, tuple[int, int]] = {}
    rules = rounding_rules() if rounded else {}
    for index, (measure, *_) in enumerate(MEASURES[:NUTRIENT_COUNT]):
        figure = getattr(facts, measure) if MEASURES[index].on_labels else None
        if figure is None:
            nutrients.append(None)
            continue
        exact = Decimal(str(figure))
        nutrients.append(whole_if_so(Fraction(exact) * THOUSANDTHS))
        if measure in rules:
            ranges[index] = stands_for(rules[measure], exact)
    return nutrients, ranges


def see_possible(facts: NutritionFacts, size: float, by_weight: bool, faults: Faults) -> None:
    """Note each figure that cannot be right for ``size`` grams, or ml where not ``by_weight``."""
    known = {one.id: figure for one in LABEL_MEASURES if (figure := getattr(facts, one.id)) is not None}
    for measure, problem in impossible_figures(known, size, by_weight, label_limits()):
        faults.add(BadInput(field=("facts", measure), value=known[measure], problem=problem))


def _label_credits(label: LabelFood, basis_mg: int, serving_mg: int, faults: Faults) -> tuple[Credit, ...]:
    credits: list[Credit] = []
    for place, asked in enumerate(label.credits or ()):
        component = components()[asked.component]
        scheme = crediting_scheme(US_SCHEME)
        assert scheme is not None  # noqa: S101 - a scheme with a name is never None
        if asked.grams_per_unit is not None:
            per_unit = max(1, round(asked.grams_per_unit * 1000))
            credits.extend(credits_from_grams_per_unit(component, per_unit, basis_mg))
        elif asked.grain_group is not None:
            grams = scheme.grain_group_grams_mg.get(asked.grain_group)
            if grams is None:
                faults.add(
                    UnknownName(
                        field=("credits", place, "grain_group"),
                        value=asked.grain_group,
                        kind=message("kind.grain-group"),
                        known=message("help.known", names=sorted(scheme.grain_group_grams_mg)),
                    )
                )
                continue
            credits.extend(credits_from_grams_per_unit(component, grams, basis_mg))
        elif serving_mg:
            if asked.per_serving is not None:
                amount = Fraction(str(asked.per_serving))
            else:
                amount = Fraction(str(asked.creditable_grain_g)) * 1000 / scheme.creditable_grain_mg
            credits.extend(credits_from_amount(component, amount * basis_mg / serving_mg))
    return merge_credits(tuple(credits))


def with_exempt(
    profile: AllergenProfile, besides: AllergenProfile, taken_out: Sequence[str], words: AllergenVocabulary
) -> AllergenProfile:
    """A profile with its gluten judged by what the label names besides what does not count as gluten.

    ``besides``: the profile of the label without ``taken_out``.
    """
    content = CLEARED_BY["gluten_free"][0]
    seen = level_of(words, besides, content)
    said = message("evidence.exempt", words=", ".join(taken_out), seen=seen.evidence)
    return profile._replace(named={content: seen._replace(evidence=said), **profile.named})


def _label_profile(label: LabelFood, words: AllergenVocabulary, faults: Faults) -> AllergenProfile:
    """What the label says of allergens; an allergen it does not speak of is ``free`` only of a statement read.

    Without an ingredient statement, and with one that could not be read, everything not declared is unknown.
    """
    named: dict[str, Containment] = {}

    def note(allergen: str, level: Level, basis: Basis, evidence: Message) -> None:
        seen = named.get(allergen)
        told = Containment(level, basis, evidence)
        if seen is None:
            named[allergen] = told
            return
        graver = worse(seen, told)
        # "Contains tree nuts (almonds). May contain other tree nuts": the warning is of those it does not name.
        if graver.level == "contains" and "may_contain" in (seen.level, level):
            graver = graver._replace(warned=True)
        named[allergen] = graver

    for place, declared in enumerate(label.allergens):
        with faults.at("allergens", place, "allergen"):
            for allergen in resolve(words, declared.allergen):
                note(allergen, declared.level, "label_statement", message("evidence.declared", level=declared.level))
    reading: LabelReading | None = None
    law: frozenset[str] = frozenset()
    with faults.at():
        law = must_name(label.label_law)
    if label.ingredients or label.contains or label.may_contain:
        reading = read_label(label_words(), label.ingredients, label.contains, label.may_contain, law)
        for evidence in reading.evidence:
            level: Level = "unknown" if evidence.tier == "check_label" else evidence.tier
            said = message("evidence.label-words", words=evidence.words, reason=evidence.reason)
            note(evidence.allergen, level, "label_statement", said)
    lists_several = bool(label.ingredients) and not _BETWEEN_INGREDIENTS.isdisjoint(label.ingredients or "")
    for evidence in read_label(label_words(), label.name).evidence:
        if evidence.tier != "contains":
            # "Pesto" over a list of what is in it is answered by the list, over "rice" it is not.
            if not lists_several and evidence.allergen not in named:
                in_name = message("evidence.in-name", words=evidence.words)
                named[evidence.allergen] = Containment("unknown", "name", in_name)
            continue
        seen = named.get(evidence.allergen)
        if seen is None or seen.level == "free":  # the name says it and the rest of the label does not
            level = "unknown" if label.ingredients or seen is not None else "contains"
            named[evidence.allergen] = Containment(level, "name", message("evidence.in-name", words=evidence.words))
    for claim in label.claims:
        allergen, said = CLEARED_BY[claim]
        named[allergen] = Containment("free", "label_statement", said)
    others = UNKNOWN
    if reading is not None and reading.readable:
        others = Containment("free", "label_statement", message("evidence.not-in-ingredients"))
    not_read = None if reading is None else reading.not_read
    if not_read is not None:
        others = Containment("unknown", "label_statement", not_read)
    return AllergenProfile(named, others, not_read=not_read)
