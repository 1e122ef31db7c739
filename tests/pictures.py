"""The README's pictures: start the demo in a folder of its own, drive its pages, write small PNGs.

python3 manage.py pictures
"""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from io import BytesIO
from pathlib import Path

from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from shop.serving import HOST, answers, free_port
from tests.browser.hands import Bench
from tests.services import chromium_program

HERE = Path(__file__).resolve().parent.parent
PICTURES = HERE / "docs" / "pictures"
START_S, CERTIFICATE_S = 600, 180
COLOURS = 64
PHONE = {"width": 390, "height": 780}


@contextmanager
def demo() -> Iterator[str]:
    """The demo's web and worker on a free port; gives the address."""
    address = f"http://{HOST}:{free_port(8100)}"
    port = address.rpartition(":")[2]
    server = subprocess.Popen([sys.executable, "manage.py", "serve", "--demo", "--port", port], cwd=HERE)
    try:
        end = time.monotonic() + START_S
        while not answers(f"{address}/health/"):
            if server.poll() is not None or time.monotonic() > end:
                raise SystemExit("The demo did not start; its reason is above.")
            time.sleep(0.5)
        yield address
    finally:
        server.send_signal(signal.SIGTERM)
        server.wait(timeout=30)


def keep(name: str, png: bytes) -> None:
    """A palette of few colours is enough for plain pages, and a quarter of the size."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    with Image.open(BytesIO(png)) as picture:
        picture.convert("RGB").quantize(COLOURS).save(PICTURES / f"{name}.png", optimize=True)
    print(f"  docs/pictures/{name}.png  {(PICTURES / f'{name}.png').stat().st_size // 1000} kB", flush=True)


def link_of(page: Page, pattern: str) -> str:
    """The first address on this page that fits."""
    every = [link.get_attribute("href") or "" for link in page.locator("a").all()]
    return next(address for address in every if re.search(pattern, address))


def desk(bench: Bench) -> None:
    """Floor, red tag and axle file, as people at a desk see them."""
    keep("floor", bench.office("dovie", "/floor/").screenshot())
    tags = bench.open("/red-tags/")
    keep("red-tag", bench.open(link_of(tags, r"^/red-tags/\d+/$")).screenshot())
    keep("axle-file", bench.open(f"/axles/{serial(bench, '0139')}/").screenshot())


def serial(bench: Bench, number: str) -> str:
    return link_of(bench.open("/axles/"), rf"^/axles/[^/]+-{number}-./$").split("/")[2]


def station(bench: Bench) -> None:
    """The bolt without a reading, at the bench where it is missing."""
    bench.register("dovie")
    axle = serial(bench, "0148")
    bench.press_on(bench.page.get_by_role("button", name=re.compile("^(Leave|Sign out)$")))
    bench.page.wait_for_timeout(1000)
    bench.sign_in("rusk", f"/axles/{axle}/operations/220/-/")
    take = bench.page.get_by_role("button", name=re.compile("Take (it )?up", re.IGNORECASE))
    if take.count():
        bench.sends(lambda: bench.press(take.first))
    keep("station", bench.page.screenshot())


def customer(browser: Browser, address: str) -> None:
    """The customer's page on a phone, and the first page of a certificate from there."""
    told = Path(os.environ["AXLEBOOK_DATA"], "demo.txt").read_text("utf-8")
    path = re.search(r"/yours/\S+", told)
    assert path is not None
    page = browser.new_context(viewport=PHONE).new_page()  # type: ignore[arg-type]
    end = time.monotonic() + CERTIFICATE_S
    while time.monotonic() < end:
        page.goto(f"{address}{path.group()}")
        enter = page.locator("main form button")
        if enter.count() and "/order/" not in page.url:
            with page.expect_navigation():
                enter.first.click()
        if page.locator("a[href$='/1/']").count():
            break
        time.sleep(2)
    keep("customer", page.screenshot())
    pdf = page.request.get(f"{address}{link_of(page, r'/1/$')}").body()
    command = ["pdftoppm", "-r", "70", "-png", "-f", "1", "-l", "1", "-"]
    made = subprocess.run(command, input=pdf, capture_output=True, check=True)
    keep("certificate", made.stdout)


def main() -> int:
    program = chromium_program()
    if program is None:
        raise SystemExit("Chromium is missing: sudo apt-get install -y chromium")
    root = ["--no-sandbox"] if os.geteuid() == 0 else []
    with demo() as address, sync_playwright() as play:
        browser = play.chromium.launch(executable_path=program, args=["--disable-gpu", *root])
        desk(Bench(browser, address, "GB", "gear bench"))
        station(Bench(browser, address, "GB", "gear bench", terminal=9))
        customer(browser, address)
        browser.close()
    return 0
