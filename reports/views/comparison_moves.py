"""The single assemblies that a draft moves: from, to, by how much; a page at a time, or as CSV."""

from __future__ import annotations

import csv
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from io import StringIO
from typing import Any, Final
from urllib.parse import urlencode

from django.http import Http404, HttpRequest, HttpResponseBase, StreamingHttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_GET

from registry.domain.formula_guard import guarded
from registry.models import Assembly, Program
from reports.views.comparison_run import SECONDS
from reports.views.rulebook_comparison import first_draft, taking_effect_on
from scheduling.queries.comparing import CannotCompareError, Question, ask
from scheduling.queries.editions import named_book
from scheduling.queries.moving import Move, Which, moves_after
from scheduling.queries.rulebooks import NoRulebookError
from scheduling.queries.shipped import UnknownRulebookError
from scheduling.views.desk import Desk, at_desk

SHOWN: Final = 100
HEADERS: Final = (
    *("serial", "maker", "type", "address", "city", "kind"),
    *("due now", "due then", "days", "overdue at once"),
)


@dataclass(frozen=True, kw_only=True)
class Line:
    """One move with the assembly it is of."""

    move: Move
    assembly: Assembly


@require_GET
@at_desk()
def moves(request: HttpRequest, desk: Desk) -> HttpResponseBase:
    """A page of them; it looks on from the assembly where the page before ended."""
    word = str(request.GET.get("with", ""))[:200] or first_draft(desk)
    which = _which(request)
    try:
        draft, _ = named_book(program=desk.program, word=word)
        day = taking_effect_on(request, desk)
        question, whole = ask(program=desk.program, draft=draft, effective_on=day)
    except UnknownRulebookError as error:
        raise Http404(str(error)) from error
    except (CannotCompareError, NoRulebookError) as error:
        context = {"desk": desk, "problem": str(error)}
        return render(request, "reports/compared_moves.html", context, status=422)
    if request.GET.get("as") == "csv":
        return _sheet(question, which=which, name=draft.name)
    found, last_id, is_last = _page(question, which=which, after=_after(request))
    asked = {"with": word, "from": day.isoformat()}
    context = {
        "desk": desk,
        "draft": draft,
        "day": day,
        "which": which,
        "kinds": [(one, urlencode({**asked, "which": one.name})) for one in Which],
        "lines": _lines(desk.program, found),
        "assemblies": whole.assemblies,
        "query": urlencode({**asked, "which": which.name}),
        "back": urlencode(asked),
        "next": None if is_last else urlencode({**asked, "which": which.name, "after": last_id}),
        "is_first": not _after(request),
    }
    return render(request, "reports/compared_moves.html", context)


def _which(request: HttpRequest) -> Which:
    return Which.__members__.get(str(request.GET.get("which", "")), Which.ALL)


def _after(request: HttpRequest) -> int:
    text = str(request.GET.get("after", ""))
    return int(text) if text.isdecimal() and len(text) < 18 else 0


def _page(question: Question, *, which: Which, after: int) -> tuple[list[Move], int, bool]:
    """At least a page full, unless the time of one request or the registry ends before."""
    stop = time.monotonic() + SECONDS
    found: list[Move] = []
    for looked in moves_after(question=question, after=after, which=which):
        found += looked.moves
        after = looked.last_id
        if len(found) > SHOWN:
            return found[:SHOWN], found[SHOWN - 1].assembly_id, False
        if time.monotonic() > stop:
            return found, after, False
    return found, after, True


def _lines(program: Program, found: Sequence[Move]) -> list[Line]:
    rows = Assembly.objects.filter(program=program, pk__in={move.assembly_id for move in found})
    assemblies = rows.select_related("premises").in_bulk()
    return [Line(move=move, assembly=assemblies[move.assembly_id]) for move in found]


def _sheet(question: Question, *, which: Which, name: str) -> StreamingHttpResponse:
    answer = StreamingHttpResponse(
        sheet_of_moves(question, which=which), content_type="text/csv; charset=utf-8"
    )
    answer["Content-Disposition"] = f'attachment; filename="{name}-moves.csv"'
    return answer


def sheet_of_moves(question: Question, *, which: Which) -> Iterator[str]:
    """Every move as CSV, batch after batch; cells are safe for a spreadsheet."""
    yield _written([HEADERS])
    for looked in moves_after(question=question, after=0, which=which):
        if looked.moves:
            yield _written(_cells(one) for one in _lines(question.program, looked.moves))


def _cells(line: Line) -> list[Any]:
    one, move = line.assembly, line.move
    texts = (one.serial, one.maker, one.type, one.premises.address, one.premises.city, move.kind)
    days = "" if move.days is None else move.days
    overdue = "yes" if move.is_overdue_at_once else ""
    return [*map(guarded, texts), move.now or "", move.then or "", days, overdue]


def _written(rows: Any) -> str:
    out = StringIO()
    csv.writer(out).writerows(rows)
    return out.getvalue()
