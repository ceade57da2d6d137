"""Choking rules and holding limits from reference_data/handling."""

from functools import lru_cache

from service.domain.lunch.handling import ChokingLimit, ChokingRule, HandlingRules, HoldingLimit
from service.reference.files import data_path, read_toml
from service.reference.lunch.handling_models import ChokingFile, HoldingFile, StorageClassRow, StorageFile


@lru_cache(maxsize=1)
def handling_rules() -> HandlingRules:
    """All rules on forms and holding, read once."""
    choking = read_toml(data_path("handling/choking.toml"), ChokingFile)
    holding = read_toml(data_path("handling/holding.toml"), HoldingFile)
    return HandlingRules(
        choking={
            rule.id: ChokingRule(
                id=rule.id,
                foods=rule.foods,
                risky_forms=frozenset(rule.risky_forms),
                allowed_forms=frozenset(rule.allowed_forms),
                prepare=rule.prepare,
                limits=tuple(
                    ChokingLimit(
                        limit.region,
                        limit.below_age_months,
                        limit.never,
                        limit.source,
                        limit.status,
                        None if limit.allowed_forms is None else frozenset(limit.allowed_forms),
                    )
                    for limit in rule.limit
                ),
            )
            for rule in choking.rule
        },
        holding={
            limit.id: HoldingLimit(
                limit.id, limit.region, float(limit.value), limit.unit, limit.sentence, limit.source, limit.status
            )
            for limit in holding.limit
        },
    )


@lru_cache(maxsize=1)
def storage_file() -> StorageFile:
    """Storage times, what freezes poorly, and what keeps cut fruit from browning."""
    return read_toml(data_path("handling/storage.toml"), StorageFile)


@lru_cache(maxsize=1)
def storage_classes() -> dict[str, StorageClassRow]:
    """Storage class by id."""
    return {row.id: row for row in storage_file().storage_class}
