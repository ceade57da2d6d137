"""A prep sheet: batches with their ingredients in kitchen measures, the order to make them in, and where they go."""

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from typing import Any, NamedTuple

from service.domain.allergens.screening import MakingStep, making_order, screen_food
from service.domain.cautions import CAUTIONS
from service.domain.errors import Faults, at
from service.domain.foods.food import Food
from service.domain.lunch.handling import HoldingLimit
from service.domain.messages import Message, message
from service.jobs.allergens.reply import not_read_cautions
from service.jobs.foods.resolve import amount_of, food_of
from service.jobs.plan.kitchen.ingredients import Made, made_of
from service.jobs.plan.kitchen.resolve import Kitchen, eaters_at, resolve_kitchen, spoken_of
from service.jobs.plan.kitchen.words import kitchen_amount
from service.jobs.plan.prep.requests import Batch, PrepSheetRequest
from service.jobs.requests.foods import food_key
from service.reference.allergens.vocabulary import vocabulary
from service.reference.lunch.handling import handling_rules, storage_file
from service.reference.messages import listed_as, worded, worded_as
from service.reference.plan.cooling import cooling, is_cooked, keeping, reheating
from service.reference.plan.kitchen import browning

Reply = dict[str, Any]


class MadeBatch(NamedTuple):
    """A batch, resolved: the food, a portion in milligrams, and its ingredients."""

    asked: Batch
    food: Food
    portion_mg: int
    parts: list[Made]

    def classes(self) -> list[str]:
        """The storage classes of it and of what is in it."""
        return [self.food.handling.storage, *(one.food.handling.storage for one in self.parts)]


def prep_sheet(asked: PrepSheetRequest) -> Reply:
    """What to make, in which order, in what amounts; raises ``LunchError`` for what does not fit, all faults together.

    Ingredients are in their weight as put in. Order and cleanings: ``making_order``, by what the children who eat of a
    batch must avoid; what a batch is not known to be free of counts as on the board.
    """
    kitchen, batches = _resolved(asked)
    steps = _steps(kitchen, batches)
    return {
        "on": asked.on.isoformat(),
        **worded_as("title", message("prep.title", on=asked.on.isoformat())),
        "steps": [_step(number, one, batches, kitchen) for number, one in enumerate(steps, 1)],
        "batches": [_batch(place, one, kitchen, asked.regions) for place, one in enumerate(batches)],
        "dips": list(_dips(batches)),
        **worded_as("order_basis", message("making.order")),
        **listed_as("note", list(_notes(batches, kitchen))),
        **listed_as("caution", [*CAUTIONS, *not_read_cautions(one.food for one in batches)]),
    }


def _resolved(asked: PrepSheetRequest) -> tuple[Kitchen, list[MadeBatch]]:
    faults = Faults()
    kitchen: Kitchen | None = None
    with faults.at():
        kitchen = resolve_kitchen(asked)
    batches: list[MadeBatch] = []
    for place, one in enumerate(asked.batches if kitchen is not None else []):
        assert kitchen is not None  # noqa: S101 - nothing is looked at without it
        with faults.at("batches", place):
            with at("food"):
                food = food_of(one.food, kitchen.packets)
            portion_mg, _unit = amount_of(food, one.quantity, one.unit)
            amount = portion_mg * Fraction(one.portions)
            batches.append(MadeBatch(one, food, portion_mg, made_of(one.food, food, amount, kitchen.packets)))
    faults.raise_all()
    assert kitchen is not None  # noqa: S101 - its faults were raised
    return kitchen, batches


def _steps(kitchen: Kitchen, batches: Sequence[MadeBatch]) -> list[MakingStep]:
    """The order of making; who must not have a batch at all needs no cleaning before it."""
    names = {eater.name: place for place, eater in enumerate(kitchen.eaters)}
    eaters: list[Mapping[str, frozenset[int]]] = []
    for batch in batches:
        found: dict[str, frozenset[int]] = {}
        for eater in eaters_at(kitchen, batch.asked.eaters):
            if not any(screen_food(vocabulary(), batch.food, one).do_not_pack for one in eater.avoidances):
                for one in eater.avoidances:
                    found[one.allergen] = found.get(one.allergen, frozenset()) | {names[eater.name]}
        eaters.append(found)
    avoidances = [one for eater in kitchen.eaters for one in eater.avoidances]
    return making_order(vocabulary(), [one.food for one in batches], avoidances, eaters)


def _step(number: int, step: MakingStep, batches: Sequence[MadeBatch], kitchen: Kitchen) -> Reply:
    batch = batches[step.place]
    clean_for = [kitchen.eaters[place].name for place in step.clean_for]
    allergens = [vocabulary().allergens[one].name for one in step.clean_before]
    clean = None
    if step.clean_before and clean_for:
        clean = message("prep.clean-for", allergens=allergens, names=clean_for)
    elif step.clean_before:
        clean = message("prep.clean", allergens=allergens)
    return {
        "number": number,
        "batch": step.place,
        "batch_id": batch.asked.id,
        "clean_before": list(step.clean_before),
        "clean_for": clean_for,
        "handles": list(step.handles),
        **worded_as("clean", clean),
        **worded(message("prep.make", number=batch.asked.portions, name=batch.food.name)),
    }


def _batch(place: int, batch: MadeBatch, kitchen: Kitchen, regions: Sequence[str]) -> Reply:
    classes = batch.classes()
    cooked = is_cooked(classes) if batch.asked.cooked is None else batch.asked.cooked
    eaters = eaters_at(kitchen, batch.asked.eaters)
    spoken = list(spoken_of(batch.food, eaters))
    notes: list[Message] = []
    for said in spoken:
        if said.forbidden:
            notes.append(message("shopping.not-for", name=said.eater.name, allergens=list(said.forbidden)))
        notes += [
            message("shopping.read-packet", name=food.name, allergens=list(allergens), names=[said.eater.name])
            for food, allergens in said.to_read
        ]
    put_away = sum(one.portions for one in batch.asked.goes)
    places = list(dict.fromkeys(one.place for one in batch.asked.goes))
    return {
        "place": place,
        "id": batch.asked.id,
        "food": food_key(batch.asked.food) if isinstance(batch.asked.food, str) else batch.asked.food.id,
        "name": batch.food.name,
        "portions": batch.asked.portions,
        "portion_grams": batch.portion_mg / 1000,
        "made_grams": batch.portion_mg * batch.asked.portions / 1000,
        "ingredients": [_ingredient(one) for one in batch.parts],
        "goes": [
            {
                "place": one.place,
                "portions": one.portions,
                "container": one.container,
                **worded(_goes(one.place, one.portions, one.container)),
            }
            for one in batch.asked.goes
        ],
        "not_put_away": batch.asked.portions - put_away,
        "cooked": cooked,
        "cooling": _figures(cooling(classes, regions)) if cooked else [],
        "reheating": _figures(reheating(classes, regions)) if cooked else [],
        "keeping": _figures([figure for one in places for figure in keeping(one, regions)]),
        "not_for": [said.eater.name for said in spoken if said.forbidden],
        **listed_as("note", notes),
    }


def _goes(place: str, portions: float, container: str | None) -> Message:
    if container:
        return message("prep.goes-in", portions=portions, place=place, container=container)
    return message("prep.goes", portions=portions, place=place)


def _ingredient(one: Made) -> Reply:
    form = None if one.form is None else handling_rules().in_words(one.form)
    return {
        "food": one.sent if isinstance(one.sent, str) else one.sent.id,
        "name": one.food.name,
        "form": one.form,
        **worded_as("cut", None if form is None else message("prep.cut", form=form)),
        **kitchen_amount(one.food, one.amount_mg),
    }


def _figures(limits: Sequence[HoldingLimit]) -> list[Reply]:
    return [
        {
            "id": one.id,
            "region": one.region,
            "source": one.source,
            "source_status": one.status,
            **worded(message("prep.figure", said=one.sentence)),
        }
        for one in limits
    ]


def _dips(batches: Sequence[MadeBatch]) -> Iterator[Reply]:
    """Against browning, for each cut fruit in the batches: the treatments with their amounts, time and sources."""
    file = browning()
    names = [part.food.name for one in batches for part in one.parts if part.food.id in file.foods]
    if not names:
        return
    for row in storage_file().browning:
        if row.amount_per_litre is None:
            continue
        said = message(
            "prep.dip",
            names=list(dict.fromkeys(names)),
            amount=float(row.amount_per_litre),
            unit=row.unit,
            treatment=row.treatment,
            minutes=float(file.soak.minutes),
        )
        yield {
            "id": row.id,
            "foods": list(dict.fromkeys(names)),
            "amount_per_litre": float(row.amount_per_litre),
            "unit": row.unit,
            "minutes": float(file.soak.minutes),
            "source": row.source,
            "source_status": row.status,
            "minutes_source": file.soak.source,
            **worded(said),
        }


def _notes(batches: Sequence[MadeBatch], kitchen: Kitchen) -> Iterator[Message]:
    if any(part.food.id in browning().foods for one in batches for part in one.parts):
        yield message("prep.dip-basis")
    yield message("prep.amounts")
    left = [one.food.name for one in batches if one.asked.portions > sum(each.portions for each in one.asked.goes) > 0]
    if left:
        yield message("prep.not-put-away", names=left)
    if any(said.to_read for one in batches for said in spoken_of(one.food, eaters_at(kitchen, one.asked.eaters))):
        yield message("shopping.store-packets")
