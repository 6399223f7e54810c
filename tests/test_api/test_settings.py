"""Settings: an option before a variable before the default, each within its bounds, and all of them together."""

from __future__ import annotations

from contextlib import nullcontext
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from api.settings import Settings, list_settings, load_settings_file, read_settings
from api.terminal.commands import serve
from api.terminal.program import program

NAMES = [setting.name for setting in list_settings()]
NUMBERS = [setting.name for setting in list_settings() if setting.kind is not str]


def run(words: list[str], **variables: str) -> str:
    """Return what `newel serve` says of a wrong call; it never comes to serving."""
    result = CliRunner().invoke(program, ["serve", "--open", *words], env=variables, prog_name="newel")
    assert result.exit_code == 2, result.output
    return " ".join(result.output.split())


def test_every_setting_has_a_variable_a_sentence_and_a_default_within_its_bounds() -> None:
    assert [field.name for field in fields(Settings)] == NAMES
    for setting in list_settings():
        assert setting.variable == f"NEWEL_{setting.name.upper()}"
        assert setting.about.endswith(".")
        assert setting.unit or setting.name in ("metrics_port", "retention_daily") or setting.kind is str
        assert isinstance(setting.default, str) or setting.minimum <= setting.default <= setting.maximum
    assert read_settings({}) == Settings()


def test_an_option_wins_over_a_variable_and_that_over_the_default() -> None:
    variables = {"NEWEL_TIME_LIMIT_MAX_S": "90", "NEWEL_THREADS": "40", "NEWEL_STORE": "elsewhere"}
    settings = read_settings(variables, {"threads": 50, "time_limit_max_s": None})
    assert (settings.threads, settings.time_limit_max_s, settings.page_size_max) == (50, 90.0, 1000)
    # a variable that is set but empty says nothing
    assert read_settings({"NEWEL_THREADS": ""}).threads == 24


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("THREADS", "many", "a whole number"),
        ("THREADS", "24.0", "a whole number"),
        ("TIME_LIMIT_MAX_S", "a minute", "a number"),
        ("TIME_LIMIT_MAX_S", "1,5", "a number"),
    ],
)
def test_a_variable_that_is_no_number_is_named(name: str, text: str, told: str) -> None:
    with pytest.raises(ValueError, match=f"^NEWEL_{name} must be {told}, not '{text}'$"):
        read_settings({f"NEWEL_{name}": text})


@pytest.mark.parametrize("name", NUMBERS)
def test_a_value_outside_its_bounds_is_named(name: str) -> None:
    (setting,) = [setting for setting in list_settings() if setting.name == name]
    step = 1 if setting.kind is int else 0.001
    for value in (setting.minimum - step, setting.maximum + step):
        with pytest.raises(ValueError, match=f"^{name} must be from .* to .*{setting.unit}, not "):
            Settings(**{name: setting.kind(value)})
    if setting.kind is float:
        # JSON and a clock know neither
        for text in ("nan", "inf", "-inf"):
            with pytest.raises(ValueError, match=name):
                read_settings({setting.variable: text})


@pytest.mark.parametrize(
    ("wrong", "told"),
    [
        ({"time_limit_default_s": 61}, "time_limit_default_s must be at most time_limit_max_s"),
        ({"time_limit_max_s": 9}, "time_limit_default_s must be at most time_limit_max_s"),
        ({"page_size_max": 49}, "page_size_default must be at most page_size_max"),
        ({"threads": 16}, "at least one of the threads free"),
    ],
)
def test_values_that_do_not_go_together_are_named(wrong: dict[str, Any], told: str) -> None:
    with pytest.raises(ValueError, match=told):
        Settings(**wrong)


@pytest.mark.parametrize(
    "url",
    [
        "http://example.org",
        "https://",
        "https://example.org/",
        "https://example.org/newel",
        "https://example.org?to=x",
        "https://who@example.org",
        "example.org",
        "https://example.org\r\nSet-Cookie: a=b",
    ],
)
def test_a_public_address_is_https_and_a_host_alone(url: str) -> None:
    with pytest.raises(ValueError, match=r"^public_url must be https:// and a host"):
        Settings(public_url=url)
    assert read_settings({"NEWEL_PUBLIC_URL": "https://skills.example.org:8443"}).public_url.endswith(":8443")


def test_serve_takes_an_option_for_each_and_refuses_with_a_sentence() -> None:
    shown = CliRunner().invoke(program, ["serve", "--help"], prog_name="newel").output
    for setting in list_settings():
        assert f"--{setting.name.replace('_', '-')}" in shown
        assert setting.variable in " ".join(shown.split())
    assert "threads must be from 2 to 1,000 threads, not 0" in run(["--threads", "0"])
    assert "threads must be from" in run([], NEWEL_THREADS="0")
    assert "NEWEL_THREADS must be a whole number" in run([], NEWEL_THREADS="many")
    assert "at most page_size_max" in run(["--page-size-default", "60"], NEWEL_PAGE_SIZE_MAX="55")


def test_what_is_set_is_what_is_served(monkeypatch: pytest.MonkeyPatch) -> None:
    served: list[Settings] = []
    monkeypatch.setattr(serve, "run_server", lambda opening, host, port, settings, accounts: served.append(settings))
    monkeypatch.setattr(serve, "open_graph", lambda *_, **__: nullcontext())
    call = ["serve", "--open", "--threads", "30", "--time-limit-max-s", "2.5", "--time-limit-default-s", "2"]
    result = CliRunner().invoke(program, call, env={"NEWEL_THREADS": "31", "NEWEL_SLOW_WAITING_MAX": "3"})
    assert result.exit_code == 0, result.output
    assert served == [Settings(threads=30, time_limit_max_s=2.5, time_limit_default_s=2.0, slow_waiting_max=3)]


def test_the_file_comes_after_variables_and_before_the_defaults(tmp_path: Path) -> None:
    path = tmp_path / "newel.toml"
    path.write_text("threads = 40\ntime_limit_max_s = 90\npage_size_max = 500\n", "utf-8")
    settings = read_settings(
        {"NEWEL_THREADS": "50", "NEWEL_PAGE_SIZE_MAX": "600"}, {"threads": 60}, load_settings_file(path)
    )
    assert (settings.threads, settings.page_size_max, settings.time_limit_max_s) == (60, 600, 90)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("thread = 40", "'thread' is no setting; did you mean 'threads'"),
        ("colour = 1", "'colour' is no setting$"),
        ("threads = 4.5", "threads must be a whole number, not 4.5"),
        ("threads = true", "threads must be a whole number, not True"),
        ('time_limit_max_s = "9"', "time_limit_max_s must be a number, not '9'"),
        ("threads = ", "is not TOML"),
        ("[serve]\nthreads = 40", "'serve' is no setting"),
        ("public_url = 3", "public_url must be a text, not 3"),
    ],
)
def test_a_fault_in_the_file_is_named(tmp_path: Path, text: str, told: str) -> None:
    path = tmp_path / "newel.toml"
    path.write_text(text, "utf-8")
    with pytest.raises(ValueError, match=told) as caught:
        load_settings_file(path)
    assert str(caught.value).startswith(str(path))


def test_the_file_is_that_of_the_folder_or_the_one_that_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("newel.toml").write_text("threads = 1", "utf-8")
    assert "threads must be from 2" in run([])
    Path("other.toml").write_text("threads = 2\nslow_computing_max = 0", "utf-8")
    assert "slow_computing_max must be from 1" in run([], NEWEL_SETTINGS="other.toml")
    assert "nowhere.toml cannot be read" in run([], NEWEL_SETTINGS="nowhere.toml")
