"""What a household stores, by id, as the parts of a request that the id stands for."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from typing import Any, NamedTuple, TypeVar
from uuid import UUID

from service.domain.errors import BadInput, NotThere
from service.domain.messages import message
from service.jobs.household.requests import KeptChild
from service.jobs.household.settings import HouseholdSettings, settings_of
from service.jobs.household.stored.kept_prices import kept_prices
from service.jobs.requests.fields import is_kept_id
from service.jobs.requests.foods import LONGEST_HELD, LabelFood, Packet, Recipe, RecipeIngredient
from service.jobs.requests.lunches import HoldingConditions, LunchItem
from service.jobs.weeks.requests import MealPriceAsked, PriceAsked, WeekItem
from service.reference.allergens.vocabulary import vocabulary
from service.store.household.kinds import CHILD, FOOD, LUNCH, RECIPE
from service.store.household.lunches import bodies_before
from service.store.household.packets import bodies_of_packets
from service.store.household.records import Connection, Hold, Kind, Record, find

_Label = TypeVar("_Label", Packet, LabelFood)


class HowMade(NamedTuple):
    """What an own recipe says of itself: its storage class, how well it freezes, its hours of thawing; None where it does not.

    ``batch_fractions``: whether parts of a batch can be made; ``portions``: whole ones of a batch, None for what is no recipe.
    """

    keeps: str | None
    freezes: str | None
    thaw_hours: float | None
    batch_fractions: bool
    portions: int | None


class KeptThings:
    """Looks up what a household stores, each thing once; ``NotThere`` names the place of an id that is not here.

    For one transaction: what is changed in it afterwards is not seen.

    ``hold``: ``share`` where something is kept that names these things, so that nobody deletes them meanwhile.
    """

    def __init__(self, connection: Connection, household: UUID, hold: Hold = "") -> None:
        self._connection = connection
        self._household = household
        self._hold = hold
        self._foods: dict[tuple[str, bool], LabelFood | Recipe] = {}
        self._records: dict[tuple[str, str], Record | None] = {}
        self._packets: dict[tuple[date, date], list[Packet]] = {}
        self._settings: HouseholdSettings | None = None

    def know(self, kind: Kind, records: Iterable[Record]) -> None:
        """Records that were read already in this transaction: they are not read again."""
        self._records |= {(kind.noun, str(one.id)): one for one in records}

    def body(self, kind: Kind, kept_id: str, pointer: str) -> dict[str, Any]:
        """The body of one record."""
        record = self._find(kind, kept_id)
        if record is None:
            raise _not_there(kind.noun, kept_id, pointer)
        return record.body

    def child(self, kept_id: str, pointer: str) -> KeptChild:
        """A child."""
        return KeptChild.model_validate(self.body(CHILD, kept_id, pointer))

    def food(self, kept_id: str, pointer: str, *, recipes: bool = True) -> LabelFood | Recipe:
        """An own food, or (where ``recipes`` are wanted) an own recipe with its own foods resolved; with its id."""
        known = self._foods.get((kept_id, recipes))
        if known is None:
            read = self._read_food(kept_id, pointer, recipes)
            known = self._foods[kept_id, recipes] = read.model_copy(update={"id": kept_id})
        return known

    def packets(self, first: date, last: date) -> list[Packet]:
        """The packets that hold on any day from one to another, and those read since on the same foods that hold no longer."""
        if (first, last) not in self._packets:
            read = bodies_of_packets(self._connection, self._household, first - timedelta(days=LONGEST_HELD), last)
            packets = [self.with_label_law(Packet.model_validate(one)) for one in read]
            self._packets[first, last] = []
            held: set[str] = set()
            for one in packets:  # oldest first
                if one.read_on + timedelta(days=one.holds_for_days) >= first:
                    held.add(one.food)
                if one.food in held:
                    self._packets[first, last].append(one)
        return self._packets[first, last]

    def prices(self, first: date, last: date) -> list[PriceAsked]:
        """The prices of foods that hold on any day from one to another."""
        return kept_prices(self._connection, self._household, first, last).prices

    def meal_prices(self, first: date, last: date, children: Sequence[str]) -> list[MealPriceAsked]:
        """The prices of the school's meal that hold on any day from one to another, and those of these children alone, by their place."""
        return kept_prices(self._connection, self._household, first, last, children).school_meal

    def salts_cooking_water(self) -> bool | None:
        """Whether the household salts the water it cooks in; None where it has not said."""
        return self._of_household().salts_cooking_water

    def holding(self) -> HoldingConditions | None:
        """How the household usually keeps its lunches until they are eaten; None where it has not said."""
        return self._of_household().holding

    def regions(self) -> list[str] | None:
        """Whose guidance the household goes by; None where it has not chosen."""
        return self._of_household().regions

    def with_label_law(self, label: _Label) -> _Label:
        """A packet or an own food with the law that its label follows: that of the household's only region where none is said.

        What is sold in a country has to name what its law says, wherever it was made.
        """
        regions = self.regions() or ()
        if label.label_law is not None or len(regions) != 1 or regions[0] not in vocabulary().jurisdictions:
            return label
        return label.model_copy(update={"label_law": regions[0]})

    def how_made(self, kept_id: str) -> HowMade:
        """What an own recipe says of its batches and of how it keeps; nothing for anything else."""
        record = self._find(RECIPE, kept_id)
        said = {} if record is None else record.body
        return HowMade(
            said.get("keeps"),
            said.get("freezes"),
            said.get("thaw_hours"),
            bool(said.get("batch_fractions", False)),
            None if record is None else whole_portions(record.body),
        )

    def items(self, kept_id: str, pointer: str) -> tuple[list[LunchItem], HoldingConditions | None]:
        """The items of a stored lunch, and how it was kept; ``BadInput`` for a lunch that has no items."""
        body = self.body(LUNCH, kept_id, pointer)
        if not body["items"]:
            raise BadInput(
                pointer=pointer,
                value=kept_id,
                problem=message("fault.lunch-without-items"),
            )
        holding = body["holding"]
        return (
            [WeekItem.model_validate(item) for item in body["items"]],
            None if holding is None else HoldingConditions.model_validate(holding),
        )

    def lunches_before(self, child: str, day: date, most: int) -> list[dict[str, Any]]:
        """The last logged lunches of a child before a day, as they are stored, the latest first."""
        return bodies_before(self._connection, self._household, UUID(child), day, most)

    def _read_food(self, kept_id: str, pointer: str, recipes: bool) -> LabelFood | Recipe:
        food = self._find(FOOD, kept_id)
        if food is not None:
            return self.with_label_law(LabelFood.model_validate(food.body))
        recipe = self._find(RECIPE, kept_id) if recipes else None
        if recipe is None:
            raise _not_there("food or recipe" if recipes else "food", kept_id, pointer)
        dish = Recipe.model_validate({name: one for name, one in recipe.body.items() if name in Recipe.model_fields})
        whole = [
            self._ingredient(one, f"{pointer}/ingredients/{place}/food") for place, one in enumerate(dish.ingredients)
        ]
        return dish.model_copy(update={"ingredients": whole})

    def _ingredient(self, one: RecipeIngredient, pointer: str) -> RecipeIngredient:
        if not isinstance(one.food, str) or not is_kept_id(one.food):
            return one
        return one.model_copy(update={"food": self.food(one.food, pointer, recipes=False)})

    def _of_household(self) -> HouseholdSettings:
        if self._settings is None:
            self._settings = settings_of(self._connection, self._household)
        return self._settings

    def _find(self, kind: Kind, kept_id: str) -> Record | None:
        if not is_kept_id(kept_id):
            return None
        key = (kind.noun, kept_id)
        if key not in self._records:
            self._records[key] = find(self._connection, kind, self._household, UUID(kept_id), self._hold)
        return self._records[key]


def whole_portions(recipe: Mapping[str, Any]) -> int:
    """How many whole portions a batch of a stored recipe makes; one at least."""
    return max(1, int(recipe["portions"]))


def _not_there(noun: str, kept_id: str, pointer: str) -> NotThere:
    return NotThere(pointer=pointer, value=kept_id, problem=message("fault.not-here", noun=noun))
