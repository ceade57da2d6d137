"""The tables of the index of branded foods: one SQLite file, written once by a build and then only read."""

from typing import Final

VERSION: Final = 1
"""Of the tables below; an index of another version has to be built again."""

TABLES: Final = """
CREATE TABLE about (name TEXT PRIMARY KEY, value TEXT NOT NULL) WITHOUT ROWID;
CREATE TABLE foods (
    id INTEGER PRIMARY KEY,
    gtin INTEGER NOT NULL,
    fdc_id INTEGER NOT NULL,
    description TEXT NOT NULL,
    brand_owner TEXT NOT NULL,
    brand_name TEXT NOT NULL,
    category TEXT NOT NULL,
    serving_amount REAL,
    serving_unit TEXT,
    household_serving TEXT NOT NULL,
    ingredients TEXT,
    modified TEXT,
    available TEXT,
    published TEXT,
    market TEXT NOT NULL,
    discontinued TEXT,
    values_fdc_id INTEGER,
    values_basis TEXT,
    values_date TEXT,
    amounts BLOB NOT NULL
);
CREATE VIRTUAL TABLE words USING fts5(
    description, brand, content='', detail=column, columnsize=0, prefix='3 4 5', tokenize='unicode61 remove_diacritics 2'
);
CREATE TABLE ranked (place INTEGER PRIMARY KEY, food INTEGER NOT NULL);
CREATE TABLE vocabulary (word TEXT PRIMARY KEY, foods INTEGER NOT NULL) WITHOUT ROWID;
"""
"""``foods``: a row a code, the newest version; days as YYYY-MM-DD. ``amounts``: pairs of a nutrient's id and its amount (``AMOUNT``),
for 100 of ``values_basis`` (g, ml, or NULL where the entry does not say which). ``words``: its row numbers are the places of ``ranked``, where foods with
short descriptions come first. ``vocabulary``: each word of the descriptions and brands, and in how many foods it stands."""

INDEXES: Final = "CREATE UNIQUE INDEX foods_by_gtin ON foods (gtin);"

AMOUNT: Final = "<Hd"
"""One pair of ``amounts``, for ``struct``: the nutrient's id there, 2 bytes, and the amount, 8 bytes."""
