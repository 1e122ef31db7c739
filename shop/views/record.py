"""How the record stands: what the last nightly walks found, and the background work that was given up."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from shop.http import Asked, methods, needs
from shop.models import Role
from shop.record.models import Checkpoint, Inspection, Job
from shop.templatetags.shop_look import clock

SEES = (Role.MANAGER, Role.QUALITY)
MOST_JOBS = 50
_SHOWN_ERROR = 200


@methods("GET")
@needs(*SEES)
def record(request: Asked) -> HttpResponse:
    last = {kind: Inspection.objects.filter(kind=kind).order_by("-at", "-pk").first() for kind in Inspection.Kind}
    given_up = Job.objects.filter(state=Job.State.GIVEN_UP).order_by("-finished")
    now = timezone.now()
    context = {
        "walk_columns": _columns("Walk", "State", "When", "Events", "Took"),
        "job_columns": _columns("Kind", "Key", "Given up", "Why"),
        "walks": [_walk(Inspection.Kind(kind), found, now) for kind, found in last.items()],
        "findings": [said for found in last.values() if found is not None for said in found.findings],
        "checkpoint": Checkpoint.objects.order_by("size").last(),
        "jobs": [_job(job) for job in given_up[:MOST_JOBS]],
        "more": max(given_up.count() - MOST_JOBS, 0),
    }
    return render(request, "shop/record.html", context)


def _columns(*labels: str) -> list[dict[str, str]]:
    return [{"label": label} for label in labels]


def _walk(kind: Inspection.Kind, found: Inspection | None, now: datetime) -> dict[str, Any]:
    cells: list[dict[str, object]] = [{"text": kind.label}]
    if found is None:
        return {
            "stopped": True,
            "cells": [*cells, {"state": "absent"}, {"text": "never"}, {"text": "–"}, {"text": "–"}],
        }
    state = found.state(now)
    told = [{"text": clock(found.at)}, {"text": str(found.events)}, {"text": f"{found.seconds} s"}]
    return {"stopped": state != "valid", "cells": [*cells, {"state": state}, *told]}


def _job(job: Job) -> dict[str, Any]:
    """The first line of the error is the sentence; the rest is for who mends it and stands in the log."""
    error = job.error.partition("\n")[0][:_SHOWN_ERROR]
    return {"cells": [{"text": job.kind}, {"text": job.key}, {"text": clock(job.finished)}, {"text": error}]}
