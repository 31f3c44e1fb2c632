"""The cases that the server and the device share: the file is current, and the server agrees."""

from __future__ import annotations

import json

from reports.domain.judging import judge
from tests.domain.reports.cases import METHODS, limits
from tests.domain.reports.test_published_limits import VECTORS
from tests.domain.reports.vectors import FILE, part_of, text


def test_the_file_is_what_the_cases_say_today() -> None:
    assert FILE.read_text(encoding="utf-8") == text(), (
        "run: python -m tests.domain.reports.vectors, and look at what changed"
    )


def test_the_server_judges_every_case_as_the_file_says() -> None:
    cases = json.loads(FILE.read_text(encoding="utf-8"))["cases"]
    assert len(cases) > 900
    wrong = [
        case
        for case in cases
        if judge(limits(case["method"]), part_of(case["type"], case["cells"])).outcome
        != case["outcome"]
    ]
    assert wrong == []


# The outcomes of the table derived from the published limits (see VECTORS) stand in the file as
# they stand there, worked out by hand.
def test_the_file_holds_the_published_outcomes() -> None:
    cases = json.loads(FILE.read_text(encoding="utf-8"))["cases"]
    for relief, check1, check2, *outcomes in VECTORS:
        for method, expected in zip(METHODS, outcomes, strict=True):
            (found,) = [
                case["outcome"]
                for case in cases
                if case["method"] == method
                and (case["type"], case["cells"].get("relief")) == ("RP", relief)
                and (case["cells"].get("check1"), case["cells"].get("check2")) == (check1, check2)
                and ("check2_tight" in case["cells"]) == (check2 != "leaked")
                and case["cells"].get("unit") is None
            ][:1]
            assert found == expected
