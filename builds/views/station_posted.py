"""What came with the form of an entry: a figure with all that belongs to it, or a photo."""

from __future__ import annotations

from builds.actions.attaching import keep_picture
from builds.actions.judging import Entered
from shop.errors import Refusal
from shop.files import LARGEST_PICTURE
from shop.http import Asked


def posted_photo(request: Asked) -> str:
    """The picture that came with the form, kept by its hash."""
    file = request.FILES.get("photo")
    if file is None:
        raise Refusal("No photo was taken. Take one, or choose a file.", field="photo")
    if (file.size or 0) > LARGEST_PICTURE:
        raise Refusal("The photo is larger than 8 MB. Take it with a smaller size.", field="photo")
    return keep_picture(file.read())


def posted_entry(request: Asked) -> Entered:
    """What the form says was read, each field no longer than anything honest."""
    posted = request.POST
    attempt = posted.get("try", "")
    photo = posted_photo(request) if "photo" in request.FILES else ""
    return Entered(
        code=posted.get("characteristic", "")[:12],
        position=posted.get("position", "")[:24],
        text=posted.get("value", "")[:600],
        unit=posted.get("unit", "")[:12],
        gauge=posted.get("gauge", "")[:60],
        ring=posted.get("ring", "")[:60],
        reason=posted.get("reason", "")[:600],
        photo=photo,
        try_number=int(attempt) if attempt.isascii() and attempt.isdecimal() and len(attempt) < 6 else None,
        # The answer is to one figure: another typed in its place is asked about anew.
        sure="sure" in posted and posted["sure"].strip() == posted.get("value", "").strip(),
    )
