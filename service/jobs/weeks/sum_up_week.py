"""Sum up one child's week of lunches: each day, findings over the week, variety, cost, changes, and the trend.

The reply is a plain dictionary (published shape: service/api/weeks/replies.py). The order of the days and of the items
of a day does not matter.
"""

from typing import Any

from service.domain.weeks.judging import FrequencyRules, JudgedWeek, TargetRules, judge_week
from service.jobs.weeks.changes import NextWeek, next_week_of, week_changes
from service.jobs.weeks.dangers import danger_changes
from service.jobs.weeks.frequency_changes import frequency_changes
from service.jobs.weeks.reply import Reply, week_reply
from service.jobs.weeks.requests import WeekRequest
from service.jobs.weeks.resolve import NOTHING_SINCE, ResolvedWeek, SinceLogged, packed_week, resolve_week

OPEN_OUTCOMES = ("avoid", "may_contain", "check_label", "label_not_seen")


def sum_up_week(asked: WeekRequest, since: SinceLogged = NOTHING_SINCE) -> Reply:
    """Sum up a week; ``since``: what is known of stored lunches beside the request.

    Raises ``LunchError`` (``ManyFaults`` for several) for anything that does not fit; nothing is summed up in part.
    """
    made = resolve_week(asked, since)
    references = [one.target for one in made.references]
    judged = judge_week(
        made.weeks,
        made.rules,
        references,
        made.prices,
        made.with_credits,
        packed_week(made, asked.regions),
        made.yardsticks,
    )
    return week_reply(asked, made, judged, _changes(asked, made, judged))


def _changes(asked: WeekRequest, made: ResolvedWeek, judged: JudgedWeek) -> list[dict[str, Any]]:
    """What to change next week: first what must not be packed, then what puts right a rule over the week."""
    if not asked.max_changes:
        return []
    rules = made.rules[-1]
    make = next_week_of(asked, made, rules.table if isinstance(rules, TargetRules) else None)
    first = danger_changes(make)[: asked.max_changes]
    gone = [place for row in first for place in row["places"]]
    then = [row for row in _for_rules(make, made, judged) if not any(place in gone for place in row["places"])]
    return first + then[: asked.max_changes - len(first)]


def _for_rules(make: NextWeek, made: ResolvedWeek, judged: JudgedWeek) -> list[dict[str, Any]]:
    """Changes that put right a rule over the week; looked for only where one is not kept."""
    if not judged.is_open():
        return []
    rules = made.rules[-1]
    if isinstance(rules, TargetRules) and made.week.counted():
        return week_changes(make, rules.table, rules.lengths)
    if isinstance(rules, FrequencyRules) and made.frequencies is not None:
        return frequency_changes(make, rules, made.weeks, made.frequencies.group.id, judged.frequencies)
    return []


def week_in_order(reply: Reply) -> bool:
    """Whether every rule is met, nothing avoided or open was packed, and nothing is to be fixed in the handling."""
    judged = [*reply["findings"], *reply["frequencies"], *reply["product_rules"]]
    return (
        all(row["status"] in ("met", "not_applicable") for row in judged)
        and not any(row["do_not_pack"] or row["outcome"] in OPEN_OUTCOMES for row in reply["allergens"])
        and not reply["handling"]
    )
