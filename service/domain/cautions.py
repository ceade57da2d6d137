"""The cautions that go with every answer. Our own words."""

CAUTIONS: tuple[str, ...] = (
    "Read the label of every packaged food each time you buy it: recipes and makers' warnings change.",
    "Not declared is not the same as absent. This check reads what it was given and can miss something.",
    "This is no medical advice. For an allergy, coeliac disease or a special diet follow the child's clinician.",
    "Follow the school's or classroom's own policy and the local food code; they go before anything said here.",
)


def status_cautions(from_memory: list[str], estimated: list[str]) -> list[str]:
    """Tell which figures used were given from memory, and which were estimated."""
    told = []
    if from_memory:
        told.append("From memory, not read again at the source: " + "; ".join(from_memory) + ".")
    if estimated:
        told.append("Estimated, not measured: " + "; ".join(estimated) + ".")
    return told
