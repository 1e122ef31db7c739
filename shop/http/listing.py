"""A list asked for as CSV by the address of its own page: ?as=csv, and list=name where a page has several."""

from __future__ import annotations

from django.http import HttpResponse

from shop.http.request import Asked
from shop.lists import CsvList


def csv_asked(request: Asked) -> bool:
    return request.GET.get("as") == "csv"


def csv_answer(found: CsvList) -> HttpResponse:
    response = HttpResponse(found.text(), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{found.name}.csv"'
    return response
