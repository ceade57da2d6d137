"""Branded foods of USDA FoodData Central over the internet, where a household has switched it on with its own key."""
