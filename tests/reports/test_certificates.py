"""Certificates: made once, kept, read back, and a public page that says whether one holds."""

from __future__ import annotations

import io
import re
from concurrent.futures import ThreadPoolExecutor
from datetime import date
from pathlib import Path

import pypdf
import pytest
import zxingcpp
from django.conf import settings
from django.core.cache import cache
from django.db import IntegrityError, connection, transaction
from django.db.models import RestrictedError
from django.test import Client
from PIL import Image

from notices.catalogues import words_in
from registry.changes import Hand
from registry.models import Assembly, Premises, Program
from reports.actions.certificates import NoCertificateError, make_certificate
from reports.domain.certificates import certificate_content
from reports.models import Certificate, FieldTest
from reports.queries.certificates import token_for, what_was_tested
from reports.views.certificates import MOST_MISSES
from tests.reports.conftest import MORNING, Load

HAND = Hand(by="Ida", at=MORNING)
pytestmark = pytest.mark.django_db


@pytest.fixture
def passed(program: Program, load: Load) -> FieldTest:
    load({"Repairs": "Cleaned check 1", "Initial RV": "1.5", "Final RV": "2.4", "Final CK1": "7.2",
          "Final CK2 Tight": "Y"})  # fmt: skip
    return FieldTest.objects.get(assembly__serial="K925771")


def made(test: FieldTest, language: str = "en") -> Certificate:
    return make_certificate(test_id=test.pk, language=language, hand=HAND)


def text_of(certificate: Certificate) -> str:
    pages = pypdf.PdfReader(io.BytesIO(bytes(certificate.pdf))).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def link_of(test: FieldTest, language: str = "en") -> str:
    return f"/c/{token_for(test, language=language, key=settings.LINK_KEY)}"


def test_it_shows_readings_limits_margins_method_tester_gauge_verdict(passed: FieldTest) -> None:
    text = text_of(made(passed))
    for told in (
        "Passed its field test of November 20, 2026, after repair",
        "RP, ¾ in",
        "K925771",
        "1 N Dogwood Ct",
        "certificate T-1000",
        "G0770, calibrated February 1, 2026",
        "USC",
        "The relief valve's opening 1.5 at least 2.0 −0.5 not met",
        "The relief valve's opening 2.4 at least 2.0 +0.4 met",
        "Cleaned check 1",
        "licensed practice decide",
    ):
        assert told in text, told


def test_it_is_made_once_and_its_bytes_are_kept(passed: FieldTest) -> None:
    first = made(passed)
    passed.tester_name = "Somebody Else"
    passed.save(update_fields=["tester_name"])
    again = made(passed)
    assert (first.pk, first.sha256) == (again.pk, again.sha256)
    assert Certificate.objects.count() == 1


@pytest.mark.database
def test_the_database_keeps_one_a_test_and_language(passed: FieldTest) -> None:
    one = made(passed)
    one.pk, one.token_hash = None, "e" * 64
    with pytest.raises(IntegrityError), transaction.atomic():
        one.save(force_insert=True)


def test_the_same_content_gives_the_same_bytes(passed: FieldTest) -> None:
    first = made(passed).sha256
    Certificate.objects.all().delete()
    assert made(passed).sha256 == first


def test_spanish_has_no_english_left_but_names(passed: FieldTest) -> None:
    content = certificate_content(what_was_tested(passed), words=words_in("es"), language="es")
    english = certificate_content(what_was_tested(passed), words=words_in("en"), language="en")
    assert content.headline.startswith(
        "Aprobó la prueba de campo del 20\xa0de\xa0noviembre de\xa02026"
    )
    same = {a for a, b in zip(content.cautions, english.cautions, strict=True) if a == b}
    assert same == set()
    for mine, theirs in zip(content.parts, english.parts, strict=True):
        assert mine.title != theirs.title
        for a, b in zip(mine.lines, theirs.lines, strict=True):
            assert a.name != b.name
            assert a.verdict != b.verdict
    assert "Certificado de prueba de campo" in text_of(made(passed, "es"))


def test_the_code_on_the_paper_leads_to_its_page(passed: FieldTest, tmp_path: Path) -> None:
    picture = picture_of(made(passed), tmp_path)
    (code,) = zxingcpp.read_barcodes(picture)
    assert code.text == settings.BASE_URL + link_of(passed)


def picture_of(certificate: Certificate, folder: Path) -> Image.Image:
    import subprocess

    (folder / "c.pdf").write_bytes(bytes(certificate.pdf))
    subprocess.run(
        ["pdftoppm", "-r", "150", "-png", "-singlefile", str(folder / "c.pdf"), str(folder / "c")],
        check=True,
    )
    return Image.open(folder / "c.png")


def test_markup_in_a_name_is_printed_as_it_stands(passed: FieldTest) -> None:
    FieldTest.objects.filter(pk=passed.pk).update(tester_name="A <B & C <img src='x'>")
    assert "A <B & C <img src='x'>" in text_of(made(passed))


def test_a_test_that_does_not_count_gets_none(program: Program, load: Load) -> None:
    load({"Tester Cert": "T-9999"})
    test = FieldTest.objects.get()
    assert not test.counts
    with pytest.raises(NoCertificateError):
        made(test)
    assert Certificate.objects.count() == 0


def test_a_failed_test_says_that_it_did_not_pass(program: Program, load: Load) -> None:
    load({"Initial RV": "1.5", "Result": "FAIL"})
    text = text_of(made(FieldTest.objects.get()))
    assert "Did not pass its field test of November 20, 2026" in text
    assert "does not mean that water flowed back" in text


def page(client: Client, address: str) -> str:
    answer = client.get(address)
    assert answer.status_code == 200
    assert answer["Referrer-Policy"] == "no-referrer"
    return answer.content.decode()


def test_the_page_says_genuine_and_the_latest(passed: FieldTest, client: Client) -> None:
    kept = made(passed)
    shown = page(client, link_of(passed))
    assert "Genuine, and the latest" in shown
    assert kept.sha256 in shown


def test_the_page_shows_nothing_the_paper_does_not(passed: FieldTest, client: Client) -> None:
    text = text_of(made(passed))
    shown = re.findall(r"<dd>(.*?)</dd>", page(client, link_of(passed)))
    assert len(shown) == 6
    for value in shown:
        for word in re.findall(r"[\w-]+", value):
            assert word in text, word
    assert "Ansel" not in " ".join(shown)


def test_the_page_repeats_the_paper_though_the_registry_says_otherwise_now(
    passed: FieldTest, client: Client
) -> None:
    made(passed)
    assert passed.assembly is not None
    Premises.objects.update(address="9 New Name Rd")
    Assembly.objects.filter(pk=passed.assembly.pk).update(serial="K-OTHER")
    shown = page(client, link_of(passed))
    assert "1 N Dogwood Ct" in shown
    assert "K925771" in shown
    assert "New Name" not in shown


def test_a_test_with_a_certificate_cannot_be_deleted(passed: FieldTest) -> None:
    made(passed)
    with pytest.raises(RestrictedError):
        passed.delete()


@pytest.mark.postgres
@pytest.mark.django_db(transaction=True)
def test_two_who_ask_at_once_get_the_same_paper(passed: FieldTest) -> None:
    def ask() -> int:
        try:
            return made(passed).pk
        finally:
            connection.close()

    with ThreadPoolExecutor(max_workers=4) as pool:
        papers = {future.result() for future in [pool.submit(ask) for _ in range(8)]}
    assert len(papers) == Certificate.objects.count() == 1


def test_a_later_test_makes_it_no_longer_the_latest(
    passed: FieldTest, load: Load, client: Client
) -> None:
    made(passed)
    load({"Test Date": "2026-11-24"})
    shown = page(client, link_of(passed))
    assert "Genuine, but no longer the latest" in shown
    assert "November\xa024, 2026" in shown


def test_a_withdrawn_test_is_told(passed: FieldTest, client: Client) -> None:
    made(passed)
    assert passed.fact is not None
    passed.fact.withdrawn_at = MORNING
    passed.fact.save(update_fields=["withdrawn_at"])
    assert "no longer counts" in page(client, link_of(passed))


def test_a_changed_record_is_told(passed: FieldTest, client: Client) -> None:
    made(passed)
    FieldTest.objects.filter(pk=passed.pk).update(tested_on=date(2026, 11, 19))
    assert "the record was changed since" in page(client, link_of(passed))


def test_a_mended_record_gets_a_new_certificate_and_the_old_one_says_so(
    passed: FieldTest, client: Client
) -> None:
    old, old_link = made(passed), link_of(passed)
    FieldTest.objects.filter(pk=passed.pk).update(tested_on=date(2026, 11, 19))
    passed.refresh_from_db()
    new = made(passed)
    assert new.pk != old.pk
    assert "November 19, 2026" in text_of(new)
    assert "the record was changed since" in page(client, old_link)
    assert "Genuine, and the latest" in page(client, link_of(passed))
    assert made(passed).pk == new.pk


def test_looking_changes_nothing(passed: FieldTest, client: Client) -> None:
    made(passed)
    before = list(Certificate.objects.values())
    for _ in range(3):
        page(client, link_of(passed))
    assert list(Certificate.objects.values()) == before
    assert client.post(link_of(passed)).status_code == 405


def test_a_wrong_code_tells_nothing_and_many_are_asked_to_wait(
    passed: FieldTest, client: Client
) -> None:
    cache.clear()
    made(passed)
    answers = [client.get(f"/c/{'x' * 20}{n:02}").status_code for n in range(MOST_MISSES + 2)]
    assert answers[:MOST_MISSES] == [404] * MOST_MISSES
    assert answers[-1] == 429
    # A right code is never held back by somebody else's wrong ones.
    assert "Genuine" in page(client, link_of(passed))
    cache.clear()


def test_a_link_cannot_be_made_without_the_key(passed: FieldTest) -> None:
    mine = token_for(passed, language="en", key=settings.LINK_KEY)
    assert token_for(passed, language="en", key="another") != mine
    assert token_for(passed, language="es", key=settings.LINK_KEY) != mine
    assert len(mine) == 22
