"""One bad standard file per mistake, and the words its message must hold: file, place, value, remedy.

The standard is invented ("Examplia"); only its mistakes matter.
"""

from pathlib import Path

import pytest

from service.domain.errors import LunchError, ManyFaults, ReferenceFault
from service.domain.lunch.standards import Standard
from service.reference.files import read_toml
from service.reference.lunch.standard_models import StandardFile
from service.reference.lunch.standards import standard_from_file

ID = "xx-example-lunch"

GOOD = """
id = "xx-example-lunch"
jurisdiction = "XX"
title = "Lunch rules of Examplia"
citation = "Examplian School Act 1"
about = "An invented standard for tests."
crediting = ""
complete = "complete"
missing = []
checked_from = 2020-09-01

[[age_group]]
id = "younger"
title = "Younger pupils"
from_age_months = 60
below_age_months = 132
source = "xx-act section 1"
status = "read"

[[age_group]]
id = "older"
title = "Older pupils"
from_age_months = 132
below_age_months = 216
source = "xx-act section 1"
status = "read"

[[target]]
id = "energy"
age_group = "younger"
label = "energy"
measure = "energy_kcal"
unit = "kcal"
basis = "lunch"
at_least = 400.0
at_most = 600.0
from = 2020-09-01
until = 2024-08-31
source = "xx-act section 2"
status = "read"

[[target]]
id = "energy"
age_group = "younger"
label = "energy"
measure = "energy_kcal"
unit = "kcal"
basis = "lunch"
at_least = 450.0
at_most = 600.0
from = 2024-09-01
source = "xx-act section 2"
status = "read"

[[target]]
id = "energy"
age_group = "older"
label = "energy"
measure = "energy_kcal"
unit = "kcal"
basis = "lunch"
at_least = 600.0
from = 2020-09-01
source = "xx-act section 2"
status = "read"

[[scoring]]
target = "energy"
weight = 1.0
distance_percent = 50.0
status = "proposed"
source = "ours: no source"

[[product_rule]]
id = "yogurt-sugar"
label = "sugar in yogurt"
applies_to = ["yogurt"]
measure = "sugars_g"
at_most = 12.0
per_grams = 100.0
age_groups = ["younger"]
from = 2020-09-01
source = "xx-act section 3"
status = "read"
"""

MISTAKES = {
    "unknown key": (
        ('unit = "kcal"', 'unit = "kcal"\ncolour = "red"'),
        ["xx-example-lunch.toml", "target/0/colour", "red", "Extra inputs are not permitted"],
    ),
    "misspelt key": (
        ("at_most = 600.0", "at_mots = 600.0"),
        ["target/0/at_mots", "600", "Extra inputs are not permitted"],
    ),
    "key missing": (('citation = "Examplian School Act 1"\n', ""), ["citation", "Field required"]),
    "wrong id": (
        ('id = "xx-example-lunch"', 'id = "xx-exmaple-lunch"'),
        ["xx-exmaple-lunch", "is not the file's name", "xx-example-lunch"],
    ),
    "rows overlap in time": (
        ("until = 2024-08-31", "until = 2024-09-01"),
        ["energy for younger from 2024-09-01", "overlaps the row before it in time", "until"],
    ),
    "the earlier row has no end": (
        ("until = 2024-08-31\n", ""),
        ["energy for younger from 2024-09-01", "overlaps the row before it in time"],
    ),
    "a kind of rule that nothing judges": (("[[product_rule]]", "[[daily_rule]]"), ["daily_rule", "Extra inputs"]),
    "ends before it begins": (("until = 2024-08-31", "until = 2019-08-31"), ["target/0", "until lies before from"]),
    "lower bound above upper": (
        ("at_least = 400.0", "at_least = 700.0"),
        ["target/0", "the lower bound lies above the upper one"],
    ),
    "no bound": (
        ("at_least = 600.0\n", ""),
        ["target/2", "give a bound: at_least, above, at_most or below"],
    ),
    "two lower bounds": (
        ("at_least = 400.0", "at_least = 400.0\nabove = 399.0"),
        ["target/0", "give at_least or above, not both"],
    ),
    "two upper bounds": (
        ("at_most = 600.0", "at_most = 600.0\nbelow = 601.0"),
        ["target/0", "give at_most or below, not both"],
    ),
    "unknown measure": (
        ('measure = "energy_kcal"', 'measure = "energy_kj"'),
        ["target/0", "energy_kj", "is not a measure", "measures.py"],
    ),
    "no measure": (
        ('measure = "energy_kcal"\n', ""),
        ["target/0", "give exactly one of measure, share_of_energy, combination"],
    ),
    "a measure and a share": (
        ('measure = "energy_kcal"', 'measure = "energy_kcal"\nshare_of_energy = { fat_g = 9.0 }'),
        ["target/0", "give exactly one of measure, share_of_energy, combination"],
    ),
    "no scoring row": (
        ('target = "energy"', 'target = "enregy"'),
        ["target/0/id", "energy", "has no scoring row", "[[scoring]]"],
    ),
    "age groups overlap": (
        ("from_age_months = 132", "from_age_months = 131"),
        ["age_group", "older", "overlaps younger", "half-open"],
    ),
    "age group upside down": (
        ("below_age_months = 132", "below_age_months = 60"),
        ["age_group/0", "from_age_months must be less than below_age_months"],
    ),
    "unknown age group in a row": (
        ('age_group = "older"', 'age_group = "oldest"'),
        ["target/2/age_group", "oldest", "is not an age group of this file", "younger, older"],
    ),
    "unknown age group in a rule": (
        ('age_groups = ["younger"]', 'age_groups = ["youngest"]'),
        ["yogurt-sugar/age_groups", "youngest", "is not an age group of this file"],
    ),
    "a rule for nobody": (('age_groups = ["younger"]', "age_groups = []"), ["product_rule/0/age_groups", "at least 1"]),
    "unknown measure in a rule": (
        ('measure = "sugars_g"', 'measure = "sugar_g"'),
        ["product_rule", "sugar_g", "is not a measure"],
    ),
    "a bound that is not a number": (
        ("at_least = 400.0", 'at_least = "plenty"'),
        ["target/0/at_least", "plenty", "decimal"],
    ),
    "a bound that is not finite": (("at_least = 400.0", "at_least = nan"), ["target/0/at_least", "finite"]),
    "a day that is none": (("from = 2020-09-01", "from = 2020-09-31"), ["is not valid TOML"]),
    "a key twice": (('unit = "kcal"', 'unit = "kcal"\nunit = "kJ"'), ["is not valid TOML", "line"]),
    "unknown status": (('status = "read"', 'status = "guessed"'), ["age_group/0/status", "guessed", "second_hand"]),
    "unknown basis": (('basis = "lunch"', 'basis = "month"'), ["target/0/basis", "month", "week_mean"]),
    "no source": (('source = "xx-act section 2"', 'source = ""'), ["target/0/source", "at least 1 character"]),
    "weight of nothing": (("weight = 1.0", "weight = 0.0"), ["scoring/0/weight", "greater than 0"]),
    "a target scored twice": (
        (
            "[[scoring]]\n",
            '[[scoring]]\ntarget = "energy"\nweight = 1.0\ndistance_percent = 20.0\nstatus = "proposed"\nsource = "ours: no source"\n\n[[scoring]]\n',
        ),
        ["scoring", "energy", "appears twice"],
    ),
    "a score for nothing": (
        (
            "[[scoring]]\n",
            '[[scoring]]\ntarget = "iron"\nweight = 1.0\ndistance_percent = 20.0\nstatus = "proposed"\nsource = "ours: no source"\n\n[[scoring]]\n',
        ),
        ["scoring", "iron", "scores a target that the file does not have"],
    ),
    "an age group twice": (
        ('id = "older"', 'id = "younger"'),
        ["age_group", "younger", "appears twice"],
    ),
    "a unit that is not the measure's": (
        ('unit = "kcal"', 'unit = "kJ"'),
        ["target/0/unit", "kJ", "is not the unit of energy_kcal", "kcal"],
    ),
    "an id with a space": (
        ('id = "energy"', 'id = "all energy"'),
        ["target/0/id", "all energy", "pattern"],
    ),
}


def load(text: str, folder: Path) -> Standard:
    path = folder / f"{ID}.toml"
    path.write_text(text, encoding="utf-8")
    return standard_from_file(read_toml(path, StandardFile), ID)


def test_the_file_without_a_mistake_loads(tmp_path: Path) -> None:
    known = load(GOOD, tmp_path)
    assert [group.id for group in known.age_groups] == ["younger", "older"]
    assert [str(row.at_least) for row in known.rows] == ["400.0", "450.0", "600.0"]


@pytest.mark.parametrize("mistake", list(MISTAKES))
def test_a_mistake_is_told_with_its_place(mistake: str, tmp_path: Path) -> None:
    (right, wrong), words = MISTAKES[mistake]
    assert right in GOOD
    with pytest.raises(LunchError) as caught:
        load(GOOD.replace(right, wrong, 1), tmp_path)
    for one in caught.value.faults():
        assert isinstance(one, ReferenceFault)
        assert one.remedy
    message = str(caught.value)
    assert f"{ID}.toml" in message
    missing = [word for word in words if word not in message]
    assert not missing, message


def test_several_mistakes_are_told_together(tmp_path: Path) -> None:
    text = GOOD.replace('target = "energy"', 'target = "enregy"').replace('measure = "sugars_g"', 'measure = "sugar_g"')
    text = text.replace("from_age_months = 132", "from_age_months = 131")
    with pytest.raises(ManyFaults) as caught:
        load(text, tmp_path)
    message = str(caught.value)
    assert all(word in message for word in ("has no scoring row", "sugar_g", "overlaps younger"))
    assert len(caught.value.faults()) == message.count("\n") + 1
