"""Photos of an operation: the picture as it was written anew when it came in, and a small copy for lists."""

from __future__ import annotations

from django.http import Http404, HttpResponse

from builds.actions.returning import TAKES_BACK
from builds.models import Photo, ReturnPhoto
from shop.files import JPEG, BadFile, small_copy
from shop.http import Asked, find_or_404, methods, needs
from shop.record.models import Blob

#: Twice the size at which it is drawn, for fine screens.
SMALL_EDGE = 320
WEEK_S = 7 * 24 * 60 * 60


@methods("GET")
def photo(request: Asked, pk: int) -> HttpResponse:
    return _whole(_blob(find_or_404(Photo.objects.all(), pk=pk).sha256))


@methods("GET")
def photo_small(request: Asked, pk: int) -> HttpResponse:
    return _small(_blob(find_or_404(Photo.objects.all(), pk=pk).sha256))


@methods("GET")
@needs(*TAKES_BACK)
def return_picture(request: Asked, pk: int) -> HttpResponse:
    """A picture of what came back; `?small` gives the copy for lists."""
    blob = _blob(find_or_404(ReturnPhoto.objects.all(), pk=pk).sha256)
    return _small(blob) if "small" in request.GET else _whole(blob)


def _whole(blob: Blob) -> HttpResponse:
    return _answer(bytes(blob.content), blob.content_type)


def _small(blob: Blob) -> HttpResponse:
    """A photo is never changed, so the browser may keep the copy: a station draws its page anew at every Enter."""
    try:
        response = _answer(small_copy(bytes(blob.content), SMALL_EDGE), JPEG)
    except BadFile as error:
        raise Http404 from error
    response["Cache-Control"] = f"private, max-age={WEEK_S}, immutable"
    return response


def _blob(sha256: str) -> Blob:
    blob = Blob.objects.filter(sha256=sha256).first()
    if blob is None or not blob.content_type.startswith("image/"):
        raise Http404
    return blob


def _answer(content: bytes, content_type: str) -> HttpResponse:
    response = HttpResponse(content, content_type=content_type)
    response["Content-Security-Policy"] = "sandbox; default-src 'none'"
    response["X-Content-Type-Options"] = "nosniff"
    return response
