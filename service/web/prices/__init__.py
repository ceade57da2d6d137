"""Prices: of packs of foods and of the school's meal, from a day on."""
