"""Check one lunch of one child: figures against the standard, allergens, forms, holding, and changes.

The reply is a plain dictionary (see service/api/lunch/replies.py for its published shape). The same lunch
with its items in another order gives the same reply.
"""

from datetime import date
from functools import lru_cache

from service.domain.allergens.screening import Avoidance, Screened, screen_food
from service.domain.allergens.vocabulary import resolve
from service.domain.cautions import CAUTIONS
from service.domain.errors import BadInput, LunchError, UnknownName, raise_all
from service.domain.foods.amounts import add_up
from service.domain.foods.food import Food
from service.domain.lunch.findings import Judgement, judge
from service.domain.lunch.handling import HandlingFinding, Holding, choking_finding, holding_findings
from service.domain.lunch.special_rules import milk_findings, product_findings
from service.domain.lunch.standards import AgeGroup, TargetTable, check_date, compile_targets
from service.domain.lunch.verdict import score_of, verdict_of
from service.jobs.lunch.items import PreparedItem, prepare
from service.jobs.lunch.reply import (
    Reply,
    energy_need_row,
    finding_row,
    handling_row,
    lunch_cautions,
    rule_row,
    screened_row,
    standard_row,
    summary,
    table_cautions,
    totals_rows,
)
from service.jobs.requests import Child, HoldingConditions, LunchCheckRequest, Region, Setting
from service.reference.allergens.vocabulary import vocabulary
from service.reference.lunch.handling import handling_rules
from service.reference.lunch.standards import standard

NOT_SAID = Holding()


def check_lunch(asked: LunchCheckRequest) -> Reply:
    """Check one lunch.

    Raises ``LunchError`` (``ManyFaults`` for several) for anything in the request that does not fit the
    reference data; nothing is checked in part.
    """
    table = target_table(asked.standard, asked.child, asked.on)
    items = prepare(asked.lunch.items, table.standard.crediting, "/lunch/items")
    avoidances = avoidances_of(asked.child, asked.setting)
    age_months = age_in_months(asked.child, table)
    reply, judgements = check_items(table, items, avoidances, asked.lunch.holding, age_months, asked.regions)
    reply["energy_need"] = energy_need_row(asked.child)
    if asked.child.nickname:
        reply["nickname"] = asked.child.nickname
    if asked.max_changes and reply["verdict"] != "pack":
        from service.jobs.lunch.changes import changes_for

        reply["changes"] = changes_for(asked, table, items, avoidances, judgements, age_months)
    return reply


def age_in_months(child: Child, table: TargetTable) -> int:
    """The child's age; the youngest of its age group where only that is given."""
    months = child.months()
    return table.age_group.from_age_months if months is None else months


def check_items(
    table: TargetTable,
    items: list[PreparedItem],
    avoidances: list[Avoidance],
    holding: HoldingConditions | None,
    age_months: int,
    regions: list[Region],
) -> tuple[Reply, list[Judgement]]:
    """The reply for items made ready, and the judgements it rests on; changes and energy need are left empty."""
    totals = add_up([item.vector for item in items])
    judgements = [judge(target, totals) for target in table.targets]
    foods = [item.food for item in items]
    rules = product_findings(table.product_rules, foods) + milk_findings(table.milk_rules, foods)
    screened = screen_items(items, avoidances)
    handling = handling_of(items, holding, age_months, regions)
    verdict = verdict_of(judgements, rules, [one for _item, one in screened], handling)
    reply: Reply = {
        "verdict": verdict,
        "score": None if verdict == "do_not_pack" else score_of(judgements),
        "summary": summary(verdict, judgements, rules, screened, handling),
        "standard": standard_row(table),
        "items": [item.shown for item in items],
        "findings": [finding_row(one, items) for one in judgements] + [rule_row(one) for one in rules],
        "totals": totals_rows(totals, bool(table.standard.crediting)),
        "allergens": [screened_row(item.food, one) for item, one in screened],
        "handling": [handling_row(one) for one in handling],
        "energy_need": None,
        "changes": [],
        "cautions": [*CAUTIONS, *table_cautions(table), *lunch_cautions(table, rules, handling, items)],
    }
    return reply, judgements


@lru_cache(maxsize=256)
def _compiled(standard_id: str, group_id: str, on: date) -> TargetTable:
    known = standard(standard_id)
    return compile_targets(known, known.group(group_id), on)


def target_table(standard_id: str, child: Child, on: date) -> TargetTable:
    """The compiled targets for a child on a day; the age group named, or the one its age falls in."""
    known = standard(standard_id)
    check_date(known, on)
    return _compiled(standard_id, age_group_of(standard_id, child).id, on)


def age_group_of(standard_id: str, child: Child) -> AgeGroup:
    """The age group of a child in a standard."""
    known = standard(standard_id)
    if child.age_group is not None:
        return known.group(child.age_group)
    months = child.months()
    if months is None:
        groups = ", ".join(group.id for group in known.age_groups)
        raise BadInput(
            pointer="/child",
            value="no age",
            problem="does not say how old the child is",
            remedy=f"Give age_months, age_years, or age_group (one of: {groups}).",
        )
    return known.group_of_age(months, "/child/age_months" if child.age_months is not None else "/child/age_years")


@lru_cache(maxsize=1024)
def _meant(name: str) -> tuple[str, ...]:
    """The allergen ids a name means."""
    return resolve(vocabulary(), name)


def avoidances_of(child: Child, setting: Setting) -> list[Avoidance]:
    """What must be kept away: the child's allergens and the setting's bans, names resolved."""
    faults: list[LunchError] = []
    found: dict[tuple[str, str], Avoidance] = {}
    for place, avoided in enumerate(child.avoids):
        try:
            for allergen in _meant(avoided.allergen):
                key = (allergen, "child")
                if key not in found or avoided.threshold == "may_contain":
                    found[key] = Avoidance(allergen, avoided.threshold, "child")
        except LunchError as fault:
            faults.append(fault.under(f"/child/avoids/{place}"))
    for place, banned in enumerate(setting.bans):
        try:
            for allergen in _meant(banned):
                found[(allergen, "setting")] = Avoidance(allergen, setting.ban_threshold, "setting")
        except UnknownName as fault:
            fault.pointer = ""
            faults.append(fault.under(f"/setting/bans/{place}"))
    raise_all(faults)
    return [found[key] for key in sorted(found)]


def screen_items(items: list[PreparedItem], avoidances: list[Avoidance]) -> list[tuple[PreparedItem, Screened]]:
    """Every item against every avoidance, in order."""
    words = vocabulary()
    return [(item, screen_food(words, item.food, avoidance)) for item in items for avoidance in avoidances]


def _choking(food: Food, form: str | None, age_months: int, regions: tuple[Region, ...]) -> HandlingFinding | None:
    return choking_finding(handling_rules(), food, form, age_months, regions)


_remembered_choking = lru_cache(maxsize=4096)(_choking)


def handling_of(
    items: list[PreparedItem], holding: HoldingConditions | None, age_months: int, regions: list[Region]
) -> list[HandlingFinding]:
    """Choking forms first, then holding."""
    rules = handling_rules()
    found = []
    where = tuple(regions)
    for item in items:
        look = _choking if item.food.kind == "label" else _remembered_choking
        finding = look(item.food, item.form, age_months, where)
        if finding is not None:
            found.append(finding)
    kept = NOT_SAID
    if holding is not None:
        kept = Holding(
            holding.insulated,
            holding.cold_sources,
            holding.minutes_until_eaten,
            holding.ambient_c,
            holding.flask_preheated,
            holding.flask_filled_at_c,
        )
    found += holding_findings(rules, [(item.food, item.held) for item in items], kept, regions)
    return found
