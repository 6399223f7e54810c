"""What languages are called."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

__all__ = ["name_language"]

#: What a language is called in itself (from memory, as the Unicode CLDR writes them).
_NAMES: Final[Mapping[str, str]] = {
    "ar": "العربية",
    "bg": "български",
    "cs": "čeština",
    "da": "dansk",
    "de": "Deutsch",
    "de-at": "Österreichisches Deutsch",
    "de-ch": "Schweizer Hochdeutsch",
    "el": "Ελληνικά",
    "en": "English",
    "en-gb": "British English",
    "en-us": "American English",
    "es": "español",
    "et": "eesti",
    "fi": "suomi",
    "fr": "français",
    "ga": "Gaeilge",
    "hr": "hrvatski",
    "hu": "magyar",
    "is": "íslenska",
    "it": "italiano",
    "ja": "日本語",
    "lt": "lietuvių",
    "lv": "latviešu",
    "mt": "Malti",
    "nb": "norsk bokmål",
    "nl": "Nederlands",
    "no": "norsk",
    "pl": "polski",
    "pt": "português",
    "pt-br": "português (Brasil)",
    "ro": "română",
    "ru": "русский",
    "sk": "slovenčina",
    "sl": "slovenščina",
    "sr": "српски",
    "sv": "svenska",
    "tr": "Türkçe",
    "uk": "українська",
    "zh": "中文",
}


def name_language(tag: str) -> str:
    """Return what a language is called in itself; the tag where that is not known.

    Examples
    --------
    >>> name_language("de"), name_language("tlh")
    ('Deutsch', 'tlh')
    """
    return _NAMES.get(tag, tag)
