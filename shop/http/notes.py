"""Messages for the next page, carried by a cookie that is bound to the host like the others."""

from __future__ import annotations

from django.conf import settings
from django.contrib.messages.storage.cookie import CookieStorage


class HostBoundMessages(CookieStorage):
    """A message must not cost a write, so it travels signed in a cookie."""

    cookie_name = f"{settings.COOKIE_PREFIX}messages"
