"""An answer on paper."""

from __future__ import annotations

from importlib import import_module

from django.http import HttpResponse


def pdf_answer(html: str, name: str) -> HttpResponse:
    """The page as PDF under this name, to be looked at and printed."""
    # WeasyPrint is heavy: it is loaded when the first paper is made, not when the server starts.
    pdf = import_module("builds.certificates.pdf").render_pdf(html)
    response = HttpResponse(pdf, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{name}.pdf"'
    return response
