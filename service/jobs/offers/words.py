"""What is said to a parent of an offer."""

NOTHING_TO_CHANGE = "There is nothing to change as long as no lunch can be taken."
NOT_LOOKED_FOR = "Changes are looked for only where all lunches are counted."
NOT_COUNTED = "Too many lunches to count: the share of right ones is estimated from a sample."


def first_sentence(who: str, total: int, right: int, wrong: int, unknown: int, most_often: str) -> str:
    """What a parent reads before anything else: how many of ``total`` lunches are right; where not, what fails most."""
    if not total:
        return f"There is no lunch that {who} can take from this offer."
    if total == 1:
        said = "keeps every rule checked" if right else "breaks a rule" if wrong else "may break a rule"
        return f"The only lunch {who} can take {said} for one lunch.{most_often}"
    if right == total:
        return f"Every one of the {total:,} lunches {who} can take keeps every rule checked for one lunch."
    open_ones = f" For {unknown:,} it cannot be told." if unknown else ""
    if not wrong:
        return f"{right:,} of the {total:,} lunches {who} can take keep the rules for one lunch.{open_ones}"
    number = "All of" if wrong == total else f"{wrong:,} of"
    return f"{number} the {total:,} lunches {who} can take break a rule for one lunch.{most_often}{open_ones}"


def most_often_words(label: str, broken: int, item: str, holding: int, *, short: bool, only_one: bool) -> str:
    """What fails most, and the item whose lunches fail so oftenest."""
    much = "too little" if short else "too much"
    if only_one:
        return f" It has {much} {label}."
    most = f"; {holding:,} of them hold {item}" if item else ""
    return f" Most often: {much} {label}, in {broken:,}{most}."


def estimate_words(drawn: int, right_share: float, low: float, high: float) -> str:
    """The share of right lunches in a sample."""
    return (
        f"An estimate, not a count: of {drawn:,} lunches drawn at random, {right_share:.1%} keep every rule "
        f"(95 % confidence: {low:.1%} to {high:.1%})."
    )


def reason_words(outcome: str, allergen: str, evidence: str, *, banned: bool) -> str:
    """Why an item is left out for an allergen."""
    said = {"avoid": "contains", "may_contain": "may contain"}.get(outcome, "read the label for")
    return f"{said} {allergen} ({'banned here' if banned else 'to be avoided'}): {evidence}"
