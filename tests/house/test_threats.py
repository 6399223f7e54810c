"""Every threat to who may see what has its test, and every test that is named here is there."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest

TESTS = Path(__file__).resolve().parents[1]
AGREED = Path(__file__).resolve().parents[3] / "shared" / "access.md"
#: What somebody could try, in the order in which it was thought of, and the tests that fail where nothing keeps it off.
THREATS: dict[str, tuple[str, ...]] = {
    "an address is served without a right, or with a wrong one": (
        "test_api/test_matrix.py::test_every_address_answers_as_the_table_says",
        "test_api/test_route_rights.py::test_an_address_without_one_is_named_and_stops_the_start",
        "test_api/test_rights_as_agreed.py::test_every_cell_is_the_one_agreed",
    ),
    "an answer, a page or a file holds names or ids of somebody unseen": (
        "test_api/test_canaries.py::test_no_output_holds_a_trace_of_anyone_unseen_and_every_link_leads_on",
        "test_api/test_two_at_one_address.py::test_eight_threads_are_each_told_what_is_theirs",
        "test_api/test_access_reduction.py::test_no_answer_holds_an_id_of_who_may_not_be_seen",
        "house/test_names_of_people.py::test_a_name_is_read_in_its_room_alone",
    ),
    "ids are guessed, and those of the unseen told apart from nobody's": (
        "test_api/test_matrix.py::test_what_may_not_be_seen_is_answered_like_what_nobody_has",
        "test_api/test_sign_in_timing.py::test_who_is_unseen_takes_as_long_as_nobody",
    ),
    "others see which roles somebody has an exploration of": (
        "test_api/test_shares.py::test_the_lead_of_their_team_is_shown_it_until_its_day_and_nobody_else",
        "test_api/test_changes_by_right.py::test_what_someone_shows_is_looked_at_and_not_changed",
        "test_api/test_private_plans.py::test_a_plan_is_worked_out_anew_each_time_and_never_kept",
        "test_api/test_operation.py::test_logs_and_metrics_say_of_every_answer_which_kind_it_was_and_never_of_whom",
    ),
    "small groups are told by their figures, or by the differences of two": (
        "test_api/test_small_groups.py::test_no_pair_of_questions_that_differ_by_one_person_tells_a_hidden_cell",
        "test_api/test_figures.py::test_no_answer_in_figures_names_anyone_or_tells_of_few",
        "test_api/test_figures.py::test_what_would_tell_by_a_difference_is_not_asked",
        "properties/test_figures_properties.py::test_no_figure_of_any_company_is_of_few",
        "properties/test_figures_properties.py::test_a_row_of_few_comes_and_goes_untold",
    ),
    "another site sends forms; a session is foisted on somebody, or taken from them": (
        "test_api/test_form_tokens.py::test_a_change_with_a_session_and_without_its_token_is_refused",
        "test_api/test_form_tokens.py::test_a_page_of_others_is_refused_even_with_the_token",
        "test_api/test_form_tokens.py::test_to_look_changes_nothing",
        "test_api/test_sign_in_pages.py::test_what_lay_in_the_browser_before_never_becomes_a_session",
        "test_api/test_sign_in_pages.py::test_a_session_ends_after_an_hour_without_use_and_after_twelve_in_all",
    ),
    "an account is found by how long signing in takes, or by its words": (
        "test_api/test_sign_in_timing.py::test_a_name_without_an_account_takes_as_long",
        "test_api/test_sign_in_timing.py::test_half_a_standard_deviation_would_be_found",
        "test_api/test_sign_in.py::test_every_way_to_be_wrong_is_told_alike",
    ),
    "passwords are guessed, or the owner shut out by guessing": (
        "test_api/test_accounts.py::test_a_thousand_tries_take_a_day_and_stop",
        "test_api/test_accounts.py::test_trying_shuts_nobody_out_of_a_session_that_is_open",
        "test_api/test_provider.py::test_owners_shut_out_by_others_guesses_can_still_sign_in_there",
    ),
    "markup and script are stored in a text": (
        "test_api/test_markup_in_texts.py::test_no_page_holds_an_element_of_a_text",
        "test_api/test_markup_in_texts.py::test_no_picture_holds_an_element_of_a_text",
        "test_api/test_markup_in_texts.py::test_no_text_leaves_its_quotes_in_the_language_of_pictures",
        "browser/test_accounts.py::test_a_name_that_is_markup_runs_nowhere",
        "browser/test_hostile_texts.py::test_texts_beside_records_run_nowhere",
    ),
    "injection by quotes, queries, formulas and line breaks": (
        "test_api/test_hostile_parameters.py::test_what_is_sent_as_a_parameter_is_a_text_and_nothing_more",
        "test_api/test_hostile_parameters.py::test_what_is_sent_as_an_id_is_nobodys",
        "test_api/test_accounts.py::test_quotes_are_only_text",
        "test_loaders/test_tables.py::test_a_cell_that_looks_like_a_formula_stays_text_in_the_workbook",
        "test_api/test_operation.py::test_a_line_has_only_fields_of_the_list_and_is_one_line",
    ),
    "hostile files, and names with a path in them": (
        "test_api/test_hostile_uploads.py::test_a_hostile_or_broken_workbook_gives_one_sentence",
    ),
    "columns are sent along whose assignment is not the sender's": (
        "test_api/test_mass_assignment.py::test_a_column_is_changed_by_whom_the_table_lets",
        "test_api/test_changes_by_right.py::test_nobody_signs_for_someone_else_and_nobody_assesses_themselves",
    ),
    "a redirect leads to others, or the host of others is believed": (
        "test_api/test_sign_in_pages.py::test_one_is_led_to_a_path_of_ours_only",
        "test_api/test_origins.py::test_any_other_name_is_misdirected",
    ),
    "a token is stolen, or may more than its account": (
        "test_api/test_tokens_over_http.py::test_a_scope_never_widens_what_the_account_may",
        "test_api/test_tokens_over_http.py::test_a_token_ends_and_is_told_as_one_that_never_was",
        "test_api/test_tokens_over_http.py::test_a_token_in_an_address_opens_nothing",
        "test_api/test_tokens_over_http.py::test_no_log_holds_a_token",
    ),
    "the way to the provider and back is tampered with": (
        "test_api/test_provider_tokens.py::test_a_token_with_another_claim_is_refused",
        "test_api/test_provider_tokens.py::test_a_token_signed_by_others_or_by_nobody_is_refused",
        "test_api/test_provider.py::test_a_code_comes_back_once",
        "test_api/test_provider.py::test_the_same_subject_at_another_provider_is_somebody_else",
    ),
    "requests are oversized, slow or many": (
        "test_api/test_problems.py::test_a_body_that_cannot_be_taken",
        "test_api/test_crowding.py::test_slow_connections_leave_quick_answers_quick",
        "test_api/test_crowding.py::test_seventeen_slow_questions_of_one_account_leave_others_served",
        "test_api/test_rates.py::test_a_program_gone_wild_is_told_to_wait_and_others_are_served",
    ),
    "the log of looks cannot be written": (
        "test_api/test_looks.py::test_where_it_cannot_be_written_nothing_is_told",
        "test_api/test_sign_in_pages.py::test_where_nothing_can_be_written_signing_in_says_so_and_opens_nothing",
    ),
    "a person who was erased comes back": (
        "test_api/test_erasing.py::test_nothing_is_left_in_either_folder_and_a_copy_brings_nothing_back",
        "test_api/test_erasing.py::test_nothing_is_left_while_the_store_is_served",
        "test_api/test_erasing.py::test_a_killed_erasure_leaves_the_person_whole_or_gone",
        "test_api/test_erasure_page.py::test_it_is_shown_first_and_then_done",
    ),
    "rights are taken away while an answer is computed": (
        "test_api/test_crowding.py::test_what_was_computed_is_told_by_the_rights_of_the_moment_it_is_fetched",
    ),
}


@cache
def list_tests(file: str) -> frozenset[str]:
    """Return the tests of a file."""
    tree = ast.parse((TESTS / file).read_text("utf-8"))
    return frozenset(one.name for one in tree.body if isinstance(one, ast.FunctionDef) and one.name.startswith("test_"))


@pytest.mark.parametrize("threat", THREATS)
def test_every_threat_has_its_tests(threat: str) -> None:
    named = [one.split("::") for one in THREATS[threat]]
    assert named
    assert [f"{file}::{name}" for file, name in named if name not in list_tests(file)] == []


def test_every_threat_that_was_agreed_is_here() -> None:
    """In the same order, and speaking of the same: each shares a word of some length with what was agreed."""
    if not AGREED.is_file():
        pytest.skip("what was agreed is not part of a clone")
    lines = AGREED.read_text("utf-8").rpartition("## 10.")[2].splitlines()
    agreed = [line.strip("|").split("|")[0] for line in lines if line.startswith("|")][2:]
    assert len(agreed) == len(THREATS)
    for said, threat in zip(agreed, THREATS, strict=True):
        assert list_stems(said) & list_stems(threat), (said, threat)


def list_stems(words: str) -> set[str]:
    """Return the beginnings of words: the same in "redirect" and "redirects", in "guessing" and "guessed"."""
    return {word[:5] for word in re.findall(r"[a-z]{3,}", words.lower())} - {"the", "and", "other", "with", "that"}
