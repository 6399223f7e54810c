"""Random small companies in which people have seats in sessions. Nothing here computes an answer."""

from __future__ import annotations

import copy
import random
from datetime import timedelta
from functools import cache

from agreeing_companies import Company
from drawn_companies import Rows, draw_rows
from small_company import ON


def draw_booked_rows(seed: int) -> Rows:
    """Return the rows of `draw_rows` with sessions around the day asked about and bookings of every state."""
    rng = random.Random(f"booked {seed}")
    rows = copy.deepcopy(draw_rows(seed))
    for course in rows["courses"]:
        for n in range(rng.choice([0, 1, 1, 2])):
            first = ON + timedelta(rng.choice([-10, -1, 0, 3, 12, 20, 45, 90]))
            state = rng.choice(["planned", "planned", "confirmed", "confirmed", "cancelled"])
            rows["sessions"].append(
                {
                    "id": f"s-{course['id']}-{n}",
                    "course": course["id"],
                    "from_date": first,
                    "to_date": first + timedelta(rng.choice([0, 0, 1, 4, 11])),
                    "state": state,
                }
            )
    states = ["booked"] * 6 + ["asked", "waiting", "attended", "missed", "cancelled"]
    for session in rows["sessions"]:
        for person in rows["people"]:
            if rng.random() < 0.35:
                rows["bookings"].append({"session": session["id"], "person": person["id"], "state": rng.choice(states)})
    return rows


@cache
def get_booked_company(seed: int) -> Company:
    """Return the company of a seed, made once."""
    return Company(draw_booked_rows(seed))
