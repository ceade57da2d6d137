"""Choking rules and holding limits from reference_data/handling."""

from collections.abc import Iterator, Sequence
from functools import lru_cache

from service.domain.errors import ReferenceFault, raise_all
from service.domain.lunch.handling import HOLDING_ROLES, ChokingLimit, ChokingRule, HandlingRules, HoldingLimit
from service.reference.files import data_path, read_toml
from service.reference.lunch.handling_models import ChokingFile, HoldingFile, StorageClassRow, StorageFile


@lru_cache(maxsize=1)
def handling_rules() -> HandlingRules:
    """All rules on forms and holding, read once."""
    choking = read_toml(data_path("handling/choking.toml"), ChokingFile)
    holding = read_toml(data_path("handling/holding.toml"), HoldingFile)
    faults = [*_choking_faults(choking), *_holding_faults(holding, [region.id for region in choking.region])]
    raise_all(faults)
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
                limit.id,
                limit.region,
                float(limit.value),
                limit.unit,
                limit.sentence,
                limit.source,
                limit.status,
                limit.role,
            )
            for limit in holding.limit
        },
        forms={form.id: form.words for form in choking.form},
        regions=tuple(region.id for region in choking.region),
    )


def _choking_faults(file: ChokingFile) -> Iterator[ReferenceFault]:
    """Forms and regions that a choking rule names and the file does not list."""
    forms, regions = [form.id for form in file.form], [region.id for region in file.region]
    for place, rule in enumerate(file.rule):
        where = f"choking.toml#/rule/{place}"
        named = {
            *rule.risky_forms,
            *rule.allowed_forms,
            *(form for one in rule.limit for form in one.allowed_forms or ()),
        }
        for form in sorted(named - set(forms)):
            yield _not_listed(where, form, "form", forms)
        for limit in rule.limit:
            if limit.region not in regions:
                yield _not_listed(f"{where}/limit", limit.region, "region", regions)


def _holding_faults(file: HoldingFile, regions: Sequence[str]) -> Iterator[ReferenceFault]:
    """Regions that are not listed, and parts in judging a lunch that no row plays."""
    for place, limit in enumerate(file.limit):
        if limit.region not in regions:
            yield _not_listed(f"holding.toml#/limit/{place}/region", limit.region, "region", regions)
    for role in HOLDING_ROLES:
        if all(limit.role != role for limit in file.limit):
            yield ReferenceFault(
                pointer="holding.toml#/limit",
                value=role,
                problem="is the role of no row",
                remedy="Give one row this role.",
            )


def _not_listed(where: str, value: str, kind: str, known: Sequence[str]) -> ReferenceFault:
    return ReferenceFault(
        pointer=where,
        value=value,
        problem=f"is not a listed {kind}",
        remedy=f"Give one of {', '.join(known)}, or add it as a [[{kind}]] in choking.toml.",
    )


@lru_cache(maxsize=1)
def storage_file() -> StorageFile:
    """Storage times, what freezes poorly, and what keeps cut fruit from browning."""
    return read_toml(data_path("handling/storage.toml"), StorageFile)


@lru_cache(maxsize=1)
def storage_classes() -> dict[str, StorageClassRow]:
    """Storage class by id."""
    return {row.id: row for row in storage_file().storage_class}
