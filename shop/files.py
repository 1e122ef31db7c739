"""Files from outside: opened, looked through, and kept only when they are nothing but a drawing or a picture.

A PDF is refused when it is locked or carries scripts, programs to launch, forms that send, or other files. A
picture is decoded whole and written anew, so that what is kept is the picture and nothing beside it.
"""

from __future__ import annotations

import io
import re
import warnings
import zlib
from collections.abc import Iterator

from PIL import Image, UnidentifiedImageError

from shop.errors import Refusal

LARGEST_PDF = 10_000_000
LARGEST_PICTURE = 8_000_000
MOST_PIXELS = 40_000_000
PDF, PNG, JPEG = "application/pdf", "image/png", "image/jpeg"

_ACTIVE = re.compile(
    rb"/(JavaScript|JS|Launch|EmbeddedFiles?|RichMedia|SubmitForm|ImportData|XFA|GoToR|GoToE|Movie|Sound)\b"
)
_STREAM = re.compile(rb"stream\r?\n(.*?)endstream", re.DOTALL)
_HEX_NAME = re.compile(rb"#([0-9A-Fa-f]{2})")
_MOST_UNPACKED = 60_000_000


class BadFile(Refusal):
    """The file is not of a kind that is taken here, or holds more than it should."""

    def __init__(self, text: str) -> None:
        super().__init__(text, field="file")


def clean_document(content: bytes) -> tuple[bytes, str]:
    """A drawing or an instruction sheet: the bytes to keep and their type. Raises BadFile."""
    if content[:1024].lstrip().startswith(b"%PDF-"):
        return clean_pdf(content), PDF
    return clean_picture(content)


def clean_pdf(content: bytes) -> bytes:
    """The PDF as it came, once it is known to hold nothing that acts. Raises BadFile."""
    if len(content) > LARGEST_PDF:
        raise BadFile(f"The PDF is larger than {LARGEST_PDF // 1_000_000} MB. Save it smaller.")
    if not content.lstrip().startswith(b"%PDF-") or b"%%EOF" not in content[-2048:]:
        raise BadFile("The PDF is damaged or cut off. Save it again and choose it anew.")
    for part in _objects(content):
        plain = _HEX_NAME.sub(lambda match: bytes([int(match[1], 16)]), part)
        if b"/Encrypt" in plain:
            raise BadFile("The PDF is locked with a password. Save it without one.")
        if found := _ACTIVE.search(plain):
            raise BadFile(f"The PDF holds more than a drawing ({found[1].decode()}). Print it to a plain PDF first.")
    return content


def _objects(content: bytes) -> Iterator[bytes]:
    """The PDF's own text, and the text of its object streams, in which objects may be packed."""
    yield _STREAM.sub(b"", content)
    room, before = _MOST_UNPACKED, 0
    for match in _STREAM.finditer(content):
        # From the end of the stream before: where an object begins can be feigned by a note in its header.
        header, before = content[before : match.start()], match.end()
        header = _HEX_NAME.sub(lambda found: bytes([int(found[1], 16)]), header)
        if b"/ObjStm" not in header:
            continue
        if b"/Filter" not in header:
            yield match[1]
            continue
        try:
            packed = zlib.decompressobj()
            unpacked = packed.decompress(match[1], room)
        except zlib.error as error:
            raise BadFile("The PDF is packed in an unusual way. Print it to a plain PDF first.") from error
        room -= len(unpacked)
        if room <= 0 or packed.unconsumed_tail:
            raise BadFile("The PDF unpacks to more than can be looked through. Save it smaller.")
        yield unpacked


def clean_picture(content: bytes) -> tuple[bytes, str]:
    """The picture decoded and written anew, and its type: PNG stays PNG, the rest becomes JPEG."""
    if not content:
        raise BadFile("The file is empty. Choose it again.")
    if len(content) > LARGEST_PICTURE:
        raise BadFile(f"The picture is larger than {LARGEST_PICTURE // 1_000_000} MB. Save it smaller.")
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            return _written_anew(content)
    except (
        UnidentifiedImageError,
        Image.DecompressionBombError,
        Warning,
        OSError,
        ValueError,
        SyntaxError,
    ) as error:
        raise BadFile("This cannot be opened as PDF, PNG, JPEG or WebP. Choose another file.") from error


def _written_anew(content: bytes) -> tuple[bytes, str]:
    with Image.open(io.BytesIO(content), formats=("PNG", "JPEG", "WEBP")) as picture:
        if picture.width * picture.height > MOST_PIXELS:
            raise BadFile("The picture has too many pixels. Save it smaller.")
        is_png = picture.format == "PNG"
        turned = _upright(picture).convert("RGB")
    kept = io.BytesIO()
    if is_png:
        turned.save(kept, "PNG")
        return kept.getvalue(), PNG
    turned.save(kept, "JPEG", quality=88)
    return kept.getvalue(), JPEG


def small_copy(content: bytes, edge: int) -> bytes:
    """A JPEG that fits a square of so many pixels, for a list of pictures. Raises BadFile when it cannot be opened."""
    try:
        with Image.open(io.BytesIO(content), formats=("PNG", "JPEG")) as picture:
            picture.draft("RGB", (edge, edge))
            small = picture.convert("RGB")
        small.thumbnail((edge, edge))
    except (UnidentifiedImageError, Image.DecompressionBombError, OSError, ValueError, SyntaxError) as error:
        raise BadFile("This picture cannot be opened any more.") from error
    kept = io.BytesIO()
    small.save(kept, "JPEG", quality=80)
    return kept.getvalue()


_TURNS = {3: 180, 6: 270, 8: 90}


def _upright(picture: Image.Image) -> Image.Image:
    """Cameras note how they were held beside the picture; that note is not kept, so the picture is turned."""
    degrees = _TURNS.get(picture.getexif().get(0x0112, 1))
    return picture.rotate(degrees, expand=True) if degrees else picture
