"""How a letter is named on a page: by the title it bears, in English."""

from __future__ import annotations

from notices.catalogues import words_in
from notices.domain.extra_kinds import title_of_kind
from notices.domain.kinds import Work

_UNKNOWN = "Letter"


def letter_name(kind: str, *, work: str | None = None) -> str:
    """`Final notice` from `final`; a kind that bears no title of ours is read from its key."""
    found = Work(work) if work in set(Work) else Work.TEST
    name = title_of_kind(kind, words=words_in("en"), work=found)
    return kind.replace("-", " ").capitalize() if name == _UNKNOWN else name
