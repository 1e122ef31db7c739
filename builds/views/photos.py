"""Photos of an operation: the picture as it was written anew when it came in, and a small copy for lists."""

from __future__ import annotations

from django.http import Http404, HttpResponse

from builds.models import Photo
from shop.files import JPEG, BadFile, small_copy
from shop.http import Asked, find_or_404, methods
from shop.record.models import Blob

#: Twice the size at which it is drawn, for fine screens.
SMALL_EDGE = 320
WEEK_S = 7 * 24 * 60 * 60


@methods("GET")
def photo(request: Asked, pk: int) -> HttpResponse:
    blob = _blob(pk)
    return _answer(bytes(blob.content), blob.content_type)


@methods("GET")
def photo_small(request: Asked, pk: int) -> HttpResponse:
    """A photo is never changed, so the browser may keep the copy: a station draws its page anew at every Enter."""
    try:
        response = _answer(small_copy(bytes(_blob(pk).content), SMALL_EDGE), JPEG)
    except BadFile as error:
        raise Http404 from error
    response["Cache-Control"] = f"private, max-age={WEEK_S}, immutable"
    return response


def _blob(pk: int) -> Blob:
    row = find_or_404(Photo.objects.all(), pk=pk)
    blob = Blob.objects.filter(sha256=row.sha256).first()
    if blob is None or not blob.content_type.startswith("image/"):
        raise Http404
    return blob


def _answer(content: bytes, content_type: str) -> HttpResponse:
    response = HttpResponse(content, content_type=content_type)
    response["Content-Security-Policy"] = "sandbox; default-src 'none'"
    response["X-Content-Type-Options"] = "nosniff"
    return response
