"""With a household's key its own foods are among the candidates and its region says whose cups are meant; nothing is stored."""

from tests.api.household.homes import Home

ADDRESS = "/v1/recipe-readings"


def test_own_foods_come_in_and_the_region_says_whose_cups(home: Home) -> None:
    own = {"name": "crunchy seed mix", "serving": {"name": "portion", "grams": 30}, "facts": {"energy_kcal": 160}}
    food = home.kept("/v1/foods", own)
    asked = {"text": "60 g crunchy seed mix\n1 cup whole milk", "name": "bowl", "portions": 2}
    before = home.ask("POST", ADDRESS, asked).json()
    assert before["lines"][0]["food"] == food
    assert before["lines"][1]["state"] == "ask"
    assert home.ask("PATCH", "/v1/household", {"regions": ["US"]}).status_code == 200
    after = home.ask("POST", ADDRESS, asked).json()
    assert after["country"] == "US"
    assert after["complete"]
    home.kept("/v1/recipes", after["dish"])


def test_a_food_of_another_household_is_not_there(home: Home, neighbours: Home) -> None:
    own = {"name": "crunchy seed mix", "serving": {"name": "portion", "grams": 30}, "facts": {"energy_kcal": 160}}
    food = neighbours.kept("/v1/foods", own)
    answer = home.ask("POST", ADDRESS, {"text": "60 g seeds", "answers": [{"line": 0, "food": food}]})
    assert answer.status_code == 404
    assert answer.json()["errors"][0]["pointer"] == "#/answers/0/food"
    assert home.ask("GET", "/v1/recipes").json()["items"] == []
