"""Lists of words that several fields share. Each is one schema of its own name in the API document.

Where a list may grow within /v1, its description says that it is open.
"""

from typing import Annotated, Literal

from pydantic import Field
from typing_extensions import TypeAliasType

Verdict = TypeAliasType(
    "Verdict",
    Annotated[
        Literal["do_not_pack", "check_label", "adjust", "pack"],
        Field(
            description="What to do with a lunch, gravest first: do_not_pack: something in it must not be packed; "
            "check_label: a label has to be read first; adjust: a target or rule is not met; pack: nothing found."
        ),
    ],
)
Outcome = TypeAliasType(
    "Outcome",
    Annotated[
        Literal["avoid", "may_contain", "check_label", "label_not_seen", "not_declared"],
        Field(
            description="What is known of an allergen, gravest first: avoid: it is in the food; may_contain: it may be; "
            "check_label: no label was read and it is often in such foods, or nothing is known: read the label first; "
            "label_not_seen: no label was read and it is not usual in such foods: read the packet once; "
            "not_declared: not declared, which is no promise."
        ),
    ],
)
Status = TypeAliasType(
    "Status",
    Annotated[
        Literal["met", "short", "over", "unknown", "not_applicable"],
        Field(
            description="How an amount stands to its bounds: within them (met), below, above, not known because a figure "
            "is missing, or the rule does not apply."
        ),
    ],
)
HandlingStatus = TypeAliasType(
    "HandlingStatus",
    Annotated[
        Literal["in_order", "fix", "do_not_pack", "unknown"],
        Field(
            description="How the form or holding of items stands to guidance: in_order, fix it before packing, "
            "do_not_pack, or unknown because something was not given."
        ),
    ],
)
SourceStatus = TypeAliasType(
    "SourceStatus",
    Annotated[
        Literal["read", "second_hand", "memory", "estimated", "proposed"],
        Field(
            description="How well a source is known: read: in the publication itself; second_hand: quoted elsewhere; "
            "memory: not looked up; estimated; proposed: a choice of this service's makers."
        ),
    ],
)
Level = TypeAliasType(
    "Level",
    Annotated[
        Literal["contains", "may_contain", "unknown", "label_not_seen", "free"],
        Field(
            description="What is known of an allergen in a food; label_not_seen: no label was read, and it is not usual "
            "in such foods."
        ),
    ],
)
DeclaredLevel = TypeAliasType(
    "DeclaredLevel",
    Annotated[Literal["contains", "may_contain", "free"], Field(description="What a label says of an allergen.")],
)
PacketLevel = TypeAliasType(
    "PacketLevel",
    Annotated[
        Literal["contains", "may_contain", "not_named"],
        Field(description="What a packet says of an allergen: contains, may_contain (a warning), or it is not_named."),
    ],
)
Gs1Level = TypeAliasType(
    "Gs1Level",
    Annotated[
        Literal["CONTAINS", "MAY_CONTAIN", "FREE_FROM"],
        Field(
            description="GS1 LevelOfContainmentCode: what a packet, or a record of its product, says of an allergen."
        ),
    ],
)
PacketClaim = TypeAliasType(
    "PacketClaim",
    Annotated[
        Literal["gluten_free", "lactose_free"],
        Field(
            description="A claim printed on a packet: gluten_free (at most 20 mg/kg; it clears gluten, never wheat), or "
            "lactose_free (it clears lactose, never milk)."
        ),
    ],
)
Threshold = TypeAliasType(
    "Threshold",
    Annotated[
        Literal["contains", "may_contain"],
        Field(
            description="From which level on a food must not be packed: contains, or may_contain (precautionary "
            "statements count too)."
        ),
    ],
)
AvoidedBy = TypeAliasType(
    "AvoidedBy",
    Annotated[
        Literal["child", "setting"],
        Field(description="Who avoids an allergen: the child, or the setting (its school or classroom bans it)."),
    ],
)
Basis = TypeAliasType(
    "Basis",
    Annotated[
        Literal["lunch", "school_day", "week_mean", "week_total", "product"],
        Field(
            description="What a bound holds for: one lunch, each school day's lunch, the mean of a week's lunches, "
            "their total, or one product."
        ),
    ],
)
Period = TypeAliasType(
    "Period",
    Annotated[
        Literal["day", "week", "three_weeks"], Field(description="The time over which a rule of frequency counts.")
    ],
)
FoodKind = TypeAliasType(
    "FoodKind",
    Annotated[
        Literal["lunch_food", "recipe", "generic_food", "own_food", "own_recipe"],
        Field(
            description="Where a food comes from: the lunch foods, recipes of the tables, the composition tables, or the "
            "household's own foods and recipes. Open: more values may be added."
        ),
    ],
)
StandardKind = TypeAliasType(
    "StandardKind",
    Annotated[
        Literal["targets", "frequencies"],
        Field(description="targets: amounts, for a lunch or a week; frequencies: portions and kinds, for a week only."),
    ],
)
Coverage = TypeAliasType(
    "Coverage",
    Annotated[
        Literal["complete", "partial"],
        Field(description="Whether all rules of the publication are covered; if not, `missing` lists what is not."),
    ],
)
Duty = TypeAliasType(
    "Duty",
    Annotated[
        Literal["mandatory", "recommended"],
        Field(description="Whether a jurisdiction requires an allergen to be declared, or recommends it."),
    ],
)
Sex = TypeAliasType(
    "Sex", Annotated[Literal["girl", "boy"], Field(description="Which equation of the energy need is used.")]
)
Activity = TypeAliasType(
    "Activity",
    Annotated[
        Literal["inactive", "low_active", "active", "very_active"],
        Field(description="How active a child is, in the categories of the energy need's equations."),
    ],
)
Held = TypeAliasType(
    "Held", Annotated[Literal["cold", "hot", "ambient"], Field(description="How an item is kept until it is eaten.")]
)
FactsPer = TypeAliasType(
    "FactsPer", Annotated[Literal["serving", "100g"], Field(description="What a label's figures hold for.")]
)
LunchKind = TypeAliasType(
    "LunchKind",
    Annotated[
        Literal["packed", "bought", "none"],
        Field(description="Whether a lunch was packed at home, bought at school, or there was none."),
    ],
)
PricedThing = TypeAliasType(
    "PricedThing",
    Annotated[
        Literal["food", "school_meal"],
        Field(description="What a price is for: a pack of a food, or the school's meal."),
    ],
)
MealPriceUsed = TypeAliasType(
    "MealPriceUsed",
    Annotated[
        Literal["menu", "child"],
        Field(description="Whose price of the school's meal was used: the menu's, or the child's own."),
    ],
)
Rights = TypeAliasType(
    "Rights",
    Annotated[
        Literal["keep", "pack", "read"],
        Field(
            description="What an access key may do. keep: everything; pack: see all, and log what is packed for the day; "
            "read: see only."
        ),
    ],
)
DeviceRights = TypeAliasType(
    "DeviceRights",
    Annotated[
        Literal["keep", "pack", "take"],
        Field(
            description="What a device may do. keep: everything; pack: see all, and log what is packed for the day; "
            "take: nothing but one child's taking."
        ),
    ],
)
Wish = TypeAliasType(
    "Wish",
    Annotated[
        Literal["cheapest", "most_variety", "least_to_buy", "least_to_make"],
        Field(
            description="What counts among offers that are right: the price; foods that were not set out lately; foods that "
            "are at hand; few dishes."
        ),
    ],
)
KnownTaste = TypeAliasType(
    "KnownTaste",
    Annotated[
        Literal["given", "learned", "equal"],
        Field(
            description="How it is known what a child likes: given: the request says; learned: from its logged lunches; equal: "
            "nothing is known, so every food counts the same."
        ),
    ],
)
Place = TypeAliasType(
    "Place",
    Annotated[Literal["freezer", "fridge", "cupboard"], Field(description="Where something is kept.")],
)
Freezes = TypeAliasType(
    "Freezes",
    Annotated[
        Literal["well", "fair", "poor", "no"],
        Field(description="How well a food freezes; no: it is better not frozen."),
    ],
)
StockEventKind = TypeAliasType(
    "StockEventKind",
    Annotated[
        Literal["made", "moved", "taken", "thrown", "counted"],
        Field(
            description="What happened: made: there is more of it; moved: to another place; taken: eaten or used; thrown: "
            "thrown away; counted: this many are there, whatever was noted before."
        ),
    ],
)
