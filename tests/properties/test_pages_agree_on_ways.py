"""What stands on the pages of ways, roles and plans is what the API answers; a card and the plan of its move agree."""

from __future__ import annotations

import re
from html import unescape
from typing import Any

import pytest
from agreeing_companies import Company, get_company, list_seeds

from api.desk.names import amount

SEEDS = list_seeds(4, 6)


def list_pairs(company: Company) -> list[tuple[str, str]]:
    """Return people, each with two roles they do not have."""
    pairs = []
    for person in sorted(company.people)[:3]:
        roles = [row["id"] for row in company.ask(f"people/{person}/reachable-roles")["roles"]]
        pairs += [(person, role) for role in roles[:2]]
    return pairs


def read_cards(page: str) -> list[dict[str, Any]]:
    cards = []
    for part in page.split('<section class="oneway')[1:]:
        numbers = re.findall(r"<dd><b>([^<]+)</b>", part)
        act = re.search(r'<a class="act[^"]*" href="([^"]+)">([^<]+)</a>', part)
        assert act is not None
        before = re.findall(r"<br>(?:([\d.,]+) h before|nothing)", part)
        cards.append({"sizes": numbers, "act": unescape(act[1]), "words": act[2], "first": before[0] if before else ""})
    return cards


@pytest.mark.parametrize("seed", SEEDS)
def test_cards_tell_the_routes_of_the_api_and_the_direct_one_last(seed: int) -> None:
    company = get_company(seed)
    for person, role in list_pairs(company):
        answer = company.ask(f"people/{person}/routes", to=role)
        cards = read_cards(company.read(f"people/{person}/routes", to=role))
        assert 1 <= len(cards) <= 3
        routes = [*filter(None, answer["best"].values()), *answer["trade_off"], *answer["other_routes"]]
        told = {(row["study_hours"], row["months"], len(row["roles"])) for row in (*routes, answer["direct"])}
        sizes = {(write(hours), write(months, 1), str(moves)) for hours, months, moves in told}
        assert all(tuple(card["sizes"]) in sizes for card in cards)
        direct = answer["direct"]
        assert cards[-1]["sizes"] == [write(direct["study_hours"]), write(direct["months"], 1), "1"]
        assert (cards[-1]["words"] == "See what stands in the way") == (not direct["within_reach"])


def write(number: float | None, decimals: int = 2) -> str:
    if number is None:
        return "–"
    return amount(number) if decimals == 2 else f"{number:,.1f}"


@pytest.mark.parametrize("seed", SEEDS)
def test_the_plan_that_a_card_leads_to_has_the_hours_of_its_first_move(seed: int) -> None:
    company = get_company(seed)
    for person, role in list_pairs(company):
        for card in read_cards(company.read(f"people/{person}/routes", to=role)):
            if card["words"] != "See the first plan with dates":
                continue
            page = company.read(card["act"].lstrip("/").split("?")[0], **read_query(card["act"]))
            told = re.search(r"([\d.,]+) h of study lead to the first day as", page)
            left_out = "Not planned: " in page
            if card["first"] and not left_out:
                assert told is not None, card
                assert told[1] == card["first"]


def read_query(address: str) -> dict[str, str]:
    from urllib.parse import parse_qsl, urlsplit

    return dict(parse_qsl(urlsplit(address).query))


@pytest.mark.parametrize("seed", SEEDS)
def test_the_roles_to_choose_from_are_those_within_reach(seed: int) -> None:
    company = get_company(seed)
    for person in sorted(company.people)[:3]:
        answer = company.ask(f"people/{person}/reachable-roles")["roles"]
        page = company.read(f"people/{person}/roles")
        shown = re.findall(r'scope="row"[^>]*><span><a href="/roles/([^"]+)"', page)
        assert shown == [row["id"] for row in answer if row["within_reach"]]
        hours = re.findall(r'data-column="Study before \(h\)"><span>([^<]+)<', page)
        assert hours == [write(row["study_hours"]) for row in answer if row["within_reach"]]
