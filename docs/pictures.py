"""Draws the README's pictures from the demo: `make pictures`, after `make demo SERVE=0`."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import threading
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))
os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
os.environ.setdefault("DATABASE_URL", f"sqlite:///{ROOT / 'var' / 'demo' / 'demo.sqlite3'}")
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "1")

import django  # noqa: E402

django.setup()

from django.db.models import Count  # noqa: E402
from django.urls import reverse  # noqa: E402
from PIL import Image  # noqa: E402
from playwright.sync_api import Browser, Page, sync_playwright  # noqa: E402

from config.demo import district  # noqa: E402
from config.serving import free_port, serve_forever  # noqa: E402
from config.wsgi import application  # noqa: E402
from notices.links import token_of  # noqa: E402
from notices.models import Letter, LetterFile  # noqa: E402
from registry.models import Assembly  # noqa: E402
from tests.chromium import ARGUMENTS, chromium_path  # noqa: E402

OUT = ROOT / "docs" / "pictures"
DESK = {"width": 1280, "height": 1000}
PHONE = {"width": 390, "height": 844}


def main() -> None:
    """Serve the demo's database on loopback, log in, and keep one picture per page."""
    OUT.mkdir(parents=True, exist_ok=True)
    address = serve_in_background()
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=chromium_path(), args=list(ARGUMENTS))
        desk_pictures(chromium, address=address)
        phone_picture(chromium, address=address)
        chromium.close()
    letter_picture()


def serve_in_background() -> str:
    """Start the site in a thread of this process; it ends with it."""
    port = free_port(8700)
    threading.Thread(
        target=serve_forever, kwargs={"application": application, "port": port}, daemon=True
    ).start()
    return f"http://127.0.0.1:{port}"


def desk_pictures(chromium: Browser, *, address: str) -> None:
    """Log in as the clerk and draw the desk's pages."""
    page = chromium.new_page(viewport=DESK)  # type: ignore[arg-type]
    page.goto(address + reverse("login"))
    page.fill("input[name=username]", "clerk")
    page.fill("input[name=password]", district.PASSWORD)
    page.press("input[name=password]", "Enter")
    page.wait_for_load_state("networkidle")
    for name, path in desk_addresses().items():
        keep(page, name=name, address=address + path)


def desk_addresses() -> dict[str, str]:
    """Return which page each picture shows."""
    code = {"code": district.CODE}
    assembly = telling_assembly()
    return {
        "today": reverse("today", kwargs=code),
        "registry": reverse("registry", kwargs=code),
        "assembly": reverse("assembly", kwargs={**code, "pk": assembly}),
        "rounds": reverse("rounds", kwargs=code),
    }


def telling_assembly() -> int:
    """Return an assembly that failed and was written to: its page has most to show."""
    failed = Assembly.objects.filter(
        program__code=district.CODE, state__failed_on__isnull=False, field_tests__isnull=False
    )
    counted = failed.annotate(
        facts_known=Count("facts", distinct=True), letters=Count("notices", distinct=True)
    )
    return counted.filter(letters__gt=0).order_by("-facts_known", "pk")[0].pk


def keep(page: Page, *, name: str, address: str) -> None:
    """Open a page, wait until it is drawn, and keep what a window shows of it."""
    page.goto(address)
    page.wait_for_load_state("networkidle")
    page.screenshot(path=str(OUT / f"{name}.png"))
    slim(OUT / f"{name}.png")


def slim(path: Path) -> None:
    """Keep a picture in 128 colours: two inks on paper need no more."""
    with Image.open(path) as picture:
        few = picture.convert("RGB").quantize(128)
    few.save(path, optimize=True)


def phone_picture(chromium: Browser, *, address: str) -> None:
    """Draw the owner's page as a phone shows it, through the code printed in a letter."""
    letter = shown_letter()
    page = chromium.new_page(viewport=PHONE, device_scale_factor=2)  # type: ignore[arg-type]
    page.goto(address + owner_path(letter))
    page.wait_for_load_state("networkidle")
    page.screenshot(path=str(OUT / "owner.png"))
    slim(OUT / "owner.png")


def owner_path(letter: Letter) -> str:
    """Return the path of the link printed in a letter."""
    token = token_of(program_code=letter.program.code, number=letter.number)
    return reverse("owner-page", args=[token])


def shown_letter() -> Letter:
    """Return the letter shown: the first about something overdue."""
    letters = Letter.objects.filter(program__code=district.CODE, kind="first-overdue")
    return letters.order_by("pk")[0]


def letter_picture() -> None:
    """Draw the first page of the letter shown, with poppler."""
    drawer = shutil.which("pdftoppm")
    if drawer is None:
        raise SystemExit("pdftoppm is missing: install poppler-utils.")
    kept = LetterFile.objects.get(letter=shown_letter())
    with tempfile.TemporaryDirectory() as folder:
        pdf = Path(folder) / "letter.pdf"
        pdf.write_bytes(bytes(kept.pdf))
        subprocess.run(
            [drawer, "-png", "-r", "80", "-singlefile", str(pdf), str(OUT / "letter")], check=True
        )
    slim(OUT / "letter.png")


if __name__ == "__main__":
    main()
