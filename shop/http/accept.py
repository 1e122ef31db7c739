"""One accepted submission, one act: the way from a posted form to an action and back to the page.

A form carries a key that the server made when it drew it. The key, a fingerprint of what was posted and a
reference to the result are stored in the transaction of the act itself. The same key with the same body gives
the same answer again; with another body it is refused.
"""

from __future__ import annotations

import contextlib
import hashlib
import uuid
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeVar

from django.contrib import messages
from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError, OperationalError, transaction
from django.forms import Form
from django.http import HttpResponse, HttpResponseRedirect

from shop.actions.signing import Grant, check_pin
from shop.errors import Conflict, Refusal
from shop.http.pages import plain_page
from shop.http.request import Asked
from shop.record import submission
from shop.record.locks import busy, told_again
from shop.record.sole import sole_act
from shop.record.turn import turn

Made = TypeVar("Made")
BUSY = "Somebody else is saving at this moment. Nothing was saved; press the key again."


@dataclass(frozen=True)
class Done:
    """What an accepted act leads to: the page that shows it, and a sentence that says what was done."""

    url: str
    said: str = ""


def accept(
    request: Asked,
    do: Callable[[], Made],
    *,
    then: Callable[[Made], Done],
    draw: Callable[[Refusal | None], HttpResponse],
    answer: Callable[[Done], HttpResponse] | None = None,
    form: Form | None = None,
    meaning: str = "",
    prove: Callable[[], None] | None = None,
    look_first: bool = True,
) -> HttpResponse:
    """Do what was posted, once, and answer.

    `draw` draws the page again with everything that was entered and the refusal; `answer` draws the fragment
    that a script asked for (without it the page is loaded anew). `form`, when given, is checked first and
    gets the refusal at its field. With a `meaning` the posted PIN is checked before the transaction opens (a
    PIN's hash is slow on purpose), and `do` finds the grant as `request.grant`; any
    other slow check that may refuse goes into `prove`.

    Without `look_first` the key is not looked up beforehand: a repeated press is told by its key when it is kept, or
    when the act refuses what is there already, and its transaction is void. `do` is then one act, whose refusal ends
    the transaction. For acts that are done all day.
    """
    key = submission.read_key(request.POST.get("submission", ""))
    if key is None:
        return plain_page(
            request,
            400,
            "This form came without its key, so a repeated press could not be told from a new entry. "
            "Nothing was saved. Open the page again and enter it there.",
        )
    mark = _mark(request)
    if look_first and (before := _again(request, key, mark, answer)) is not None:
        return before
    if form is not None and not form.is_valid():
        return _redrawn(draw(None), Refusal.status)
    try:
        if prove is not None:
            prove()
        if meaning:
            request.grant = _granted(request, meaning)
        with contextlib.nullcontext() if look_first else sole_act():
            done = _once(request, key, mark, do, then)
    except Refusal as refusal:
        # A twin of this very request may have been first; then its answer is ours too.
        return _again(request, key, mark, answer) or refused(refusal, draw, form)
    except IntegrityError:
        if (before := _again(request, key, mark, answer)) is not None:
            return before
        raise
    return _answered(request, done, answer)


def _granted(request: Asked, meaning: str) -> Grant:
    return check_pin(person=request.person, pin=request.POST.get("pin", ""), terminal=request.terminal, meaning=meaning)


def refused(refusal: Refusal, draw: Callable[[Refusal | None], HttpResponse], form: Form | None = None) -> HttpResponse:
    """The page drawn again, the sentence at its field."""
    if form is not None:
        form.add_error(refusal.field if refusal.field in form.fields else None, refusal.text)
    return _redrawn(draw(refusal), refusal.status)


def _mark(request: Asked) -> bytes:
    files = [
        (name, [_digest(file) for file in several if isinstance(file, UploadedFile)])
        for name, several in request.FILES.lists()
    ]
    return submission.fingerprint(request.method or "", request.path, request.POST.lists(), by=request.who, files=files)


def _digest(file: UploadedFile[Any]) -> str:
    found = hashlib.sha256()
    for chunk in file.chunks():
        found.update(chunk)
    file.seek(0)
    return found.hexdigest()


def _again(
    request: Asked, key: uuid.UUID, mark: bytes, answer: Callable[[Done], HttpResponse] | None
) -> HttpResponse | None:
    """The answer that this key had already; None when the key is new."""
    try:
        before = submission.earlier(key, mark)
    except submission.OtherBody as refusal:
        return plain_page(request, refusal.status, refusal.text)
    return None if before is None else _answered(request, Done(**before.result), answer)


def _once(request: Asked, key: uuid.UUID, mark: bytes, do: Callable[[], Made], then: Callable[[Made], Done]) -> Done:
    try:
        with turn(), transaction.atomic():
            done = then(do())
            submission.keep(key, mark, {"url": done.url, "said": done.said}, by=request.who)
    except Conflict as conflict:
        raise told_again(conflict) from conflict
    except OperationalError as error:
        if not busy(error):
            raise
        raise Conflict(BUSY) from error
    return done


def _answered(request: Asked, done: Done, answer: Callable[[Done], HttpResponse] | None) -> HttpResponse:
    if request.htmx and answer is not None:
        return answer(done)
    if done.said:
        messages.success(request, done.said)
    if request.htmx:
        return HttpResponse(headers={"HX-Redirect": done.url})
    found = HttpResponseRedirect(done.url)
    found.status_code = 303
    return found


def _redrawn(response: HttpResponse, status: int) -> HttpResponse:
    response.status_code = status
    return response
