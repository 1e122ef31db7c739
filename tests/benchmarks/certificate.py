"""A finished axle's certificate beside a naive template of the same words, and two workers beside one.

The naive template: collector running, column widths found by the renderer, collapsed borders, one table with a row a
reading. Both are tagged PDF/A-3a with the record inside. Prints ratios of one run; asserts that both papers show every
word of each other. Run it on its own, with nothing else on the machine:
    python3 manage.py test -m benchmark tests/benchmarks/certificate.py -s -n0
"""

from __future__ import annotations

import html as entities
import io
import re
import statistics
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from contextlib import contextmanager, nullcontext
from dataclasses import dataclass
from datetime import timedelta
from multiprocessing import get_context
from typing import Any

import django
import pypdf
import pytest
from django.template import Context, Engine

from builds import jobs
from builds.actions.closing import certify, close_axle
from builds.certificates import pdf
from builds.certificates.pdf import Kept, render_pdf
from builds.models import Certifying
from tests.benchmarks.rounds import ROUNDS, Taken, commit_ms, told
from tests.shopfloor import open_shop

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.benchmark, pytest.mark.timeout(900)]
BUDGET, SPEED_UP, RENDERS = 0.5, 1.8, 4
FROM, TO = "<h2>4 Measured results</h2>", "<h2>5 Welds</h2>"
RESULTS = """<table><thead><tr><th scope="col">Characteristic</th><th scope="col">Limits</th><th scope="col">at</th>
<th scope="col">Read</th><th scope="col">Gauge</th><th scope="col">In/out</th></tr></thead><tbody>
{% for group in results.stations %}<tr><th colspan="6">{{ group.name }}</th></tr>{% for row in group.rows %}
{% for cell in row.cells %}<tr><th scope="row">{{ row.code }} {{ row.name }}</th><td>{{ row.limits }}</td>
<td>{{ cell.at }}</td><td>{{ cell.shown }} {{ cell.out }} {% if cell.other %}({{ cell.other }}){% endif %}
{% if cell.tries %}, try {{ cell.tries }}{% endif %}</td><td>{{ row.gauges }}</td><td>{{ row.verdict }}
{% if row.late %}; {{ row.late }}{% endif %}</td></tr>{% endfor %}{% endfor %}{% endfor %}
<tr><th colspan="6">By position</th></tr>{% for row in results.by_position %}{% for cell in row.cells %}
<tr><th scope="row">{{ row.code }} {{ row.name }}</th><td>{{ row.limits }}</td><td>{{ cell.position }}</td>
<td>{{ cell.shown }} {{ row.unit }} {{ cell.out }} {% if cell.other %}{{ cell.other }} {{ row.other_unit }}{% endif %}
{% if cell.tries %}, try {{ cell.tries }}{% endif %}</td><td>{{ row.gauges }}</td><td>{{ row.verdict }}
{% if row.late %}; {{ row.late }}{% endif %}</td></tr>{% endfor %}{% endfor %}</tbody></table>"""


@dataclass(frozen=True)
class Paper:
    """What goes into the renderer, in the shop's template and in the naive one."""

    html: str
    naive: str
    kept: Kept


def naive(html: str, context: dict[str, Any]) -> str:
    """The same words: one table of readings, one row group a table, no widths, collapsed borders."""
    head, _, rest = html.partition(FROM)
    middle, _, tail = rest.partition(TO)
    legend = middle.partition("</p>")[0] + "</p>"
    answers = middle[middle.index("<h3>Answered") :] if "<h3>Answered" in middle else ""
    table = Engine(libraries={}).from_string(RESULTS).render(Context(context))
    found = f"{head}{FROM}{legend}{table}{answers}{TO}{tail}"
    found = re.sub(r"<colgroup>.*?</colgroup>", "", found, flags=re.S)
    found = re.sub(r"</tbody>\s*<tbody>", "", found)
    for fast, plain in (("border-collapse: separate", "border-collapse: collapse"), ("table-layout: fixed", "")):
        assert fast in found
        found = found.replace(fast, plain)
    return found


@pytest.fixture
def paper(transactional_db: None, monkeypatch: pytest.MonkeyPatch) -> Paper:
    """Of a whole axle, through the pages' own actions up to the signature."""
    floor = open_shop()
    builder = floor.builder(floor.axle())
    builder.kit()
    builder.run()
    builder.now += timedelta(hours=1)
    closing = close_axle(axle=builder.axle, by=floor.who("calla"), now=builder.now)
    builder.now += timedelta(minutes=5)
    quality = floor.who("ingrith")
    certify(closing=closing, grant=builder.grant(quality, "released"), by=quality, now=builder.now)
    signed = Certifying.objects.select_related("signature__person").get(closing=closing).signature
    contexts: list[dict[str, Any]] = []
    given: list[tuple[str, Kept]] = []
    real = jobs.certificate_html
    monkeypatch.setattr(jobs, "certificate_html", lambda context: (contexts.append(context), real(context))[1])
    monkeypatch.setattr(jobs, "render_pdf", lambda html, kept: (given.append((html, kept)), b"")[1])
    jobs.render_issue(closing, 1, "A4", signed)
    html, kept = given[0]
    return Paper(html, naive(html, contexts[0]), kept)


@contextmanager
def collector_running() -> Iterator[None]:
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(pdf, "_collector_paused", nullcontext)
        yield


def words(html: str) -> set[str]:
    """Every word that is to be read: no style, no drawing, no tag, and not the marks between words."""
    body = html.partition("<body>")[2]
    body = re.sub(r"<(svg|style)\b.*?</\1>", " ", body, flags=re.S)
    read = entities.unescape(re.sub(r"<[^>]*>", " ", body)).split()
    return {bare for word in read if (bare := word.strip("();,:."))}


def printed(content: bytes) -> str:
    """The text of a PDF without its spaces, because a long word may go on in the next line."""
    pages = pypdf.PdfReader(io.BytesIO(content)).pages
    return re.sub(r"\s", "", "".join(page.extract_text() for page in pages))


def naive_pdf(paper: Paper) -> bytes:
    with collector_running():
        return render_pdf(paper.naive, paper.kept)


def test_a_certificate(paper: Paper) -> None:
    both = {"page": render_pdf(paper.html, paper.kept), "naive": naive_pdf(paper)}
    asked = words(paper.html) | words(paper.naive)
    assert len(asked) > 500
    for name, content in both.items():
        text = printed(content)
        assert [word for word in sorted(asked) if re.sub(r"\s", "", word) not in text] == [], name
    sheets = {name: len(pypdf.PdfReader(io.BytesIO(content)).pages) for name, content in both.items()}
    taken = Taken()
    for _ in range(ROUNDS):
        taken.round({"page": lambda: render_pdf(paper.html, paper.kept), "naive": lambda: naive_pdf(paper)})  # type: ignore[dict-item, return-value]
    title = f"certificate, {sheets['page']} pages beside a naive one of {sheets['naive']}"
    print(taken.report(title, "page", "naive", times=1, budget=BUDGET))


def render(paper: tuple[str, Kept]) -> int:
    return len(render_pdf(*paper))


def test_two_workers(paper: Paper) -> None:
    """The same certificates by one process and by two, each warm before it is measured.

    A process begins with `django.setup`: this module cannot be read before, because it knows models.
    """
    given, taken = [(paper.html, paper.kept)] * RENDERS, Taken()
    spawned = get_context("spawn")
    pools = {
        name: ProcessPoolExecutor(count, mp_context=spawned, initializer=django.setup)
        for name, count in (("one", 1), ("two", 2))
    }
    try:
        for pool in pools.values():
            assert len({*pool.map(render, given)}) == 1
        for _ in range(ROUNDS):
            taken.round({name: lambda pool=pool: list(pool.map(render, given)) for name, pool in pools.items()})  # type: ignore[misc]
    finally:
        for pool in pools.values():
            pool.shutdown()
    ratios, probe = taken.ratios(taken.wall, "one", "two"), commit_ms()
    middle = statistics.median(ratios)
    verdict = "contended" if not taken.is_calm("one", probe) else "met" if middle >= SPEED_UP else "MISSED"
    print(
        f"\ntwo workers, {RENDERS} certificates ({ROUNDS} rounds): {told('speed-up', ratios)};"
        f" one commit {probe:.2f} ms; budget {SPEED_UP}: {verdict}"
    )
