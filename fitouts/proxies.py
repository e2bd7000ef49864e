"""Where a request comes from when a web server with a certificate stands in front."""

from __future__ import annotations

import ipaddress

from django.conf import settings
from django.http import HttpRequest


def client_address(request: HttpRequest) -> str:
    """Address of who asks.

    Behind a web server on this computer everybody would share its address, and eight wrong passwords of a stranger
    would lock a person out of their own account. So the last address that this web server itself added is taken. What
    anybody else writes into that header is not believed.
    """
    near = str(request.META.get("REMOTE_ADDR", ""))
    told = str(request.META.get("HTTP_X_FORWARDED_FOR", "")).rpartition(",")[2].strip()
    if settings.SECURE_HTTPS and told and _is(near, loopback=True) and _is(told):
        return told
    return near


def _is(text: str, *, loopback: bool = False) -> bool:
    try:
        address = ipaddress.ip_address(text)
    except ValueError:
        return False
    return address.is_loopback if loopback else True
