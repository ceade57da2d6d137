"""Branded foods of USDA FoodData Central over the network, where a household has switched it on with its own key."""
