"""Learning paths: the cheapest courses, within a budget, with alternatives and what is said of them."""
