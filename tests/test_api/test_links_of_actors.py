"""Acts that are offered are open to who is offered them; a link that is not open goes from its page.

That every link of every page leads on, for every kind of actor, is seen where all their pages are opened.
"""

from __future__ import annotations

from canary_company import open_canaries

from api.pages.open_links import drop_closed_links
from api.questions.framework._to_mend_acts import find_mend
from ontology.analysis.health.faults import Fault
from ontology.analysis.health.to_mend import RULE_NAMES


def test_every_act_on_what_is_to_mend_is_open_to_the_architect() -> None:
    client = open_canaries().accounts.sign_in("architect")
    records = {
        **{"competencies": "water-chemistry", "roles": "sampler", "courses": "mask-fit-test", "scales": "craft~1"},
        "requirements": "treatment-operator~water-chemistry",
    }
    faults = [
        *(Fault(rule, table, one, "", "") for rule in ("a finding", *RULE_NAMES) for table, one in records.items()),
        *(Fault("needed by none", "competencies", "a", "", "", bound_by=by) for by in ("obligations", "competencies")),
        Fault("a finding", "assessments", None, "", ""),
    ]
    addresses = {address for fault in faults if is_of(fault) for _, address in (find_mend(fault),)}
    assert len(addresses) > 12
    assert {address: status for address in addresses if (status := client.get(address).status_code) != 200} == {}


def is_of(fault: Fault) -> bool:
    """Whether a rule speaks of records of a table at all."""
    on_roles = ("roles alike", "too few", "too many")
    of_one = {"held by none": "competencies", "needed by none": "competencies", "course without purpose": "courses"}
    return (fault.rule not in on_roles or fault.table == "roles") and fault.table == of_one.get(fault.rule, fault.table)


def test_words_stay_where_a_link_goes_and_what_does_something_goes_with_its_link() -> None:
    page = '<p class="acts"><a class="act first" href="/new/roles">Add</a></p>\n<p>of <a href="/teams/a">A</a>.</p>'
    assert drop_closed_links(page, lambda _: False) == "<p>of A.</p>"
    assert drop_closed_links(page, lambda _: True) == page
    asked: list[str] = []
    drop_closed_links('<a href="/x?a=1&amp;b=2">x</a><a href="/x?a=1&amp;b=2">y</a>', lambda one: not asked.append(one))
    assert asked == ["/x?a=1&b=2"], "each address once, as it is asked"
