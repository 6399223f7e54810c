"""What a provider says of somebody is believed only as OpenID Connect Core 1.0, section 3.1.3.7, says it may be."""

from __future__ import annotations

import base64
import hmac
import json
from typing import Any

import pytest
from authlib.integrations.requests_client import OAuth2Session
from joserfc import jwt
from joserfc.jwk import KeySet, OctKey, RSAKey

from api.access import provider as room
from api.access.provider import Identity, Provider
from api.access.provider_starts import Start
from api.errors import UnauthenticatedError
from ontology.errors import UnavailableError

ISSUER = "https://provider.example.org"
NOW = 1_796_000_000
START = Start("state", "nonce", "verifier", 0, "/", False)
GOOD = {"iss": ISSUER, "sub": "ann", "aud": "newel", "exp": NOW + 300, "iat": NOW, "nonce": "nonce"}
KEY = RSAKey.generate_key(2048, {"kid": "theirs", "use": "sig"})
FOREIGN = RSAKey.generate_key(2048, {"kid": "theirs", "use": "sig"})
TOLD = {
    "issuer": ISSUER,
    "authorization_endpoint": f"{ISSUER}/auth",
    "token_endpoint": f"{ISSUER}/token",
    "jwks_uri": f"{ISSUER}/keys",
}


def sign(claims: dict[str, Any], key: Any = KEY, alg: str = "RS256", kid: str = "theirs") -> str:
    return jwt.encode({"alg": alg, "kid": kid}, claims, key, algorithms=[alg])


def find(monkeypatch: pytest.MonkeyPatch, token: str, start: Start = START, **more: Any) -> Identity:
    """Return who a provider with one key says somebody is, by this token."""
    keys = KeySet([RSAKey.import_key(KEY.as_dict(private=False))]).as_dict()
    monkeypatch.setattr(room, "_fetch", lambda address: keys if address.endswith("/keys") else TOLD)
    monkeypatch.setattr(OAuth2Session, "fetch_token", lambda *_, **__: {"id_token": token, "access_token": "x"})
    provider = Provider(ISSUER, "newel", "secret", clock=lambda: float(NOW), **more)
    return provider.find_identity(start, "https://newel.example.org/back", "code", "")


def test_a_token_that_is_as_it_should_be_says_who_somebody_is(monkeypatch: pytest.MonkeyPatch) -> None:
    assert find(monkeypatch, sign(GOOD)) == Identity(ISSUER, "ann")
    assert find(monkeypatch, sign(GOOD | {"aud": ["newel"]})).subject == "ann"
    assert find(monkeypatch, sign(GOOD | {"aud": ["newel", "other"], "azp": "newel"})).subject == "ann"
    assert find(monkeypatch, sign(GOOD | {"exp": NOW - 30})).subject == "ann", "clocks differ a little"


@pytest.mark.parametrize(
    "changed",
    [
        {"iss": "https://example.org"},
        {"iss": f"{ISSUER}/"},
        {"aud": "other"},
        {"aud": ["other"]},
        {"aud": ["other"], "azp": "newel"},
        {"aud": ["newel", "other"], "azp": "other"},
        {"aud": ["newel", "other"]},
        {"nonce": "of another start"},
        {"exp": NOW - 61},
        {"iat": NOW + 3600},
        {"sub": ""},
        {"amr": "pwd"},
    ],
    ids=str,
)
def test_a_token_with_another_claim_is_refused(monkeypatch: pytest.MonkeyPatch, changed: dict[str, Any]) -> None:
    with pytest.raises(UnauthenticatedError):
        find(monkeypatch, sign(GOOD | changed))


@pytest.mark.parametrize("missing", ["iss", "sub", "aud", "exp", "iat", "nonce"])
def test_a_token_without_a_claim_is_refused(monkeypatch: pytest.MonkeyPatch, missing: str) -> None:
    with pytest.raises(UnauthenticatedError):
        find(monkeypatch, sign({name: value for name, value in GOOD.items() if name != missing}))


def test_a_token_signed_by_others_or_by_nobody_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    def encode(part: dict[str, Any]) -> str:
        return base64.urlsafe_b64encode(json.dumps(part).encode()).rstrip(b"=").decode()

    unsigned = f"{encode({'alg': 'none'})}.{encode(GOOD)}."
    # a public key as a shared secret (RFC 8725, section 2.1); the library makes none of that kind
    told = f"{encode({'alg': 'HS256', 'kid': 'theirs'})}.{encode(GOOD)}"
    mark = hmac.digest(KEY.as_pem(private=False), told.encode(), "sha256")
    shared = f"{told}.{base64.urlsafe_b64encode(mark).rstrip(b'=').decode()}"
    tokens = [
        unsigned,
        shared,
        sign(GOOD, FOREIGN),
        sign(GOOD, OctKey.import_key("secret" * 8), "HS256"),
        sign(GOOD)[:-8] + "AAAAAAAA",
        "",
        "a.b",
        "a.b.c",
    ]
    for token in tokens:
        with pytest.raises(UnauthenticatedError):
            find(monkeypatch, token)


def test_a_key_that_is_new_is_fetched_once(monkeypatch: pytest.MonkeyPatch) -> None:
    new = RSAKey.generate_key(2048, {"kid": "new", "use": "sig"})
    sets = [KeySet([RSAKey.import_key(key.as_dict(private=False))]).as_dict() for key in (KEY, new)]
    asked: list[str] = []

    def fetch(address: str) -> Any:
        asked.append(address)
        return TOLD if not address.endswith("/keys") else sets[min(1, asked.count(address) - 1)]

    monkeypatch.setattr(room, "_fetch", fetch)
    token = sign(GOOD, new, kid="new")
    monkeypatch.setattr(OAuth2Session, "fetch_token", lambda *_, **__: {"id_token": token})
    provider = Provider(ISSUER, "newel", "secret", clock=lambda: float(NOW))
    for _ in range(2):
        assert provider.find_identity(START, "https://newel.example.org/back", "code", ISSUER).subject == "ann"
    assert asked.count(f"{ISSUER}/keys") == 2


@pytest.mark.parametrize(
    ("more", "claims", "is_enough"),
    [
        ({"acr": "two"}, {}, False),
        ({"acr": "two"}, {"acr": "one"}, False),
        ({"acr": "two"}, {"acr": "two"}, True),
        ({"amr": ("pwd", "otp")}, {"amr": ["pwd"]}, False),
        ({"amr": ("pwd", "otp")}, {}, False),
        ({"amr": ("pwd", "otp")}, {"amr": ["otp", "hwk", "pwd"]}, True),
    ],
)
def test_how_one_must_have_signed_in(
    monkeypatch: pytest.MonkeyPatch, more: dict[str, Any], claims: dict[str, Any], is_enough: bool
) -> None:
    if is_enough:
        assert find(monkeypatch, sign(GOOD | claims), **more).subject == "ann"
    else:
        with pytest.raises(UnauthenticatedError):
            find(monkeypatch, sign(GOOD | claims), **more)


@pytest.mark.parametrize(("seconds_ago", "is_recent"), [(None, False), (0, True), (299, True), (301, False)])
def test_again_means_just_now(monkeypatch: pytest.MonkeyPatch, seconds_ago: int | None, is_recent: bool) -> None:
    again = Start("state", "nonce", "verifier", 7, "/", False)
    claims = GOOD if seconds_ago is None else GOOD | {"auth_time": NOW - seconds_ago}
    if is_recent:
        assert find(monkeypatch, sign(claims), again).subject == "ann"
    else:
        with pytest.raises(UnauthenticatedError):
            find(monkeypatch, sign(claims), again)


@pytest.mark.parametrize("issuer", ["http://example.org", "example.org", "", "https://", "ftp://example.org"])
def test_a_provider_is_reached_by_https(issuer: str) -> None:
    with pytest.raises(ValueError, match="reached by https"):
        Provider(issuer, "newel", "secret")


def test_addresses_it_tells_are_held_to_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(room, "_fetch", lambda address: TOLD | {"authorization_endpoint": "http://example.org/auth"})
    with pytest.raises(UnavailableError, match="without https"):
        Provider(ISSUER, "newel", "secret").build_address(START, "https://newel.example.org/back")
