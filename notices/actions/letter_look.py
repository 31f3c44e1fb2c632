"""Keeps how a program's letters look: colour, logo, and what a second language has of them."""

from __future__ import annotations

from typing import Any

from django.db import transaction

from notices.catalogues import SECOND_LANGUAGES
from notices.domain.languages import LanguageWay, languages_in
from notices.models import LetterLogo
from notices.rendering.logos import Logo
from registry.changes import Hand, record_change
from registry.models import Program


def keep_look(
    program: Program,
    *,
    colour: str,
    way: LanguageWay,
    languages: str,
    hand: Hand,
    paper: str = "",
    logo: Logo | None = None,
    without_logo: bool = False,
) -> None:
    """Keep the look of letters composed from now on; those composed keep theirs.

    `colour` is `#rrggbb` that was checked, or empty; `logo` takes the place of the one before;
    `paper` is `Envelope.words`, or empty for US Letter in a #10.
    """
    with transaction.atomic():
        locked = Program.objects.select_for_update().get(pk=program.pk)
        head: dict[str, Any] = dict(locked.letterhead or {})
        before = {"letterhead": dict(head), "languages": locked.languages}
        head |= {"colour": colour, "language_way": way.value, "paper": paper}
        if without_logo:
            head["logo"] = ""
        if logo is not None:
            head["logo"] = _kept(locked, logo=logo, hand=hand)
        locked.letterhead = head
        spoken = [one for one in languages_in(languages) if one in SECOND_LANGUAGES]
        locked.languages = ",".join(["en", *spoken])
        locked.save(update_fields=["letterhead", "languages"])
        record_change(
            hand=hand,
            what="program",
            subject_id=locked.pk,
            label=locked.code,
            before=before,
            after={"letterhead": head, "languages": locked.languages},
            program=locked,
        )


def _kept(program: Program, *, logo: Logo, hand: Hand) -> str:
    LetterLogo.objects.get_or_create(
        program=program,
        sha256=logo.sha256,
        defaults={
            "png": logo.png,
            "width": logo.width,
            "height": logo.height,
            "added_at": hand.at,
            "added_by": hand.by,
        },
    )
    return logo.sha256
