"""Makes invented archives in the format of FoodData Central's CSV download of branded foods: every row is made up here.

The names of the columns are those of its field descriptions (sources.toml, ``fdc-field-descriptions``).
"""

import csv
import io
import zipfile
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

FOLDER = "FoodData_Central_branded_food_csv_2026-04-30/"
BRANDED = [
    "fdc_id",
    "brand_owner",
    "brand_name",
    "subbrand_name",
    "gtin_upc",
    "ingredients",
    "not_a_significant_source_of",
    "serving_size",
    "serving_size_unit",
    "household_serving_fulltext",
    "branded_food_category",
    "data_source",
    "package_weight",
    "modified_date",
    "available_date",
    "market_country",
    "discontinued_date",
    "preparation_state_code",
    "trade_channel",
    "short_description",
    "material_code",
]
FOOD = ["fdc_id", "data_type", "description", "food_category_id", "publication_date"]
FOOD_NUTRIENT = [
    "id",
    "fdc_id",
    "nutrient_id",
    "amount",
    "data_points",
    "derivation_id",
    "min",
    "max",
    "median",
    "footnote",
    "min_year_acquired",
    "loq",
    "percent_daily_value",
]
NUTRIENT = ["id", "name", "unit_name", "nutrient_nbr", "rank"]
UNITS = {
    1003: ("Protein", "G", "203"),
    1004: ("Total lipid (fat)", "G", "204"),
    1005: ("Carbohydrate, by difference", "G", "205"),
    1008: ("Energy", "KCAL", "208"),
    1062: ("Energy", "kJ", "268"),
    1079: ("Fiber, total dietary", "G", "291"),
    1087: ("Calcium, Ca", "MG", "301"),
    1089: ("Iron, Fe", "MG", "303"),
    1092: ("Potassium, K", "MG", "306"),
    1093: ("Sodium, Na", "MG", "307"),
    1104: ("Vitamin A, IU", "IU", "318"),
    1110: ("Vitamin D (D2 + D3), International Units", "IU", "324"),
    1114: ("Vitamin D (D2 + D3)", "UG", "328"),
    1162: ("Vitamin C, total ascorbic acid", "MG", "401"),
    1235: ("Sugars, added", "G", "539"),
    1253: ("Cholesterol", "MG", "601"),
    1257: ("Fatty acids, total trans", "G", "605"),
    1258: ("Fatty acids, total saturated", "G", "606"),
    2000: ("Total Sugars", "G", "269"),
}
OATS: Mapping[int, float] = {1008: 380.0, 1003: 12.0, 1004: 7.0, 1005: 66.0, 1093: 10.0}
"""Values that go together: 12 × 4 + 7 × 9 + 66 × 4 = 375 kcal."""


@dataclass(frozen=True)
class Entry:
    """One version of the entry of a code; all of it is invented. ``amounts``: by the id of a nutrient, as text or number."""

    fdc_id: int
    gtin: str
    modified: str = "2024-05-01"
    available: str = "2024-04-01"
    description: str = "OAT BISCUITS"
    owner: str = "Invented Bakers Ltd."
    brand: str = "MADE UP"
    ingredients: str = "OATS, SUGAR, PALM OIL, SALT, BUTTER (MILK)."
    serving: str = "30.0"
    unit: str = "g"
    published: str = "2024-06-13"
    discontinued: str = ""
    amounts: Mapping[int, object] = field(default_factory=lambda: OATS)


def files(entries: Iterable[Entry]) -> dict[str, str]:
    """The four files of an archive by their names, every value in quotation marks as in the real ones."""
    entries = list(entries)
    branded = [
        {
            "fdc_id": one.fdc_id,
            "brand_owner": one.owner,
            "brand_name": one.brand,
            "gtin_upc": one.gtin,
            "ingredients": one.ingredients,
            "serving_size": one.serving,
            "serving_size_unit": one.unit,
            "household_serving_fulltext": "2 biscuits",
            "branded_food_category": "Cookies & Biscuits",
            "data_source": "LI",
            "modified_date": one.modified,
            "available_date": one.available,
            "market_country": "United States",
            "discontinued_date": one.discontinued,
        }
        for one in entries
    ]
    foods = [
        {
            "fdc_id": one.fdc_id,
            "data_type": "branded_food",
            "description": one.description,
            "publication_date": one.published,
        }
        for one in entries
    ]
    foods.append(
        {
            "fdc_id": 171077,
            "data_type": "sr_legacy_food",
            "description": "Not a branded food",
            "publication_date": "2030-01-01",
        }
    )
    amounts = [
        {"fdc_id": one.fdc_id, "nutrient_id": nutrient, "amount": amount}
        for one in entries
        for nutrient, amount in one.amounts.items()
    ]
    nutrients = [
        {"id": number, "name": name, "unit_name": unit, "nutrient_nbr": number_there, "rank": 100}
        for number, (name, unit, number_there) in UNITS.items()
    ]
    return {
        "branded_food.csv": csv_text(BRANDED, branded),
        "food.csv": csv_text(FOOD, foods),
        "food_nutrient.csv": csv_text(FOOD_NUTRIENT, [{"id": place, **row} for place, row in enumerate(amounts, 1)]),
        "nutrient.csv": csv_text(NUTRIENT, nutrients),
    }


def csv_text(columns: list[str], rows: Iterable[Mapping[str, object]]) -> str:
    """A CSV file with a line of column names."""
    text = io.StringIO()
    writer = csv.DictWriter(text, columns, quoting=csv.QUOTE_ALL, lineterminator="\n")
    writer.writeheader()
    writer.writerows(rows)
    return text.getvalue()


def write_archive(
    path: Path, entries: Iterable[Entry], *, folder: str = FOLDER, changed: Mapping[str, str | None] | None = None
) -> Path:
    """Write an archive; ``changed``: other texts for some files, None to leave one out."""
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, text in {**files(entries), **(changed or {})}.items():
            if text is not None:
                packed.writestr(folder + name, text)
    return path
