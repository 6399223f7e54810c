"""Signing in at a provider: OpenID Connect, code flow with PKCE. The one door to Authlib, joserfc and requests.

OpenID Connect Core 1.0, sections 3.1.2 and 3.1.3.7; OAuth 2.0 Security Best Current Practice, RFC 9700; RFC 7636 (PKCE,
S256); RFC 9207 (`iss` in the answer). Who somebody is comes from issuer and subject alone, never from a mail address.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import urlsplit

from authlib.integrations.base_client.errors import OAuthError
from authlib.integrations.requests_client import OAuth2Session
from authlib.oidc.core import CodeIDToken
from joserfc import jwt
from joserfc.errors import JoseError
from joserfc.jwk import KeySet
from requests import RequestException, Session

from api.access.accounts import Clock
from api.access.provider_starts import Start
from api.errors import UnauthenticatedError
from ontology.errors import UnavailableError

__all__ = ["Identity", "Provider"]

#: Signatures that a provider alone can make; "none", and those with a shared secret, are not among them.
_ALGORITHMS: Final = [f"{kind}{size}" for kind in ("RS", "PS", "ES") for size in (256, 384, 512)]
_LEEWAY_S: Final = 60
#: When somebody signs in again, how long ago that may have been when they come back.
_AGAIN_WITHIN_S: Final = 300
#: The provider may change its keys and addresses; as long they are kept.
_KEPT_S: Final = 3600.0
_TIMEOUT_S: Final = 10.0
_REFUSED: Final = "The company's sign-in did not say who you are. Try again; if it stays so, tell your administrator."
_LOOPBACK: Final = ("127.0.0.1", "localhost", "::1")


@dataclass(frozen=True, slots=True)
class Identity:
    """Who somebody is: the provider, and what they are called there for ever."""

    issuer: str
    subject: str


class Provider:
    """A provider by its issuer.

    Parameters
    ----------
    issuer : str
        https; on this machine http will do, for tests.
    client_id, secret : str
        What this server is called there, and proves it by.
    acr : str
        How one must have signed in there; "" for any way.
    amr : tuple of str
        By which means, all of them.

    Raises
    ------
    ValueError
        The issuer is not https.
    """

    def __init__(
        self,
        issuer: str,
        client_id: str,
        secret: str,
        *,
        acr: str = "",
        amr: tuple[str, ...] = (),
        clock: Clock = time.time,
    ) -> None:
        _require_https(issuer)
        self.issuer = issuer
        self._client_id, self._secret = client_id, secret
        self._acr, self._amr = acr, amr
        self._clock = clock
        self._told: dict[str, Any] = {}
        self._keys: KeySet | None = None
        self._told_at = 0.0

    def build_address(self, start: Start, returns_to: str) -> str:
        """Return where a browser goes to sign in; UnavailableError where the provider does not answer."""
        asked: dict[str, Any] = {"nonce": start.nonce, "code_verifier": start.verifier}
        if self._acr:
            asked["acr_values"] = self._acr
        if start.is_again:
            asked |= {"prompt": "login", "max_age": 0}
        with self._open(returns_to) as client:
            address, _ = client.create_authorization_url(
                self._tell("authorization_endpoint"), state=start.state, **asked
            )
        return str(address)

    def find_identity(self, start: Start, returns_to: str, code: str, issuer: str) -> Identity:
        """Return who has signed in.

        Parameters
        ----------
        start : Start
            With which the way there began.
        returns_to : str
            The address of ours, as it was said then.
        code : str
            What the provider sent the browser back with.
        issuer : str
            Who sent it, as it says itself; "" where it does not say (RFC 9207).

        Raises
        ------
        UnauthenticatedError
            What came back is not from this provider, not for us, not of this start, or not how one must sign in.
        UnavailableError
            The provider does not answer.
        """
        if issuer not in ("", self.issuer):
            raise UnauthenticatedError(_REFUSED)
        try:
            claims = self._fetch_claims(start, returns_to, code)
        except (OAuthError, JoseError, ValueError, KeyError, TypeError):
            # the reason is of use to who attacks alone
            raise UnauthenticatedError(_REFUSED) from None
        except RequestException:
            raise UnavailableError("The company's sign-in does not answer at the moment.") from None
        self._require_way(claims, is_again=start.is_again)
        return Identity(self.issuer, str(claims["sub"]))

    def _fetch_claims(self, start: Start, returns_to: str, code: str) -> CodeIDToken:
        with self._open(returns_to) as client:
            token = client.fetch_token(
                self._tell("token_endpoint"),
                grant_type="authorization_code",
                code=code,
                code_verifier=start.verifier,
                timeout=_TIMEOUT_S,
                allow_redirects=False,
            )
        signed = _decode(str(token["id_token"]), self._get_keys(), lambda: self._get_keys(anew=True))
        options: Any = {
            "iss": {"essential": True, "value": self.issuer},
            "aud": {"essential": True, "value": self._client_id},
            "nonce": {"essential": True, "value": start.nonce},
        }
        params = {"nonce": start.nonce, "client_id": self._client_id, "access_token": token.get("access_token")}
        claims = CodeIDToken(signed.claims, signed.header, options, params)
        claims.validate(now=int(self._clock()), leeway=_LEEWAY_S)
        return claims

    def _require_way(self, claims: CodeIDToken, *, is_again: bool) -> None:
        """Raise UnauthenticatedError unless somebody has signed in there as is demanded, and where again, just now."""
        means = claims.get("amr") or []
        is_right = not self._acr or claims.get("acr") == self._acr
        is_recent = not is_again or self._clock() - float(claims.get("auth_time") or 0) <= _AGAIN_WITHIN_S
        if not (claims["sub"] and is_right and set(self._amr) <= set(means)):
            raise UnauthenticatedError("The company's sign-in let you in by a way that is not enough here.")
        if not is_recent:
            raise UnauthenticatedError(_REFUSED)

    def _open(self, returns_to: str) -> OAuth2Session:
        return OAuth2Session(
            self._client_id,
            self._secret,
            scope="openid",
            redirect_uri=returns_to,
            code_challenge_method="S256",
            token_endpoint_auth_method="client_secret_basic",
        )

    def _tell(self, name: str) -> str:
        """Return an address that the provider tells of itself."""
        if self._clock() - self._told_at > _KEPT_S:
            told = _fetch(f"{self.issuer.rstrip('/')}/.well-known/openid-configuration")
            if told.get("issuer") != self.issuer:
                raise UnavailableError("The company's sign-in tells another name than the one that is set.")
            self._told, self._keys, self._told_at = told, None, self._clock()
        address = str(self._told.get(name, ""))
        try:
            _require_https(address)
        except ValueError:
            raise UnavailableError("The company's sign-in tells an address without https.") from None
        return address

    def _get_keys(self, *, anew: bool = False) -> KeySet:
        if self._keys is None or anew:
            self._keys = KeySet.import_key_set(_fetch(self._tell("jwks_uri")))  # type: ignore[arg-type]
        return self._keys


def _decode(text: str, keys: KeySet, get_new_keys: Any) -> jwt.Token:
    try:
        return jwt.decode(text, keys, algorithms=_ALGORITHMS)
    except (JoseError, ValueError):
        # the provider may have taken new keys since
        return jwt.decode(text, get_new_keys(), algorithms=_ALGORITHMS)


def _fetch(address: str) -> dict[str, Any]:
    """Return what a provider tells; where it leads elsewhere, that is not followed."""
    try:
        with Session() as session:
            answer = session.get(address, timeout=_TIMEOUT_S, allow_redirects=False)
            told = answer.json() if answer.status_code == 200 else None
    except (RequestException, ValueError):
        told = None
    if not isinstance(told, dict):
        raise UnavailableError("The company's sign-in does not answer at the moment.")
    return told


def _require_https(address: str) -> None:
    parts = urlsplit(address)
    if not (parts.scheme == "https" and parts.hostname) and not (
        parts.scheme == "http" and parts.hostname in _LOOPBACK
    ):
        raise ValueError(f"a provider is reached by https, not by {address!r}")
