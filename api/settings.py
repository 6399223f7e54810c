"""What can be set from outside: sizes, times and a few texts, each described once.

A setting comes from an option of `newel serve`, else from the variable NEWEL_ and its name, else from the settings
file, else it has its default.
"""

from __future__ import annotations

import dataclasses
import difflib
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final, cast
from urllib.parse import urlsplit

#: The settings file in the folder one is in; `NEWEL_SETTINGS` names another.
FILE: Final = "newel.toml"

#: Of the names of variables.
PREFIX: Final = "NEWEL_"
#: Least and most seconds.
_TIMES: Final = (0.01, 3600)


def _setting(default: float, about: str, unit: str, minimum: float = 1, maximum: float = 1_000_000) -> Any:
    about_it = {"about": about, "unit": unit, "minimum": minimum, "maximum": maximum}
    return dataclasses.field(default=default, metadata=about_it)


def _text(default: str, about: str) -> Any:
    return dataclasses.field(default=default, metadata={"about": about, "unit": "", "minimum": 0, "maximum": 0})


@dataclass(frozen=True, slots=True)
class Settings:
    """Limits of the service, and how it is reached.

    Raises
    ------
    ValueError
        A value lies outside its bounds, a default above its maximum, or slow answers could hold every thread.
    """

    max_body_bytes: int = _setting(1_000_000, "Largest request body; larger ones get 413.", "bytes", maximum=10**9)
    max_upload_bytes: int = _setting(
        64_000_000, "Largest upload of tables, its files together; larger ones get 413.", "bytes", maximum=10**9
    )
    uploads_kept_max: int = _setting(20, "Uploads of tables kept at once, each for a day.", "uploads", maximum=10_000)
    page_size_default: int = _setting(50, "Records on one page of a list, where nothing is asked.", "records")
    page_size_max: int = _setting(1000, "Records on one page of a list, at the most.", "records")
    time_limit_default_s: float = _setting(
        10.0, "How long a slow answer may compute, where nothing is asked.", "s", *_TIMES
    )
    time_limit_max_s: float = _setting(60.0, "How long a slow answer may compute, at the most.", "s", *_TIMES)
    answer_cache_bytes: int = _setting(
        8_000_000, "Answers kept for who asks the same again; 0 keeps none.", "bytes", 0, 10**12
    )
    query_time_limit_s: float = _setting(5.0, "How long a SPARQL query may take, at the most.", "s", *_TIMES)
    query_rows_max: int = _setting(10_000, "Rows of the answer to a SPARQL query; what is more is cut.", "rows")
    query_answer_bytes: int = _setting(
        10_000_000, "Largest answer to a SPARQL query; larger ones get 422.", "bytes", maximum=10**9
    )
    query_memory_bytes: int = _setting(
        1_500_000_000, "Memory of a process that answers SPARQL queries.", "bytes", 500_000_000, 10**12
    )
    query_text_bytes: int = _setting(16_000, "Longest SPARQL query; longer ones get 413.", "bytes")
    query_processes_max: int = _setting(2, "SPARQL queries answered at once; further ones get 503.", "queries", 1, 100)
    threads: int = _setting(24, "Requests answered side by side.", "threads", 2, 1000)
    slow_computing_max: int = _setting(4, "Slow answers that compute at once.", "answers")
    slow_waiting_max: int = _setting(
        12, "Slow answers that may wait for their turn; further ones get 503.", "answers", 0
    )
    stop_within_s: float = _setting(8.0, "How long answers under way may go on once it is told to stop.", "s", *_TIMES)
    metrics_port: int = _setting(0, "Port of this machine where Prometheus asks; 0 for none.", "", 0, 65_535)
    retention_daily: int = _setting(
        0, "1: a server lets go each day of what was kept for long enough; 0: only newel retention does.", "", 0, 1
    )
    retention_assessments_months: int = _setting(
        36, "Assessments are kept for so long after the last day they counted; 0 for without end.", "months", 0, 1200
    )
    retention_people_months: int = _setting(
        12, "People are kept for so long after their last day; 0 for without end.", "months", 0, 1200
    )
    retention_looks_months: int = _setting(
        24, "How long it is kept who looked at whom; 0 for without end.", "months", 0, 1200
    )
    retention_attempts_days: int = _setting(
        30, "How long it is kept that signing in failed; 0 for without end.", "days", 0, 3650
    )
    erasure_confirmers: int = _setting(
        0, "Other administrators or architects who must confirm that a person is erased: none, or one.", "people", 0, 1
    )
    company: str = _text("", "Name of the company: no password may be guessed by it.")
    purpose_reasons: str = _text(
        "audit; incident review; correction of data; planning with the team's lead",
        "Reasons for which an architect may look at people, separated by semicolons.",
    )
    requests_a_minute: int = _setting(600, "Requests of one account in a minute; further ones get 429.", "requests")
    small_group: int = _setting(5, "The fewest people a figure is told about to who may see no names.", "people", 3, 20)
    trusted_proxy: str = _text("", "Address of the proxy in front, whose X-Forwarded-For is believed; none: nobody's.")
    provider_issuer: str = _text("", "Issuer of the OpenID Connect provider where people sign in; https.")
    provider_client_id: str = _text("", "What this server is called at the provider.")
    provider_secret_file: str = _text("", "File with the provider's secret; else NEWEL_PROVIDER_SECRET holds it.")
    provider_acr: str = _text("", "How one must have signed in at the provider (acr).")
    provider_amr: str = _text("", "By which means one must have signed in there (amr), separated by blanks.")
    public_url: str = _text("", "Address by which browsers reach it: https, a host, nothing behind it.")

    def __post_init__(self) -> None:
        """Keep values within their bounds, defaults within their maximum, and a thread free for quick answers."""
        for setting in list_settings():
            value = getattr(self, setting.name)
            if setting.kind is str:
                continue
            if not setting.minimum <= value <= setting.maximum:  # what is not a number is refused too
                bounds = f"from {setting.minimum:g} to {setting.maximum:,.15g} {setting.unit}"
                raise ValueError(f"{setting.name} must be {bounds.strip()}, not {value:g}")
        for name in ("time_limit_default_s", "page_size_default"):
            at_most = name.replace("default", "max")
            if getattr(self, name) > getattr(self, at_most):
                raise ValueError(f"{name} must be at most {at_most}")
        if self.slow_computing_max + self.slow_waiting_max >= self.threads:
            raise ValueError("slow_computing_max and slow_waiting_max must leave at least one of the threads free")
        _require_origin(self.public_url)
        if bool(self.provider_issuer) != bool(self.provider_client_id):
            raise ValueError("provider_issuer and provider_client_id go together")


def _require_origin(url: str) -> None:
    """Raise ValueError unless an address is empty or https and a host alone, from which cookies and links are made."""
    parts = urlsplit(url)
    if url and (parts.scheme != "https" or not parts.hostname or url != f"https://{parts.netloc}" or "@" in url):
        raise ValueError(f"public_url must be https:// and a host, with nothing behind it, not {url!r}")


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting as it is shown: its name, variable, kind, default, bounds, unit and sentence."""

    name: str
    variable: str
    kind: type[int] | type[float] | type[str]
    default: float | str
    minimum: float
    maximum: float
    unit: str
    about: str


_KINDS: Final[Mapping[str, type[int] | type[float] | type[str]]] = {"int": int, "float": float, "str": str}


def list_settings() -> tuple[Setting, ...]:
    """Return every setting in the order of the class."""
    return tuple(
        Setting(
            name=field.name,
            variable=PREFIX + field.name.upper(),
            kind=_KINDS[str(field.type)],
            default=cast(float | str, field.default),
            **field.metadata,
        )
        for field in dataclasses.fields(Settings)
    )


def load_settings_file(path: Path) -> dict[str, float | str]:
    """Return what a settings file says: TOML, the names of settings with their values.

    Raises
    ------
    ValueError
        It cannot be read, names no setting, or gives one that is not of its kind.
    """
    try:
        members = tomllib.loads(path.read_text("utf-8"))
    except OSError as error:
        raise ValueError(f"{path} cannot be read: {error.strerror}") from None
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        raise ValueError(f"{path} is not TOML: {error}") from None
    settings = {setting.name: setting for setting in list_settings()}
    for name, value in members.items():
        if name not in settings:
            near = difflib.get_close_matches(name, settings, 1)
            raise ValueError(f"{path}: {name!r} is no setting" + (f"; did you mean {near[0]!r}?" if near else ""))
        kind = settings[name].kind
        is_of_kind = isinstance(value, str if kind is str else int | kind) and not isinstance(value, bool)
        if not is_of_kind:
            raise ValueError(f"{path}: {name} must be {_tell_kind(settings[name])}, not {value!r}")
    return members


def read_settings(
    environ: Mapping[str, str],
    given: Mapping[str, float | str | None] | None = None,
    of_file: Mapping[str, float | str] | None = None,
) -> Settings:
    """Return the settings: what is given, else what the variables say, else the file, else the defaults.

    Raises
    ------
    ValueError
        A value is no number of its kind, or the values do not go together; it names the setting.
    """
    values: dict[str, Any] = dict(of_file or {})
    for setting in list_settings():
        value = (given or {}).get(setting.name)
        text = environ.get(setting.variable)
        if value is None and text:
            try:
                value = setting.kind(text)
            except ValueError:
                raise ValueError(f"{setting.variable} must be {_tell_kind(setting)}, not {text!r}") from None
        if value is not None:
            values[setting.name] = value
    return Settings(**values)


def _tell_kind(setting: Setting) -> str:
    return {int: "a whole number", float: "a number", str: "a text"}[setting.kind]
