"""The index of branded foods: made from an archive of USDA FoodData Central, then read without the network."""
