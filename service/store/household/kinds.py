"""The kinds of records that a household stores."""

from service.store.household.records import Kind
from service.store.tables import (
    children,
    foods,
    lunches,
    offers,
    packets,
    plans,
    prices,
    recipes,
    school_days,
    stock,
    stock_events,
)

CHILD = Kind(children, "child", "nickname")
FOOD = Kind(foods, "food", "name")
PACKET = Kind(packets, "packet", "read_on")
RECIPE = Kind(recipes, "recipe", "name")
OFFER = Kind(offers, "offer", "name")
PRICE = Kind(prices, "price", "from")
LUNCH = Kind(lunches, "lunch", "date")
SCHOOL_DAY = Kind(school_days, "school day", "date")
STOCK = Kind(stock, "stock entry", "id")
STOCK_EVENT = Kind(stock_events, "stock event", "id")
PLAN = Kind(plans, "plan", "name")

KINDS = {
    str(kind.table.name): kind
    for kind in (CHILD, FOOD, PACKET, RECIPE, OFFER, PRICE, LUNCH, SCHOOL_DAY, STOCK, STOCK_EVENT, PLAN)
}
"""By the name of their collection, in the order in which one can belong to another."""
