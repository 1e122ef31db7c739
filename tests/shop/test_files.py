"""Files from outside (shop.files). Bad ones are made by a general PDF library and by hand."""

from __future__ import annotations

import io
import zlib

import pikepdf
import pytest
from PIL import Image

from shop.files import BadFile, clean_document, clean_pdf, clean_picture


def pdf(*, script: str = "", encrypt: bool = False, attach: bool = False, launch: bool = False) -> bytes:
    kept = io.BytesIO()
    with pikepdf.new() as made:
        made.add_blank_page()
        if script:
            made.Root.OpenAction = made.make_indirect(
                pikepdf.Dictionary(S=pikepdf.Name.JavaScript, JS=script, Type=pikepdf.Name.Action)
            )
        if launch:
            made.Root.OpenAction = pikepdf.Dictionary(S=pikepdf.Name.Launch, F="program")
        if attach:
            made.attachments["more.txt"] = b"more"
        locked = pikepdf.Encryption(owner="secret", user="secret") if encrypt else False
        mode = pikepdf.ObjectStreamMode.generate
        made.save(kept, encryption=locked, object_stream_mode=mode)
    return kept.getvalue()


def picture(kind: str = "PNG", size: tuple[int, int] = (20, 10), **more: object) -> bytes:
    kept = io.BytesIO()
    Image.new("RGB", size, "navy").save(kept, kind, **more)
    return kept.getvalue()


def test_a_plain_pdf_is_kept_as_it_came() -> None:
    plain = pdf()
    assert clean_document(plain) == (plain, "application/pdf")


@pytest.mark.parametrize(
    ("made", "said"),
    [
        ({"script": "app.alert(1)"}, "JavaScript|JS"),
        ({"launch": True}, "Launch"),
        ({"attach": True}, "EmbeddedFile"),
        ({"encrypt": True}, "locked with a password"),
    ],
)
def test_a_pdf_that_acts_or_is_locked_is_refused(made: dict[str, object], said: str) -> None:
    with pytest.raises(BadFile, match=said):
        clean_pdf(pdf(**made))  # type: ignore[arg-type]


def hidden(inner: bytes, header: bytes = b"/Filter /FlateDecode") -> bytes:
    """A PDF with one object stream; enough of a file for the look-through."""
    return b"%PDF-1.7\n1 0 obj <</Type /ObjStm " + header + b">>\nstream\n" + inner + b"\nendstream endobj\n%%EOF\n"


@pytest.mark.parametrize(
    "file",
    [
        hidden(zlib.compress(b"5 0 <</S /JavaScript /JS (x)>>")),
        hidden(zlib.compress(b"5 0 <</S /Java#53cript>>")),
        hidden(b"5 0 <</S /Launch>>", header=b""),
        # A note in the header that looks like an object's beginning does not hide what stands before it.
        hidden(zlib.compress(b"5 0 <</S /JavaScript>>"), header=b"/Filter /FlateDecode /Note (obj)"),
        hidden(zlib.compress(b"5 0 <</S /JavaScript>>"), header=b"/Filter /FlateDecode /Note (endobj 7 0 obj)"),
        b"%PDF-1.4\n1 0 obj <</S /#4caunch>> endobj\n%%EOF\n",
        b"%PDF-1.4\n1 0 obj <</#45ncrypt 2 0 R>> endobj\n%%EOF\n",
    ],
)
def test_what_is_hidden_in_streams_or_spelt_in_hex_is_found(file: bytes) -> None:
    with pytest.raises(BadFile, match=r"more than a drawing|locked"):
        clean_pdf(file)


def test_the_same_stream_without_an_action_is_kept() -> None:
    for note in (b"", b" /Note (obj)"):
        file = hidden(zlib.compress(b"5 0 <</S /GoTo>>"), header=b"/Filter /FlateDecode" + note)
        assert clean_pdf(file) == file


def test_an_object_stream_that_cannot_be_looked_into_is_refused() -> None:
    with pytest.raises(BadFile, match="packed in an unusual way"):
        clean_pdf(hidden(b"789c0300", header=b"/Filter [/ASCIIHexDecode /FlateDecode]"))


def test_a_stream_that_unpacks_without_end_is_refused() -> None:
    with pytest.raises(BadFile, match="unpacks to more"):
        clean_pdf(hidden(zlib.compress(b"0" * 61_000_000)))


@pytest.mark.parametrize(
    ("file", "said"),
    [
        (b"", "is empty"),
        (b"hello", "cannot be opened"),
        (b"<svg xmlns='http://www.w3.org/2000/svg' onload='x()'/>", "cannot be opened"),
        (b"%PDF-1.7 cut off", "damaged or cut off"),
        (picture("JPEG", (200, 200))[:400], "cannot be opened"),
        (b"%PDF-1.7\n" + b"0" * 10_000_001 + b"%%EOF", "larger than 10 MB"),
        (b"\x89PNG" + b"0" * 8_000_001, "larger than 8 MB"),
    ],
)
def test_another_kind_of_file_is_refused(file: bytes, said: str) -> None:
    with pytest.raises(BadFile, match=said):
        clean_document(file)


def test_a_picture_is_written_anew_without_what_stood_beside_it() -> None:
    odd = picture() + b"<script>alert(1)</script>"
    kept, kind = clean_picture(odd)
    assert kind == "image/png"
    assert b"script" in odd
    assert b"script" not in kept
    assert Image.open(io.BytesIO(kept)).size == (20, 10)


def test_a_camera_picture_loses_its_notes_and_stands_upright() -> None:
    exif = Image.Exif()
    exif[0x0112], exif[0x010F] = 6, "maker of the camera"
    kept, kind = clean_picture(picture("JPEG", exif=exif))
    assert kind == "image/jpeg"
    assert b"maker of the camera" not in kept
    assert Image.open(io.BytesIO(kept)).size == (10, 20)


def test_a_picture_with_too_many_pixels_is_refused() -> None:
    with pytest.raises(BadFile, match="too many pixels"):
        clean_picture(picture(size=(8_000, 5_001)))
