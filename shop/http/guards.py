"""What a view asks for before it starts. The gate has already made sure that somebody is signed in."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec

from django.http import HttpResponseBase
from django.views.decorators.http import require_http_methods

from shop.http.pages import plain_page
from shop.http.request import Asked
from shop.models import Role
from shop.permissions import role_words

Rest = ParamSpec("Rest")
View = Callable[Concatenate[Asked, Rest], HttpResponseBase]


def needs(*roles: Role) -> Callable[[View[Rest]], View[Rest]]:
    """Only for somebody who holds one of the roles today; others get a page that says so (403)."""

    def guarded(view: View[Rest]) -> View[Rest]:
        @wraps(view)
        def inner(request: Asked, /, *args: Rest.args, **kwargs: Rest.kwargs) -> HttpResponseBase:
            if request.roles.isdisjoint(roles):
                return plain_page(
                    request,
                    403,
                    f"This needs {role_words(roles)}. {request.person.name} does not hold it today.",
                )
            return view(request, *args, **kwargs)

        return inner

    return guarded


def station_only(view: View[Rest]) -> View[Rest]:
    """Only from a registered terminal: the page belongs to its station."""

    @wraps(view)
    def inner(request: Asked, /, *args: Rest.args, **kwargs: Rest.kwargs) -> HttpResponseBase:
        if request.terminal is None:
            return plain_page(
                request,
                403,
                "This page belongs to a station. Open it at a registered terminal.",
            )
        return view(request, *args, **kwargs)

    return inner


def methods(*allowed: str) -> Callable[[View[Rest]], View[Rest]]:
    """Only these methods; any other gets a 405."""

    def guarded(view: View[Rest]) -> View[Rest]:
        return require_http_methods(list(allowed))(view)

    return guarded
