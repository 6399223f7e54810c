"""An answer as a page: the sheet in HTML, a form to ask differently, and the same as JSON and workbook.

The page at /X answers what /api/X answers, with the same parameters. In a file nothing can be asked on.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final

from api.access.rights import Kind
from api.desk.desk import Answer, Enquiry
from api.desk.names import Names
from api.desk.question import COMPANY, PERSON, PLACE, SESSION, TEAM, Question, Subject, SubjectKind
from api.desk.sheet import Next, Sheet
from api.pages.addresses import add_form, build_address, build_record_address
from api.pages.ask_form import Field, list_fields, tell_asked
from api.pages.figure import Figure
from api.pages.page import Link, Page, Way
from api.questions import load_question

__all__ = [
    "describe_plain_sheet",
    "describe_sheet",
    "find_way_of",
    "get_picture_address",
    "list_offered",
    "list_trail_of",
]

_FILES: Final = {"ics": "calendar file", "xlsx": "workbook"}
_LISTS: Final = {
    "teams": ("All teams", "/teams"),
    "people": ("People", "/people"),
    "roles": ("Roles", "/roles"),
    "courses": ("Courses", "/courses"),
    "sessions": ("Sessions", "/sessions"),
    "places": ("Places", "/places"),
    "drafts": ("Drafts", "/drafts"),
    "competencies": ("Competencies", "/competencies"),
}


def describe_sheet(answer: Answer, is_file: bool, figure: Figure | None = None) -> Page:
    """Return what stands on the page of an answer."""
    enquiry = answer.enquiry
    sheet = answer.build_sheet()
    kind = enquiry.subject.kind
    fields = list_fields(enquiry.question.asks[kind], enquiry.texts, enquiry.state.snapshot)
    values: dict[str, Any] = {
        "sheet": sheet,
        "asked": tell_asked(fields, enquiry.texts),
        "pairs": [(fact.name, fact.value) for fact in sheet.facts],
        "acts": [] if is_file else [(ask.words, _address_of(ask, kind)) for ask in sheet.next],
        "revision": enquiry.state.snapshot.revision,
        "is_linked": not is_file,
        "here": build_address(kind.value, enquiry.subject.id, enquiry.question.segment),
        "files": [] if is_file else list(_list_files(enquiry)),
        "carry_out": [] if is_file else list_offered(answer),
        "fields": () if is_file else fields,
        "figure": figure,
    }
    way = find_way_of(enquiry.subject, enquiry.question)
    trail = list_trail_of(enquiry.subject, answer.names)
    is_private = enquiry.question.is_about_people
    return Page("sheet.html", values, way=way, trail=trail, is_private=is_private)


def describe_plain_sheet(
    sheet: Sheet,
    here: str,
    revision: int,
    *,
    acts: Sequence[tuple[str, str]] = (),
    data: str = "",
    fields: Sequence[Field] = (),
    way: Way = "framework",
    trail: Sequence[Link] = (),
    is_private: bool = False,
) -> Page:
    """Return the page of a sheet that is no question's.

    Parameters
    ----------
    sheet : Sheet
    here, revision : its address, and the revision it is of
    acts : words and addresses of where to go from here
    data : where the same is had as JSON; "" where that is below /api
    fields : of the form that asks differently
    way, trail, is_private : as of a page
    """
    values = {
        "sheet": sheet,
        "pairs": [],
        "acts": list(acts),
        "revision": revision,
        "is_linked": True,
        "here": here,
        "files": [("JSON", data or f"/api{here}")],
        "fields": fields,
        "figure": None,
    }
    return Page("sheet.html", values, way=way, trail=tuple(trail), is_private=is_private)


def find_way_of(subject: Subject, question: Question) -> Way:
    """Return the way in that a question of a subject belongs to."""
    kind = subject.kind
    if kind is PERSON:
        return "stand"
    if kind in (TEAM, PLACE, SESSION):
        return "cover"
    return "cover" if kind is COMPANY and question.needs is Kind.COMPANY_COVER else "framework"


def list_trail_of(subject: Subject, names: Names) -> tuple[Link, ...]:
    """Return what stands above a page about a subject: the list of such, and the subject itself."""
    if subject.kind is COMPANY:
        return ()
    words, address = _LISTS[subject.kind.value]
    name = names.get(subject.kind.value, subject.id)
    return Link(words, address), Link(name, build_record_address(subject.kind.value, subject.id))


def list_offered(answer: Answer) -> list[dict[str, Any]]:
    """Return what an answer can be carried out as: its name, what stands on the button, what may be said with it."""
    enquiry = answer.enquiry
    return [
        {
            "name": name,
            "button": act.button,
            "about": act.about,
            "says": act.says,
            "revision": enquiry.state.snapshot.revision,
            "address": build_address(
                enquiry.subject.kind.value, enquiry.subject.id, enquiry.question.segment, enquiry.texts
            ),
        }
        for name, act in enquiry.question.acts.items()
        if act.is_offered(answer) and answer.may_carry_out(act)
    ]


def _list_files(enquiry: Enquiry) -> Iterator[tuple[str, str]]:
    """Yield the other forms of an answer: their words and addresses."""
    question, subject = enquiry.question, enquiry.subject
    here = "/api" + build_address(subject.kind.value, subject.id, question.segment, enquiry.texts)
    for form, words in _FILES.items():
        if form == "xlsx" or (form in question.files and not enquiry.is_in_figures):
            yield words, add_form(here, form)
    yield "JSON", here


def get_picture_address(enquiry: Enquiry) -> str:
    """Return the address of an answer's picture alone."""
    subject, segment = enquiry.subject, enquiry.question.segment
    # a page of rows is none of the picture, whose own pages are those of paper
    asked = {name: text for name, text in enquiry.texts.items() if name != "page"}
    return "/api" + build_address(subject.kind.value, subject.id, f"{segment}/diagram", asked)


def _address_of(ask: Next, kind: SubjectKind) -> str:
    """Return the page of what would be asked next."""
    question = load_question(ask.question)
    asked_of = kind if kind in question.asks else next(iter(question.asks))
    return build_address(asked_of.value, ask.subject, question.segment, ask.asked)
