"""The choking rule that a label food or a recipe names for its pieces."""

from service.domain.errors import UnknownName
from service.domain.foods.amounts import near_names
from service.domain.messages import message
from service.reference.lunch.handling import handling_rules

NO_RULE = "none"
"""What a caller gives for a food of whose pieces no choking rule speaks."""


def check_choking_rule(rule_id: str) -> None:
    """``UnknownName`` with near names for a rule that is not known; empty stands for not said."""
    known = handling_rules().choking
    if rule_id and rule_id != NO_RULE and rule_id not in known:
        raise UnknownName(
            value=rule_id,
            kind=message("kind.choking-rule"),
            near=near_names(rule_id, known),
            known=message("help.choking-rules", names=list(known), none=NO_RULE),
        )
