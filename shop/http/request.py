"""A typed request: who asks, from which terminal, and whether a fragment is wanted."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

from django.core.exceptions import ObjectDoesNotExist, ValidationError
from django.core.handlers.wsgi import WSGIRequest
from django.db import DataError, models
from django.db.models import QuerySet
from django.http import Http404
from django.utils import timezone
from django.utils.functional import cached_property

from shop.actions.signing import Grant
from shop.clock import shop_day
from shop.errors import Refusal
from shop.http.seat import Seat
from shop.models import Person, Role, Terminal
from shop.models.prepared import Prepared
from shop.permissions import roles_of
from shop.record.who import Who

if TYPE_CHECKING:
    from django_htmx.middleware import HtmxDetails

Row = TypeVar("Row", bound=models.Model)


class Asked(WSGIRequest):
    """What a view gets. Who asks and from where comes from the seat, never from the form.

    Only annotations and derived values: the gate gives the server's own request object this class.
    """

    htmx: HtmxDetails
    seat: Seat
    #: The signature that the posted PIN allows; set by `accept` where a meaning was given.
    grant: Grant

    @cached_property
    def who(self) -> Who:
        return self.seat.who

    @property
    def person(self) -> Person:
        """Who is signed in; only pages behind the gate may ask."""
        if self.seat.person is None:
            raise Refusal("Nobody is signed in here. Sign in and try again.")
        return self.seat.person

    @property
    def terminal(self) -> Terminal | None:
        return self.seat.terminal

    @cached_property
    def roles(self) -> frozenset[Role]:
        """The roles held today, for what a page offers; actions look them up again in their transaction."""
        if self.seat.person is None:
            return frozenset()
        return roles_of(self.seat.person, shop_day(timezone.now()))

    @property
    def is_poll(self) -> bool:
        """A page asking by itself whether anything changed: nobody touched a key."""
        return "stamp" in self.GET


def find_or_404(rows: QuerySet[Row], **lookup: Any) -> Row:
    """The one row, or the 404 page: also for a key that no database could hold."""
    try:
        return rows.get(**lookup)
    except (ObjectDoesNotExist, ValueError, OverflowError, DataError, ValidationError) as error:
        raise Http404 from error


def kept_or_404(rows: Prepared[Row], **values: Any) -> Row:
    """The same by a statement that is compiled once."""
    try:
        return rows.one(**values)
    except (LookupError, ValueError, OverflowError, DataError) as error:
        raise Http404 from error
