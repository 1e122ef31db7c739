"""Whether this server can do its work: asked by the container's health check, by nobody else."""

from __future__ import annotations

from django.contrib.auth.decorators import login_not_required
from django.db import connection
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe


@login_not_required
@require_safe
def health(request: HttpRequest) -> HttpResponse:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1")
    return HttpResponse("ok\n", content_type="text/plain")
