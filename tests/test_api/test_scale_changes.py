"""The scale of a competency, and the ranks of a scale, changed in a draft: over REST and by form."""

from __future__ import annotations

from typing import Any

import pytest
from flask.testing import FlaskClient

from api.desk.scale_changes import ScaleChange, change_scale
from ontology.errors import InUseError
from ontology.live.live_graph import LiveGraph

DRAFT = {"id": "steps", "title": "Other steps"}
MAP = [{"from_rank": rank, "to_rank": to} for rank, to in enumerate((0, 1, 1, 1, 1), start=1)]
MOVE = {"competency": "valve", "scale": "unused", "map": MAP, "reason": "One step is enough"}


def send(writer: FlaskClient, **body: Any) -> Any:
    headers = {"If-Match": writer.get("/api/drafts/steps").headers["ETag"]}
    return writer.post("/api/drafts/steps/scale-changes", json=body, headers=headers)


def test_a_competency_moves_in_a_draft_and_all_recorded_levels_with_it(writer: FlaskClient, graph: LiveGraph) -> None:
    writer.post("/api/drafts", json=DRAFT)
    before = graph.get_snapshot()
    refused = send(writer, competency="valve", scale="unused")
    assert refused.status_code == 409
    assert "assessments/p2~valve~2026-01-10~assessor~~3" in refused.json["referrers"]
    told = send(writer, **MOVE)
    assert (told.status_code, told.json["number"], told.json["errors"]) == (200, 1, 0), told.json
    words = [row["words"] for row in writer.get("/api/drafts/steps/changes").json["rows"]]
    assert "full level of Valve work for Chief lowered from 3 to 1" in words
    last = writer.get("/api/drafts/steps/changes?page_size=5&page=3").json["rows"]
    assert "level 2 of scale craft now read as 1 on scale unused" in [row["words"] for row in last], last
    assert graph.get_snapshot() is before
    gap = writer.get("/api/people/p2/gap?role=operator&draft=steps").json
    (row,) = [row for row in gap["gaps"] if row["competency"] == "valve"]
    assert (row["level"], row["have"]) == (1, 1)
    effect = writer.get("/api/drafts/steps/effect")
    assert effect.status_code == 200
    assert "valve" in {one["competency"] for one in effect.json["levels"]}
    headers = {"If-Match": writer.get("/api/drafts/steps").headers["ETag"]}
    release = {"version": "2.0", "reason": "Fewer steps"}
    assert writer.post("/api/drafts/steps/publication", json=release, headers=headers).status_code == 200
    assert writer.get("/api/assessments/p2~valve~2026-01-10~assessor~~1").json["level"] == 1
    published = writer.get("/api/people/p2/gap?role=operator").json
    assert [row for row in published["gaps"] if row["competency"] == "valve"] == [row]


def test_whose_levels_are_recorded_is_told_of_who_may_be_seen(graph: LiveGraph) -> None:
    graph.drafts.start("steps", "Other steps", who="me")
    whole = graph.get_snapshot()
    seen = whole.with_tables({"assessments": {}})
    told = []
    for sight in (whole, seen):
        with pytest.raises(InUseError) as refused:
            change_scale(graph, sight, "steps", ScaleChange("unused", "valve"), who="me")
        told.append(refused.value)
    assert [name for name, _ in told[0].users].count("assessments") == 2
    assert {name for name, _ in told[1].users} == {name for name, _ in told[0].users} - {"assessments"}
    # how many there are is told all the same
    assert "4 more" in str(told[0])
    assert "4 more" in str(told[1])


@pytest.mark.parametrize(
    ("body", "pointer"),
    [
        ({"competency": "valve"}, "/scale"),
        (MOVE | {"map": [{"from_rank": 1, "to_rank": -1}]}, "/map/0/to_rank"),
        (MOVE | {"map": [*MAP, MAP[0]]}, "/map/5/from_rank"),
        (MOVE | {"levels": [{"rank": 1, "label": "One"}]}, "/levels"),
    ],
)
def test_a_wrong_change_is_refused_by_its_member(writer: FlaskClient, body: dict[str, Any], pointer: str) -> None:
    writer.post("/api/drafts", json=DRAFT)
    refused = send(writer, **body)
    assert (refused.status_code, refused.json["errors"][0]["pointer"]) == (422, pointer)
    for change in ({"scale": "nowhere"}, {"scale": "craft", "competency": "nothing"}):
        assert send(writer, **change).status_code == 422
    assert writer.get("/api/drafts/steps").json["number"] == 0


def test_ranks_of_a_scale_change_over_rest_and_are_taken_back(writer: FlaskClient, graph: LiveGraph) -> None:
    writer.post("/api/drafts", json=DRAFT)
    before = graph.get_snapshot()
    levels = [{"rank": rank, "label": f"Step {rank}"} for rank in (1, 2)]
    assert send(writer, scale="craft", levels=levels).status_code == 409
    ranks = [{"from_rank": rank, "to_rank": to} for rank, to in enumerate((1, 1, 2, 2, 2), start=1)]
    assert send(writer, scale="craft", levels=levels, map=ranks[:3]).status_code == 409
    told = send(writer, scale="craft", levels=levels, map=ranks)
    assert told.status_code == 200, told.json
    # a map that leads to this scale has to fit its ranks, too; and an entry condition with no way on is only told
    headers = {"If-Match": told.headers["ETag"]}
    made = writer.post("/api/drafts/steps/publication", json={"version": "2.0", "reason": "Two"}, headers=headers)
    assert made.status_code == 200, made.json
    assert [level["label"] for level in writer.get("/api/scales/craft").json["levels"]] == ["Step 1", "Step 2"]
    assert writer.get("/api/level-maps?from_scale=craft").json == []
    (level,) = [
        one for one in writer.get("/api/people/p1/changes?since=1").json["levels"] if one["competency"] == "pump"
    ]
    assert (level["level_before"], level["level_after"]) == (2, 1)
    assert any(why.startswith("Level 3 of craft: level removed") for why in level["why"]), level
    writer.post("/api/drafts", json={"id": "back", "title": "Back", "undo_of": "2.0"})
    headers = {"If-Match": writer.get("/api/drafts/back").headers["ETag"]}
    made = writer.post("/api/drafts/back/publication", json={"version": "2.1", "reason": "Back"}, headers=headers)
    assert made.status_code == 200, made.json
    assert graph.get_snapshot() == before


def test_the_form_asks_for_the_map_and_loses_nothing_typed(writer: FlaskClient, graph: LiveGraph) -> None:
    writer.post("/api/drafts", json=DRAFT)
    address = "/drafts/steps/scale-changes"
    assert f'href="{address}"' in writer.get("/drafts/steps").text
    assert writer.get(address).status_code == 200
    assert writer.get(f"{address}?competency=Nonsense&scale=unused").status_code == 422
    asked = writer.get(f"{address}?competency=Valve+work&scale=unused").text
    assert "Move Valve work to scale unused" in asked
    assert 'name="rank5"' in asked
    typed = {"competency": "valve", "scale": "unused", "reason": "Fewer steps", "rank1": "0", "rank2": "1"}
    refused = writer.post(address, data=typed)
    assert refused.status_code == 409
    assert "rank 3 of scale craft is missing" in refused.text
    assert "Fewer steps" in refused.text
    done = writer.post(address, data=typed | {"rank3": "1", "rank4": "1", "rank5": "1"})
    assert (done.status_code, done.headers["Location"]) == (303, "/drafts/steps")
    assert graph.drafts.get_state("steps").snapshot.competencies["valve"].scale == "unused"
    ranks = writer.get(f"{address}?scale=unused").text
    assert "Levels from now on" in ranks
    wrong = writer.post(address, data={"scale": "held", "levels": "Held\nHeld twice", "rank1": "x"})
    assert (wrong.status_code, "Held twice" in wrong.text) == (422, True)
    assert writer.post(address, data={"scale": "held", "levels": "Held\nTwice"}).status_code == 303
    assert writer.get("/drafts/nothing/scale-changes").status_code == 404
